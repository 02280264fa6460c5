// Where the model is stretched, and what the maps cannot show at their resolution.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "beam/modulation.h"
#include "mark/verdict.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;
using response::Body;
using Notes = std::vector<std::string>;

constexpr double kFelt = 2e-6;  // [m] deep: common practice, no source

void add_geometry(const Evidence& e, const Line& line, const Verdict& v, Notes& notes) {
  const double cell = std::max(e.surface.cell_axial, e.surface.cell_around);
  if (cell > 1.5 * line.across)
    notes.push_back(fmt::format(
        "grid.cell = {} is coarse beside a spot of {}: fine gaps between lines are averaged away.",
        format(cell, "um", 3), format(2 * line.across, "um", 3)));
  if (v.stripes)
    notes.push_back(fmt::format(
        "Stripes stay: lines {} apart are wider apart than what one of them marks. {}",
        format(e.raster.spacing, "um", 3),
        e.surface.cell_around > e.raster.spacing / 4
            ? "The grid is too coarse to show them all; choose a smaller scan.spacing or grid.cell."
            : "Choose a smaller scan.spacing, or more power."));
}

void add_motion(const Evidence& e, const Line& line, Notes& notes) {
  const Scene& scene = e.scene;
  if (scene.job.laser.modulation == beam::Modulation::pulsed) {
    const double pitch = scene.job.scan.speed / scene.job.laser.carrier;
    const double ripple = beam::pulse_ripple(pitch, line.along, scene.power() / scene.job.laser.rated_power);
    if (ripple > 0.05)
      notes.push_back(fmt::format(
          "Pulses lie {} apart and leave a ripple of {:.0f} % along the line; the prediction takes the mean.",
          format(pitch, "um", 3), 100 * ripple));
  }
  if (!scene.path && !e.raster.sweep.steady() && scene.job.scan.power_habit == motion::PowerHabit::constant)
    notes.push_back(fmt::format(
        "The run-up of {} is too short to reach full speed before the art: line ends get more than the rest.",
        format(scene.job.scan.run_up, "mm")));
}

void add_art(const Evidence& e, const Verdict& v, Notes& notes) {
  const double wanted = double(e.tally.mark.cells());
  if (!(wanted > 0)) {
    notes.push_back(
        "The art wants no mark anywhere on the grid, so there is nothing to judge. Look at "
        "artwork.burns and artwork.threshold; lines finer than half a cell are lost, too.");
    return;
  }
  const double half = e.tally.mark.at_count(wanted / 2);
  if (v.least_factor > 1 && !v.fill_limits && half < 0.8 * v.least_factor)
    notes.push_back(
        fmt::format("Half of the wanted area marks from {:.2f} times this power on. The rest is mostly edges "
                    "and fine lines, "
                    "which get part of a spot only: {}.",
                    half, std::isinf(v.least_factor) ? "some get no light at all" : "they set the margin"));
  const double spilled = (v.unwanted[2] + v.unwanted[3]) * v.unwanted_area;
  if (spilled > 0.25 * v.wanted_area)
    notes.push_back(
        fmt::format("Beside the art another {:.0f} % of its area is marked: lines grow and fine gaps close.",
                    100 * spilled / v.wanted_area));
}

// [1] by which the law of removal goes deeper than the reference solver, about: heat that goes sideways in the film, and
// what the light has to spare over the threshold. A fit to the comparisons of docs/validation/reference_solver.md (film
// Peclet numbers 1.7 to 50, 3 to 60 times the threshold), good to a third of itself but at the lowest of both.
double too_deep(double peclet, double strength) {
  return 0.28 / std::sqrt(peclet) + 0.9 / strength;
}

void add_removal(const Evidence& e, const Line& line, Notes& notes) {
  if (!e.model.film || e.model.film->law != response::RemovalLaw::steady) return;
  const workpiece::Material& film = e.scene.coat ? *e.scene.coat : e.scene.base;
  const double least = *std::min_element(e.model.thresholds.begin(), e.model.thresholds.end());
  const double strength = e.model.film->absorptivity * line.fluence(0) / least;
  if (strength < 3) {
    notes.push_back(
        fmt::format("Under the line's centre the light is {:.2g} times what starts removal. The law of "
                    "removal is meant for "
                    "many times that; so near the threshold, trust a trial piece more.",
                    strength));
    return;
  }
  if (!film.conductivity.known() || !film.density.known() || !film.heat_capacity.known()) return;
  const double diffusivity = film.conductivity.value / (film.density.value * film.heat_capacity.value);
  const double excess = too_deep(line.speed * line.along / (2 * diffusivity), strength);
  if (excess > 0.2)
    notes.push_back(fmt::format(
        "So slow, or so near what starts removal, heat goes sideways in what is removed: it comes off less deep than "
        "predicted, by about {:.0f} %.",
        100 * excess / (1 + excess)));
}

