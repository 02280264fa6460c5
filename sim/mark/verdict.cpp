#include "mark/verdict.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "beam/modulation.h"

#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;
using response::Body;

// The overview's blocks give each state's area; columns differ in area on a taper.
void add_areas(const workpiece::Surface& surface, const appearance::Overview& overview, Verdict& v) {
  std::array<double, 8> area{};
  for (int i = 0; i < overview.around; ++i)
    for (int j = 0; j < overview.axial; ++j) {
      const int column = std::min(j * overview.block + overview.block / 2, surface.axial - 1);
      const double cell = surface.cell_area(column);
      const auto& counts = overview.counts[size_t(i) * overview.axial + j];
      for (size_t k = 0; k < 8; ++k) area[k] += counts[k] * cell;
    }
  v.unwanted_area = std::accumulate(area.begin(), area.begin() + 4, 0.0);
  v.wanted_area = std::accumulate(area.begin() + 4, area.end(), 0.0);
  for (int k = 0; k < 4; ++k) {
    v.unwanted[k] = v.unwanted_area > 0 ? area[k] / v.unwanted_area : 0;
    v.wanted[k] = v.wanted_area > 0 ? area[k + 4] / v.wanted_area : 0;
  }
}

// The block where most of what the art wants is not marked; the middle of the art when all of it is.
Spot weakest(const Scene& scene, const workpiece::Surface& surface, const appearance::Overview& overview) {
  Spot at{(scene.art.axial_from + scene.art.axial_to) / 2, (scene.art.around_from + scene.art.around_to) / 2};
  int most = 0;
  for (int i = 0; i < overview.around; ++i)
    for (int j = 0; j < overview.axial; ++j) {
      const auto& counts = overview.counts[size_t(i) * overview.axial + j];
      const int missing = counts[4] + counts[5];
      if (missing <= most) continue;
      most = missing;
      at = {surface.axial_from + (j + 0.5) * overview.block * surface.cell_axial,
            surface.around_from + (i + 0.5) * overview.block * surface.cell_around};
    }
  return at;
}

double spread_of(std::initializer_list<double> spreads) {
  double squares = 0;
  for (const double s : spreads) squares += s * s;
  return std::sqrt(squares);
}

double absorptivity_spread(const workpiece::Material& material, double wavelength) {
  return workpiece::optics_at(material, wavelength).absorptivity.spread;
}

// P(ln factor + spread * normal > 0): a factor known to one lognormal spread is on the safe side of 1.
double chance(double log_margin, double spread) {
  if (std::isinf(log_margin) || spread <= 0) return log_margin > 0 ? 1.0 : 0.0;
  return 0.5 * std::erfc(-log_margin / spread / std::sqrt(2.0));
}

// Each factor is a product of a few material figures and their inverses, so its logarithm is normal.
void add_chances(const Scene& scene, const response::Model& model, Verdict& v) {
  const double light = scene.job.laser.wavelength;
  const double base = spread_of({absorptivity_spread(scene.base, light), scene.base.conductivity.spread});
  double down = spread_of({base, scene.base.marking_onset.spread}),
         up = spread_of({base, scene.base.solidus.spread});
  if (const workpiece::Material* film = scene.coat                    ? &*scene.coat
                                        : model.body == Body::organic ? &scene.base
                                                                      : nullptr)
    down = spread_of({absorptivity_spread(*film, light), film->removal_energy.spread});
  if (model.body == Body::organic) up = down;
  v.chance_marks = chance(-std::log(v.least_factor), down);
  v.chance_spares = chance(std::log(v.greatest_factor), up);
}

void add_notes(const Scene& scene, const workpiece::Surface& surface, const motion::Raster& raster,
               Verdict& v) {
  const beam::Caustic caustic = beam::caustic(scene.job.laser);
  const bool axial = raster.direction == motion::Direction::axial;
  const double across = axial ? caustic.around.radius : caustic.axial.radius;
  const double along = axial ? caustic.axial.radius : caustic.around.radius;
  if (surface.cell_axial > 1.5 * across)
    v.notes.push_back(fmt::format(
        "grid.cell = {} is coarse beside a spot of {}: fine gaps between lines are averaged away.",
        format(surface.cell_axial, "um"), format(2 * across, "um")));
  if (scene.job.laser.modulation == beam::Modulation::pulsed) {
    const double ripple = beam::pulse_ripple(scene.job.scan.speed / scene.job.laser.carrier, along,
                                             scene.power() / scene.job.laser.rated_power);
    if (ripple > 0.05)
      v.notes.push_back(fmt::format(
          "Pulses lie {} apart and leave a ripple of {:.0f} % along the line; the prediction takes the mean.",
          format(scene.job.scan.speed / scene.job.laser.carrier, "um", 3), 100 * ripple));
  }
  if (!raster.sweep.steady() && scene.job.scan.power_habit == motion::PowerHabit::constant)
    v.notes.push_back(fmt::format(
        "The run-up of {} is too short to reach full speed before the art: line ends get more than the rest.",
        format(scene.job.scan.run_up, "mm")));
}

void add_thermal_notes(const Scene& scene, const response::Model& model, const Tally& tally, Verdict& v) {
  if (model.body == Body::organic) return;
  if (scene.base.liquidus.known() && tally.hottest > scene.base.liquidus.value)
    v.notes.push_back(
        "The base melts in places; latent heat is left out, so temperatures above the liquidus are too "
        "high.");
  if (std::isinf(heat::true_rise(model.conductivity, 1e9)) && model.conductivity.slope < 0 &&
      1 + 2 * model.conductivity.slope / model.conductivity.at_start * 1e9 < 0 &&
      tally.hottest - model.start > 0.8 * model.conductivity.at_start / -model.conductivity.slope)
    v.notes.push_back(
        "The peak temperature lies where the record's conductivity would vanish; it is not to be trusted.");
}

Ruling rule(const response::Limits& limits, const Verdict& v) {
  const double over = v.wanted[3] * v.wanted_area + v.unwanted[3] * v.unwanted_area;
  if (over > limits.tolerated * v.wanted_area && over > 0) return Ruling::over_burns;
  if (v.wanted[2] + v.wanted[3] >= limits.required) return Ruling::marks;
  const double touched = v.wanted[1] + v.wanted[2];
  return touched > 0.001 ? Ruling::under_marks : Ruling::leaves_no_mark;
}

}  // namespace

Verdict judge(const Scene& scene, const workpiece::Surface& surface, const motion::Raster& raster,
              const response::Model& model, const Tally& tally) {
  const response::Limits& limits = scene.job.outcome;
  Verdict v;
  add_areas(surface, tally.overview, v);
  const double wanted = double(tally.mark.cells());
  v.least_factor = wanted > 0 ? tally.mark.at_count(limits.required * wanted) : 0.0;
  v.greatest_factor = tally.over.at_count(std::max(1.0, limits.tolerated * wanted));
  v.ruling = rule(limits, v);
  add_chances(scene, model, v);
  v.over_limits = -std::log(v.least_factor) > std::log(v.greatest_factor);
  v.limiting = v.over_limits ? tally.hottest_at : weakest(scene, surface, tally.overview);
  v.hottest = tally.hottest;
  v.duration = raster.duration;
  v.lines = raster.lines * raster.passes;
  v.notes = model.notes;
  add_notes(scene, surface, raster, v);
  add_thermal_notes(scene, model, tally, v);
  v.cautions = cautions(scene);
  return v;
}

}  // namespace circumfluence::mark
