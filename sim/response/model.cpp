#include "response/model.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "heat/shell.h"
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
}

// [K] of one passage, in words of a temperature.
double temperature(const Model& model, double linear_rise) {
  return model.start + heat::true_rise(model.conductivity, linear_rise);
}

// A bare base is marked by its oxide where its growth is known, else from a temperature on record, else by melting.
void set_onset(Model& model, const Material& base, const Limits& limits,
               const std::vector<exposure::SpotState>& states) {
  const double melts = base.solidus.known() ? base.solidus.value : model.limit;
  model.melt_rise = heat::linear_rise(model.conductivity, melts - model.start);
  model.reacting = oxidising(base, limits, model, states);
  if (model.reacting) {
    const Reacting& r = *model.reacting;
    model.onset = std::min(melts, temperature(model, std::min(r.onset_rise, r.greatest)));
    model.faint = std::min(model.onset, temperature(model, std::min(rise_for(r.dose, r.faint, r.greatest), r.greatest)));
    note_oxide(model, base);
    return;
  }
  model.onset = model.faint = std::min(model.limit, melts);
  if (!base.marking_onset.known()) return;
  model.onset = base.marking_onset.value;
  model.faint = model.start + (model.onset - model.start) * std::exp(-base.marking_onset.spread);
}

// A dyed layer answers for itself, on its base: the middle of its depth counts. It clears as its dye goes and takes up
// no more than it takes to get there; from then on the light falls on the base.
void set_dyed(Model& model, const Surroundings& about, const Limits& limits,
              const std::vector<exposure::SpotState>& states) {
  const Material& layer = *about.coat;
  const char* why = "the heat in the dyed layer";
  const workpiece::Optics& optics = workpiece::optics_at(layer, about.wavelength);
  const double k = value_of(layer, &Material::conductivity, why);
  const double capacity = value_of(layer, &Material::density, why) * value_of(layer, &Material::heat_capacity, why);
  heat::Base& base = model.base;
  base.stack = heat::stack_of(base);
  base.stack.layers.insert(base.stack.layers.begin(), {about.part.coat_thickness, k, capacity});
  base.stack.depth = optics.depth.known() ? optics.depth.value : 0.0;
  base.z = about.part.coat_thickness / 2;
  const double own = base.absorptivity;
  base.absorptivity = absorptivity(layer, about.wavelength);
  model.layer = about.part.coat_thickness;
  // The base melts under light that it takes up itself. In terms of the layer's middle, were the layer still dark:
  const exposure::SpotState& middle = states[states.size() / 2];
  const heat::Spot spot{middle.along, middle.across, middle.speed};
  const double below = heat::LayeredSpot(base.stack, spot, about.part.coat_thickness, base.orders).peak().rise;
  const double inside = heat::LayeredSpot(base.stack, spot, base.z, base.orders).peak().rise;
  const double melts = model.limit_rise();
  model.conductivity = {k, 0.0};
  model.limit = model.start + melts * inside / below * base.absorptivity / own;
  model.reacting = bleaching(layer, limits, model, states);
  const Reacting& r = *model.reacting;
  model.onset = model.faint = temperature(model, std::min(r.onset_rise, r.greatest));
  model.notes.push_back(fmt::format(
      "How fast the dye of {} bleaches is known to a factor of {:.0f} only; a trial piece tells more. Above about 100 degC "
      "such a layer crazes (common practice, no source).",
      layer.title, std::exp(r.spread)));
  model.ceiling_rise = rise_for(r.dose, kCleared, r.greatest);
}

// [1] strength at which the surface of a coat that stays reaches the temperature: constant flux, so in proportion.
double strength_at(const Model& model, const Material& coat, const quantity::Figure& temperature) {
  if (!temperature.known()) return kNeverReached;
  const double removal = value_of(coat, &Material::removal_temperature, "its edges");
  return std::clamp((temperature.value - model.start) / (removal - model.start), 0.0, 1.0);
}

// [W/(m^2 K)] still air: a common value, from memory. Neither it nor water cools a passing spot much.
double back_transfer(const workpiece::Part& part) {
  switch (part.behind) {
    case workpiece::Behind::insulated: return 0;
    case workpiece::Behind::air: return 5;
    case workpiece::Behind::water: return heat::kStillWater;
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

void set_film(Model& model, const Material& removed, const Surroundings& about, const Limits& limits,
              const std::vector<exposure::SpotState>& states) {
  model.film = make_film(removed, about, limits);
  for (const exposure::SpotState& s : states)
    model.thresholds.push_back(static_cast<float>(threshold(removed, model.start, s.along / s.speed)));
  if (!about.coat) return;
  note_film(model, removed, states);
  model.discolours = strength_at(model, removed, removed.discolouring);
}

}  // namespace

Body body_of(const Material& base, const Material* coat) {
  if (!coat) return base.kind == Kind::organic ? Body::organic : Body::bare;
  const bool bleaches = coat->bleach_rate.known() && !coat->removal_energy.known();
  return bleaches && base.kind != Kind::organic ? Body::dyed : Body::coated;
}

Model make_model(const Surroundings& about, const Limits& limits,
                 const std::vector<exposure::SpotState>& states) {
  Model model{};
  model.body = body_of(about.base, about.coat);
  model.start = about.part.temperature;
  if (model.body == Body::coated) set_film(model, *about.coat, about, limits, states);
  if (model.body == Body::organic) set_film(model, about.base, about, limits, states);
  set_temperatures(model, about.base, limits);
  set_base(model, about, states);
  if (model.body == Body::bare) set_onset(model, about.base, limits, states);
  if (model.body == Body::dyed) set_dyed(model, about, limits, states);
  if (model.body == Body::organic) model.char_depth = charring(about.base, model, states);
  return model;
}

}  // namespace circumfluence::response