// The transform of k(T) is exact for a slow spot; a fast one on a metal whose k grows gets hotter than it says.
void add_conductivity(const Evidence& e, const Line& line, const Verdict& v, Notes& notes) {
  const double peclet = line.speed * line.along / (2 * e.model.base.solid.diffusivity);
  const double growth = e.model.conductivity.slope / e.model.conductivity.at_start * (v.hottest - e.model.start);
  if (e.model.body != Body::organic && peclet > 1.5 && growth > 0.5)
    notes.push_back("The spot is so fast that heat hardly gets ahead of it, and the base's conductivity grows with its temperature: "
                    "its peak is up to 10 % higher than predicted.");
}

void add_wall(const Evidence& e, Notes& notes) {
  if (e.tally.wall_capped)
    notes.push_back(
        "Earlier lines would heat the wall until it melts or chars; what follows from there is beyond the model. Leave pauses, or "
        "use less power.");
  else if (e.tally.wall_rise > 10)
    notes.push_back(fmt::format("Earlier lines warm the wall: by up to {:.0f} K when the next one comes.",
                                e.tally.wall_rise));
}

void add_softening(const Evidence& e, const Verdict& v, Notes& notes) {
  if (v.softened > 0)
    notes.push_back(fmt::format("The wall gets warmer than {}, from which {} softens: leave it untouched until it is cold, or leave "
                                "pauses.",
                                format(e.scene.coat->softening.value, "degC", 3), e.scene.coat->title));
}

void add_warmth(const Evidence& e, const Verdict& v, Notes& notes) {
  if (e.model.body == Body::organic || e.model.body == Body::dyed) return;
  const Scene& scene = e.scene;
  const double rise = v.hottest - e.model.start;
  if (v.melt.depth > 0.98 * e.model.base.wall)
    notes.push_back("The base melts through: the whole of the wall is above its solidus under the beam.");
  else if (v.melt.depth > 0)
    notes.push_back(fmt::format("The base melts, at its hottest {} deep and {} wide{}. Latent heat is left out.",
                                format(v.melt.depth, "um", 3), format(v.melt.width, "um", 3),
                                v.melt.depth > kFelt ? ": a dimple one can feel" : ""));
  const double slope = e.model.conductivity.slope / e.model.conductivity.at_start;
  if (slope < 0 && rise > -0.8 / slope)
    notes.push_back(
        "The peak temperature lies where the record's conductivity would vanish; it is not to be trusted.");
  if (rise > 10 && e.tally.wall_share > 0.2)
    notes.push_back(fmt::format("The wall is thin: its back, {}, adds {:.0f} % of the peak. A filled part stays cooler.",
                                scene.job.workpiece.behind == workpiece::Behind::insulated ? "taken as insulated"
                                                                                           : "with what is behind it",
                                100 * e.tally.wall_share));
}

}  // namespace

void add_path(const Evidence& e, Notes& notes) {
  if (!e.scene.path) return;
  if (!(e.raster.spacing > 0))
    notes.push_back(
        "The job does not say how far apart the path's lines are: each is wanted to mark as wide as the spot is, and what lies "
        "between them is not judged. State scan.spacing where the path fills areas.");
  if (!(e.tally.wall_rise > 0))
    notes.push_back(
        "The heat that earlier lines of the tool path leave in the wall is not counted: a thin steel wall under a dense fill gets "
        "warmer than this.");
}

std::vector<std::string> notes(const Evidence& e, const Line& line, const Verdict& v) {
  Notes notes = e.model.notes;
  add_art(e, v, notes);
  add_geometry(e, line, v, notes);
  add_motion(e, line, notes);
  add_path(e, notes);
  add_removal(e, line, notes);
  add_conductivity(e, line, v, notes);
  add_warmth(e, v, notes);
  add_wall(e, notes);
  add_softening(e, v, notes);
  return notes;
}

}  // namespace circumfluence::mark
