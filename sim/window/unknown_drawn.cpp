// A scene at other values of its unknowns.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "window/unknown.h"

namespace circumfluence::window {
namespace {

using mark::Scene;
using quantity::Figure;
using workpiece::Material;
using workpiece::Optics;
using Of = Unknown::Of;

constexpr double kMostSlip = 0.5;  // [1] that a draw comes to

// [m] light of that wavelength and M2 makes no smaller spot; as beam::check holds it.
double least_spot(double m2, double wavelength) {
  return 2 * (std::isnan(m2) ? 1.0 : m2) * wavelength / quantity::kPi;
}

void scale_spot(beam::Laser& laser, double factor) {
  laser.spot_axial = std::max(laser.spot_axial * factor, least_spot(laser.m2_axial, laser.wavelength));
  laser.spot_around = std::max(laser.spot_around * factor, least_spot(laser.m2_around, laser.wavelength));
}

// At the same size; neither diameter below what the light allows.
void set_shape(beam::Laser& laser, double ratio) {
  const double factor = std::sqrt(ratio * laser.spot_around / laser.spot_axial);
  laser.spot_axial = std::max(laser.spot_axial * factor, least_spot(laser.m2_axial, laser.wavelength));
  laser.spot_around = std::max(laser.spot_around / factor, least_spot(laser.m2_around, laser.wavelength));
}

// A deeper focus at the same spot is a beam of lesser M2, down to 1.
void scale_depth(beam::Laser& laser, double factor) {
  if (!std::isnan(laser.focus_depth)) {
    laser.focus_depth *= factor;
    return;
  }
  laser.m2_axial = std::max(laser.m2_axial / factor, 1.0);
  laser.m2_around = std::max(laser.m2_around / factor, 1.0);
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
    case Of::shape:
      set_shape(scene.job.laser, value);
      break;
    case Of::depth:
      scale_depth(scene.job.laser, value / u.value);
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
