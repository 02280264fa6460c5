#include "window/unknown.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using mark::Scene;
using quantity::Figure;
using workpiece::Material;
using workpiece::Optics;
using Of = Unknown::Of;
using Figures = std::vector<Figure Material::*>;
using OpticFigures = std::vector<Figure Optics::*>;

constexpr double kMostSlip = 0.5;  // [1] that a draw comes to

bool organic(const Scene& scene) {
  return scene.base.kind == workpiece::Kind::organic;
}

// As response::make_model tells bodies apart: a layer whose dye bleaches, and that nothing removes.
bool dyed(const Scene& scene) {
  return scene.coat && scene.coat->bleach_rate.known() && !scene.coat->removal_energy.known() &&
         !organic(scene);
}

void add(Figures& to, std::initializer_list<Figure Material::*> more) {
  to.insert(to.end(), more);
}

constexpr std::initializer_list<Figure Material::*> kHeat = {&Material::density, &Material::heat_capacity,
                                                             &Material::conductivity};

// Of what light removes; an organic body by the steady law whatever the job says.
void add_removal(const Material& film, const Scene& scene, Figures& to) {
  const bool steady =
      film.kind == workpiece::Kind::organic || scene.job.outcome.removal == response::RemovalLaw::steady;
  add(to, {&Material::removal_temperature, steady ? &Material::removal_energy : &Material::removal_depth});
  if (film.threshold.known())
    add(to, {&Material::threshold, &Material::threshold_dwell});
  else
    add(to, kHeat);
}

Figures read_of_coat(const Scene& scene) {
  Figures read = {&Material::emissivity, &Material::softening};
  if (dyed(scene)) {
    add(read, kHeat);
    add(read, {&Material::bleach_rate});
    return read;
  }
  add_removal(*scene.coat, scene, read);
  add(read, {&Material::discolouring});
  return read;
}

void add_limits(const Scene& scene, Figures& to) {
  if (organic(scene)) {
    add(to, {&Material::removal_temperature});
    return;
  }
  add(to, {&Material::solidus});
  if (scene.job.outcome.over_burn == response::OverBurn::liquidus) add(to, {&Material::liquidus});
}

Figures read_of_base(const Scene& scene) {
  Figures read = {&Material::conductivity_slope};
  add(read, kHeat);
  add_limits(scene, read);
  if (scene.coat) return read;
  add(read, {&Material::emissivity});
  if (organic(scene)) {
    add_removal(scene.base, scene, read);
    add(read, {&Material::char_rate});
  } else if (scene.base.oxide_rate.known()) {
    add(read, {&Material::oxide_rate, &Material::oxide_native});
  } else {
    add(read, {&Material::marking_onset});
  }
  return read;
}

// The angle of the light matters where it changes: standing parts, tapers, a beam or an axis beside the
// middle.
bool oblique(const Scene& scene) {
  const motion::Mount& mount = scene.job.mount;
  return mount.hold == motion::Hold::standing || mount.beam_offset != 0 || mount.runout != 0 ||
         !scene.profile.constant(0, scene.profile.length());
}

OpticFigures optics_of_coat(const Scene& scene) {
  if (!dyed(scene)) return {&Optics::absorptivity};
  return {&Optics::absorptivity, &Optics::depth};
}

OpticFigures optics_of_base(const Scene& scene) {
  if (!oblique(scene)) return {&Optics::absorptivity, &Optics::depth};
  return {&Optics::absorptivity, &Optics::depth, &Optics::n, &Optics::k};
}

template <class Section>
void add_figures(const Section& section, const quantity::Fields<Section>& fields,
                 const std::vector<Figure Section::*>& read, const Unknown& like, std::vector<Unknown>& out) {
  for (const auto& field : fields) {
    const auto* const member = std::get_if<Figure Section::*>(&field.member);
    if (member == nullptr || std::ranges::find(read, *member) == read.end()) continue;
    const Figure& figure = section.**member;
    if (!figure.known() || figure.value == 0 || !(figure.spread > 0)) continue;
    Unknown& u = out.emplace_back(like);
    u.name += field.key;
    u.words = words_of(field.key) + like.words;
    u.value = figure.value;
    u.spread = figure.spread;
    u.unit = field.unit;
    if constexpr (std::is_same_v<Section, Material>)
      u.figure = *member;
    else
      u.optic = *member;
  }
}

void add_record(const Material& material, const Scene& scene, Of of, std::vector<Unknown>& out) {
  const double light = scene.job.laser.wavelength;
  Unknown like{.name = material.name + ".",
               .words = " of " + material.title,
               .value = 0,
               .spread = 0,
               .unit = "",
               .relative = true,
               .of = of};
  const bool coat = of == Of::coat;
  add_figures(material, workpiece::material_fields(), coat ? read_of_coat(scene) : read_of_base(scene), like,
              out);
  like.words += ", at " + quantity::format(light, "nm");
  add_figures(workpiece::optics_at(material, light), workpiece::optics_fields(),
              coat ? optics_of_coat(scene) : optics_of_base(scene), like, out);
}

bool stated(double spread) {
  return !std::isnan(spread) && spread > 0;
}

