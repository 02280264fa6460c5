#include "response/model.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "response/threshold.h"

namespace circumfluence::response {
namespace {

using quantity::format;
using workpiece::Kind;
using workpiece::Material;
using workpiece::value_of;

double absorptivity(const Material& material, double wavelength) {
  const workpiece::Optics& optics = workpiece::optics_at(material, wavelength);
  if (!optics.absorptivity.known())
    throw quantity::ValidityError(
        fmt::format("material {} has no absorptivity at {}. Add it to the record, with its source",
                    material.name, format(wavelength, "nm")));
  return optics.absorptivity.value;
}

// Light that sinks deeper than the spot is wide warms little: the share absorbed within one spot radius
// counts.
double shallow_share(const workpiece::Optics& optics, const std::vector<exposure::SpotState>& states) {
  if (!optics.depth.known()) return 1.0;
  double spot = 0;
  for (const exposure::SpotState& s : states) spot = std::max(spot, std::sqrt(s.along * s.across));
  return -std::expm1(-spot / optics.depth.value);
}

Film make_film(const Material& material, const Surroundings& about, const Limits& limits) {
  const char* why = "its removal";
  const bool organic = material.kind == Kind::organic;
  const double thickness = organic ? about.part.wall : about.part.coat_thickness;
  Film film{};
  film.law = organic ? RemovalLaw::steady : limits.removal;
  film.absorptivity = static_cast<float>(absorptivity(material, about.wavelength));
  film.thickness = static_cast<float>(thickness);
  const double span = value_of(material, &Material::removal_temperature, why) - about.part.temperature;
  film.per_kelvin = static_cast<float>(1 / std::max(span, 1.0));
  film.need = static_cast<float>(organic ? limits.char_depth : thickness * (1 - limits.coat_left));
  if (film.law == RemovalLaw::steady)
    film.energy = static_cast<float>(value_of(material, &Material::removal_energy, why));
  else
    film.depth = static_cast<float>(value_of(material, &Material::removal_depth, "the blow-off law"));
  return film;
}

void note_film(Model& model, const Material& material, const std::vector<exposure::SpotState>& states) {
  double longest = 0;
  for (const exposure::SpotState& s : states) longest = std::max(longest, s.along / s.speed);
  const double ratio = thick(material, model.film->thickness, longest);
  if (ratio < 1)
    model.notes.push_back(fmt::format(
        "{} is thin: while the beam passes, heat reaches {:.2g} times its thickness. The base draws some of "
        "it off, "
        "which the threshold of a thick film leaves out: removal may begin at more power than predicted.",
        material.title, 1 / ratio));
}

void set_temperatures(Model& model, const Material& base, const Limits& limits) {
  if (base.kind == Kind::organic) {
    model.onset = model.faint = model.limit =
        value_of(base, &Material::removal_temperature, "over-burning of the base");
    return;
  }
  model.limit = limits.over_burn == OverBurn::solidus ? value_of(base, &Material::solidus, "over-burning")
                                                      : value_of(base, &Material::liquidus, "over-burning");
  model.onset = model.faint = model.limit;
  if (model.body != Body::bare) return;
  model.onset = value_of(base, &Material::marking_onset, "marking a bare surface");
  model.faint = model.start + (model.onset - model.start) * std::exp(-base.marking_onset.spread);
}

// [W/(m^2 K)] still air, and water that is not stirred: common values, from memory. Neither cools a passing spot much.
double back_transfer(const workpiece::Part& part) {
  switch (part.behind) {
    case workpiece::Behind::insulated: return 0;
    case workpiece::Behind::air: return 5;
    case workpiece::Behind::water: return 400;
  }
  return 0;
}

void set_base(Model& model, const Surroundings& about, const std::vector<exposure::SpotState>& states) {
  const char* why = "the heat in the base";
  const Material& base = about.base;
  const workpiece::Optics& optics = workpiece::optics_at(base, about.wavelength);
  const double k = value_of(base, &Material::conductivity, why);
  const double slope = base.conductivity_slope.known() ? base.conductivity_slope.value : 0.0;
  const double at_start = k + slope * (model.start - quantity::kRoomTemperature);
  const double capacity =
      value_of(base, &Material::density, why) * value_of(base, &Material::heat_capacity, why);
  model.conductivity = {at_start, slope};
  model.base = {{at_start, at_start / capacity},
                absorptivity(base, about.wavelength) * shallow_share(optics, states),
                about.part.wall, about.orders, back_transfer(about.part)};
  model.transmitted = optics.depth.known() ? std::exp(-about.part.wall / optics.depth.value) : 0.0;
  if (model.transmitted > 0.01)
    model.notes.push_back(fmt::format(
        "{} is clear at {}: {:.0f} % of what enters passes through the wall and may burn what lies behind.",
        base.title, format(about.wavelength, "nm"), 100 * model.transmitted));
}

}  // namespace

Model make_model(const Surroundings& about, const Limits& limits,
                 const std::vector<exposure::SpotState>& states) {
  Model model{};
  const bool organic = about.base.kind == Kind::organic;
  model.body = about.coat ? Body::coated : organic ? Body::organic : Body::bare;
  model.start = about.part.temperature;
  const Material* removed = about.coat ? about.coat : organic ? &about.base : nullptr;
  if (removed) {
    model.film = make_film(*removed, about, limits);
    for (const exposure::SpotState& s : states)
      model.thresholds.push_back(static_cast<float>(threshold(*removed, model.start, s.along / s.speed)));
    if (about.coat) note_film(model, *removed, states);
  }
  set_temperatures(model, about.base, limits);
  set_base(model, about, states);
  return model;
}

}  // namespace circumfluence::response
