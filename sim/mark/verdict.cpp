#include "mark/verdict.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "quantity/figure.h"

namespace circumfluence::mark {
namespace {

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

// Wanted cells that are not marked, over a tile of blocks.
struct Missing {
  double cells = 0, around = 0, axial = 0;  // their number, and the sums of their blocks' positions

  void add(double more, int i, int j) {
    cells += more;
    around += more * (i + 0.5);
    axial += more * (j + 0.5);
  }
};

// The middle of what is missing in the tile, a sixteenth of the map each way, that lacks most; where nothing
// is missing, the cell that would fail first.
Spot weakest(const Evidence& e) {
  constexpr int kTiles = 16;
  const appearance::Overview& overview = e.tally.overview;
  std::array<Missing, kTiles * kTiles> tiles;
  for (int i = 0; i < overview.around; ++i)
    for (int j = 0; j < overview.axial; ++j) {
      const auto& counts = overview.counts[size_t(i) * overview.axial + j];
      const int tile = i * kTiles / overview.around * kTiles + j * kTiles / overview.axial;
      tiles[size_t(tile)].add(counts[4] + counts[5], i, j);
    }
  const Missing& most = *std::max_element(
      tiles.begin(), tiles.end(), [](const Missing& a, const Missing& b) { return a.cells < b.cells; });
  if (!(most.cells > 0)) return e.tally.last_to_mark.at;
  const workpiece::Surface& surface = e.surface;
  return {surface.axial_from + most.axial / most.cells * overview.block * surface.cell_axial,
          surface.around_from + most.around / most.cells * overview.block * surface.cell_around};
}

double spread_of(std::initializer_list<double> spreads) {
  double squares = 0;
  for (const double s : spreads) squares += s * s;
  return std::sqrt(squares);
}

double absorptivity_spread(const workpiece::Material& material, double wavelength) {
  return workpiece::optics_at(material, wavelength).absorptivity.spread;
}

// The spread of the power that reaches a temperature, from that of the temperature itself: the linear rise
// grows by k(T)/k0 a kelvin.
double power_spread(const response::Model& model, double temperature, double spread) {
  const double rise = temperature - model.start;
  const double slope = 1 + model.conductivity.slope / model.conductivity.at_start * rise;
  return spread * temperature * slope / heat::linear_rise(model.conductivity, rise);
}

// The same from that of a reaction's rate: near what is needed, its dose grows as a power of the rise.
double power_spread(const response::Reacting& reacting) {
  if (std::isinf(reacting.onset_rise)) return 0;
  const double above = reacting.dose.of(1.02 * reacting.onset_rise), below = reacting.dose.of(reacting.onset_rise / 1.02);
  return above > below && below > 0 ? reacting.spread / (std::log(above / below) / (2 * std::log(1.02))) : 0;
}

// P(ln factor + spread * normal > 0): a factor known to one lognormal spread is on the safe side of 1.
double chance(double log_margin, double spread) {
  if (std::isnan(log_margin)) return log_margin;
  if (std::isinf(log_margin) || spread <= 0) return log_margin > 0 ? 1.0 : 0.0;
  return quantity::normal_below(log_margin / spread);
}

// Each factor is a product of a few material figures and their inverses, so its logarithm is normal. Under a
// coat the power that over-burns is the sum of what frees the base and what heats it: both spreads are
// counted in full, which is on the cautious side.
void add_chances(const Evidence& e, Verdict& v) {
  const workpiece::Material& base = e.model.body == Body::dyed ? *e.scene.coat : e.scene.base;
  const double light = e.scene.job.laser.wavelength;
  const double heat = spread_of({absorptivity_spread(base, light), base.conductivity.spread});
  const double melts = base.solidus.spread;
  double down = spread_of({heat, e.model.reacting
                                     ? power_spread(*e.model.reacting)
                                     : power_spread(e.model, e.model.onset, base.marking_onset.spread)});
  double up = spread_of({heat, power_spread(e.model, e.model.limit, melts)});
  if (e.model.film) {
    const workpiece::Material& film = e.scene.coat ? *e.scene.coat : base;
    const bool steady = e.model.film->law == response::RemovalLaw::steady;
    down = spread_of(
        {absorptivity_spread(film, light), (steady ? film.removal_energy : film.removal_depth).spread});
    up = e.model.body == Body::organic ? down : spread_of({up, down});
  }
  v.chance_marks = chance(-std::log(v.least_factor), down);
  v.chance_spares = chance(std::log(v.greatest_factor), up);
}

bool over_burns(const response::Limits& limits, const Verdict& v) {
  const double over = v.wanted[3] * v.wanted_area + v.unwanted[3] * v.unwanted_area;
  return over > 0 && over > limits.tolerated * v.wanted_area;
}

Ruling rule(const response::Limits& limits, const Verdict& v) {
  if (over_burns(limits, v)) return Ruling::over_burns;
  if (v.wanted_area > 0 && v.wanted[2] + v.wanted[3] >= limits.required && !v.stripes) return Ruling::marks;
  return v.wanted_area > 0 && 1 - v.wanted[0] > 0.001 ? Ruling::under_marks : Ruling::leaves_no_mark;
}

// Factors come from a histogram, the ruling from the cells themselves: where they differ by the histogram's
// step, the ruling stands.
void add_factors(const Evidence& e, const Line& line, Verdict& v) {
  const response::Limits& limits = e.scene.job.outcome;
  const double wanted = double(e.tally.mark.cells());
  v.greatest_factor = e.tally.over.at_count(std::floor(limits.tolerated * wanted) + 1);
  v.greatest_factor =
      over_burns(limits, v) ? std::min(v.greatest_factor, 1.0) : std::max(v.greatest_factor, 1.0);
  v.least_factor = std::numeric_limits<double>::quiet_NaN();
  if (!(wanted > 0)) return;
  const double cells = e.tally.mark.at_count(std::ceil(limits.required * wanted));
  double between = 0;
  if (e.raster.spacing > 0) {  // else a tool path, and the job says nothing of the distance of its lines
    // Of a path's states, slow ones of its ramps among them, only that of the line itself makes the fill.
    const response::Model model =
        e.scene.path ? respond(e.scene, std::vector<exposure::SpotState>{{line.along, line.across, line.speed}}) : e.model;
    EvenFill fill(model, limits, line);
    const Period period{true_spacing(e.scene, e.raster.spacing), e.raster.passes, heat::linear_rise(e.model.conductivity, e.tally.wall_mean)};
    between = fill.required(period);
    v.stripes = between > 1 && fill.centre(period) <= 1;
  }
  const bool marks = v.wanted[2] + v.wanted[3] >= limits.required && !v.stripes;
  const double least = std::max(cells, between);
  v.fill_limits = between > cells;
  v.least_factor = marks ? std::min(least, 1.0) : std::max(least, 1.0);
}

}  // namespace

Verdict judge(const Evidence& e) {
  const Line line = line_of(e.scene);
  Verdict v;
  v.power = e.scene.power();
  v.rated_power = e.scene.job.laser.rated_power;
  add_areas(e.surface, e.tally.overview, v);
  add_factors(e, line, v);
  v.ruling = rule(e.scene.job.outcome, v);
  add_chances(e, v);
  v.over_limits = std::isnan(v.least_factor) || -std::log(v.least_factor) > std::log(v.greatest_factor);
  v.limiting = v.over_limits ? e.tally.first_to_burn.at : weakest(e);
  v.hottest = e.tally.hottest;
  v.warmest_wall = e.model.start + e.tally.wall_rise;
  v.melt = melt_of(e, line);
  v.softened = e.tally.softened;
  v.duration = e.raster.duration;
  v.lines = e.raster.lines * e.raster.passes;
  v.notes = notes(e, line, v);
  v.cautions = cautions(e.scene);
  return v;
}

}  // namespace circumfluence::mark