void add_job(const Scene& scene, std::vector<Unknown>& out) {
  const job::Job& job = scene.job;
  const auto put = [&out](Unknown u) {
    if (stated(u.spread) && (!u.relative || u.value > 0)) out.push_back(std::move(u));
  };
  put({"laser.power", "power that arrives", scene.power(), job.laser.power_spread, "W", true, Of::power});
  put({"laser.spot", "size of the spot", std::sqrt(job.laser.spot_axial * job.laser.spot_around),
       job.laser.spot_spread, "um", true, Of::spot});
  if (scene.coat)
    put({"workpiece.coat_thickness", "thickness of the coat", job.workpiece.coat_thickness,
         job.workpiece.coat_spread, "um", true, Of::coat_thickness});
  put({"mount.height", "height of the focus", 0.0, job.mount.height_spread, "mm", false, Of::height});
  if (job.mount.hold == motion::Hold::turning && job.rotary.drive == motion::Drive::rollers)
    put({"rotary.slip", "slip on the rollers", job.rotary.slip, job.rotary.slip_spread, "%", false,
         Of::slip});
}

// [m] light of that wavelength and M2 makes no smaller spot; as beam::check holds it.
double least_spot(double m2, double wavelength) {
  return 2 * (std::isnan(m2) ? 1.0 : m2) * wavelength / quantity::kPi;
}

void scale_spot(beam::Laser& laser, double factor) {
  laser.spot_axial = std::max(laser.spot_axial * factor, least_spot(laser.m2_axial, laser.wavelength));
  laser.spot_around = std::max(laser.spot_around * factor, least_spot(laser.m2_around, laser.wavelength));
}

// What is fed by rollers that slip otherwise: lines along the axis lie so much closer, those around go so
// much slower.
void scale_feed(motion::Scan& scan, double slip, double as_set) {
  const double factor = (1 - std::clamp(slip, 0.0, kMostSlip)) / (1 - as_set);
  (scan.direction == motion::Direction::axial ? scan.spacing : scan.speed) *= factor;
}

bool is_temperature(Figure Material::*figure) {
  constexpr Figure Material::*kTemperatures[] = {&Material::solidus,       &Material::liquidus,
                                                 &Material::marking_onset, &Material::removal_temperature,
                                                 &Material::softening,     &Material::discolouring};
  return std::ranges::find(kTemperatures, figure) != std::end(kTemperatures);
}

void set_figure(Material& material, const Unknown& u, double value, const Scene& scene) {
  if (u.optic != nullptr) {
    const Optics& found = workpiece::optics_at(material, scene.job.laser.wavelength);
    Optics& optics = material.optics[size_t(&found - material.optics.data())];
    (optics.*u.optic).value = u.optic == &Optics::absorptivity ? std::min(value, 1.0) : value;
    return;
  }
  if (u.figure == &Material::emissivity) value = std::min(value, 1.0);
  if (is_temperature(u.figure))
    value = std::max(value, std::min(u.value, scene.job.workpiece.temperature + 1));
  (material.*u.figure).value = value;
  if (u.figure == &Material::solidus || u.figure == &Material::liquidus)
    if (material.liquidus.known() && material.solidus.value > material.liquidus.value)
      material.liquidus.value = material.solidus.value;
}

void set(Scene& scene, const Unknown& u, double value) {
  switch (u.of) {
    case Of::power:
      scene.job.scan.power = value;
      break;
    case Of::spot:
      scale_spot(scene.job.laser, value / u.value);
      break;
    case Of::coat_thickness:
      scene.job.workpiece.coat_thickness = value;
      break;
    case Of::height:
      scene.job.scan.focus_offset += value;
      break;
    case Of::slip:
      scale_feed(scene.job.scan, value, u.value);
      break;
    case Of::coat:
      set_figure(scene.coat.value(), u, value, scene);
      break;
    case Of::base:
      set_figure(scene.base, u, value, scene);
      break;
  }
}

exposure::Light light_of(const job::Job& job, const Scene& scene) {
  return {beam::caustic(job.laser), scene.profile, job.mount, scene.focus_at, job.scan.focus_offset};
}

Scene evenly_filled(const Scene& scene) {
  job::Job job = scene.job;
  job.artwork.size_axial = scene.art.axial_to - scene.art.axial_from;
  job.artwork.size_around = scene.art.around_to - scene.art.around_from;
  const bool dark = job.artwork.burns == artwork::Burns::dark;
  return {.job = std::move(job),
          .base = scene.base,
          .coat = scene.coat,
          .profile = scene.profile,
          .image = {1, 1, {std::uint16_t(dark ? 0 : 65535)}, {}},
          .art = scene.art,
          .focus_at = scene.focus_at,
          .reference_radius = scene.reference_radius,
          .light = scene.light};
}

}  // namespace

double Unknown::at(double deviate) const {
  return relative ? value * std::exp(spread * deviate) : value + spread * deviate;
}

std::vector<Unknown> unknowns(const Scene& scene) {
  std::vector<Unknown> out;
  add_job(scene, out);
  if (scene.coat) add_record(*scene.coat, scene, Of::coat, out);
  add_record(scene.base, scene, Of::base, out);
  return out;
}

Scene drawn(const Scene& scene, std::span<const Unknown> unknowns, std::span<const double> deviates) {
  if (deviates.size() != unknowns.size())
    throw quantity::ValidityError(fmt::format("unknown: {} deviates for {} unknowns (expected one each)",
                                              deviates.size(), unknowns.size()));
  Scene out = evenly_filled(scene);
  for (size_t i = 0; i < unknowns.size(); ++i) {
    const double value = unknowns[i].at(deviates[i]);
    if (!std::isfinite(value))
      throw quantity::ValidityError(
          fmt::format("unknown: deviate of {} = {} (makes {}; expected a finite figure)", unknowns[i].name,
                      deviates[i], value));
    set(out, unknowns[i], value);
  }
  out.light = light_of(out.job, out);
  return out;
}

}  // namespace circumfluence::window
