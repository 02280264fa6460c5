#include "motion/raster.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

// From the end of one line to the start of the next: a step across, from rest to rest, and after a one-way
// line the way back.
double turn_round(const Scan& scan, const Sweep& sweep) {
  const double step = 2 * std::sqrt(scan.interleave * scan.spacing / scan.acceleration);
  if (scan.two_way) return step + scan.pause;
  const double speed = std::isnan(scan.travel_speed) ? scan.speed : scan.travel_speed;
  const Sweep back({0, sweep.distance()}, {speed, scan.acceleration});
  return std::max(step, back.duration()) + scan.pause;
}

}  // namespace

double Raster::start(int line, int pass) const {
  return (double(pass) * lines + turn(line)) * (sweep.duration() + turn_round);
}

int Raster::turn(int line) const {
  const int round = line % interleave;  // rounds before it have one line more than the last where lines are left over
  return round * (lines / interleave) + std::min(round, lines % interleave) + line / interleave;
}

double Raster::slowness(double along, double length) const {
  const double inside = std::clamp(along, along_from, std::max(along_from, along_to - length));
  return sweep.slowness(inside - along_from + sweep.run_up(), length);
}

Raster plan(const Scan& scan, const artwork::Extent& art) {
  const bool axial = scan.direction == Direction::axial;
  const double from = axial ? art.axial_from : art.around_from, to = axial ? art.axial_to : art.around_to;
  const double start = axial ? art.around_from : art.axial_from, end = axial ? art.around_to : art.axial_to;
  const double lines = std::max(1.0, std::floor((end - start) / scan.spacing + 1e-6));
  if (!(lines * scan.passes <= double(kMostLines)))
    throw quantity::JobError(fmt::format("scan.spacing = {} (makes {:.3g} lines; expected at most {:.3g})",
                                         quantity::format(scan.spacing, "mm"), lines * scan.passes,
                                         double(kMostLines)));
  const Sweep sweep({scan.run_up, to - from}, {scan.speed, scan.acceleration});
  Raster raster{.direction = scan.direction,
                .along_from = from,
                .along_to = to,
                .first = (start + end - (lines - 1) * scan.spacing) / 2,
                .spacing = scan.spacing,
                .lines = static_cast<int>(lines),
                .passes = scan.passes,
                .two_way = scan.two_way,
                .sweep = sweep,
                .turn_round = turn_round(scan, sweep),
                .interleave = std::min(scan.interleave, static_cast<int>(lines)),
                .duration = 0};
  raster.duration = raster.start(0, raster.passes) - raster.turn_round;
  return raster;
}

}  // namespace circumfluence::motion
