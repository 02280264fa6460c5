#include "motion/raster.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

// From the end of one line to the start of the next: a step across, from rest to rest, and after a one-way
// line the way back.
double turn_round(const Scan& scan, const Sweep& sweep) {
  const double across = scan.interleave * scan.spacing;
  const double step = scan.jerk > 0
                          ? Sweep({0, across}, {quantity::kInfinity, scan.acceleration, scan.jerk}).duration()
                          : 2 * std::sqrt(across / scan.acceleration);
  if (scan.two_way) return step + scan.pause;
  const double speed = std::isnan(scan.travel_speed) ? scan.speed : scan.travel_speed;
  const Sweep back({0, sweep.distance()}, {speed, scan.acceleration, scan.jerk});
  return std::max(step, back.duration()) + scan.pause;
}

void check_first_line(const Scan& scan, double lines) {
  if (scan.first_line > 0 && scan.interleave > 1)
    throw quantity::JobError(
        fmt::format("scan.first_line = {} (lines are burnt in {} rounds, of which a later one fills in "
                    "between; expected 0). Leave out "
                    "scan.interleave, or burn the whole art",
                    scan.first_line, scan.interleave));
  if (!(scan.first_line < lines))
    throw quantity::JobError(
        fmt::format("scan.first_line = {} (the art has {:.0f} lines; expected at most {:.0f})",
                    scan.first_line, lines, lines - 1));
}

}  // namespace

double Raster::start(int line, int pass) const {
  return (double(pass) * lines + turn(line)) * (sweep.duration() + turn_round);
}

int Raster::turn(int line) const {
  const int round =
      line % interleave;  // rounds before it have one line more than the last where lines are left over
  return round * (lines / interleave) + std::min(round, lines % interleave) + line / interleave;
}

int Raster::line_of_turn(int turn) const {
  const int shorter = lines / interleave, longer = lines % interleave;  // rounds of one line more come first
  const int split = longer * (shorter + 1);
  const int round = turn < split ? turn / (shorter + 1) : longer + (turn - split) / std::max(1, shorter);
  const int before = turn < split ? round * (shorter + 1) : split + (round - longer) * shorter;
  return round + (turn - before) * interleave;
}

double Raster::slowness(double along, double length) const {
  const double inside = std::clamp(along, along_from, std::max(along_from, along_to - length));
  return sweep.slowness(inside - along_from + sweep.run_up(), length);
}

Moment moment(const Raster& raster, double elapsed) {
  const double period = raster.sweep.duration() + raster.turn_round,
               time = std::clamp(elapsed, 0.0, raster.duration);
  const double last = double(raster.lines) * raster.passes - 1;
  const double turns = std::clamp(std::floor(time / period), 0.0, last);
  const auto turn = static_cast<std::int64_t>(turns);
  Moment now{int(turn / raster.lines), raster.line_of_turn(int(turn % raster.lines)), 0,
             raster.duration - time};
  const double way = raster.sweep.distance_at(time - turns * period), run_up = raster.sweep.run_up();
  now.along = raster.backward(now.line) ? raster.along_to + run_up - way : raster.along_from - run_up + way;
  return now;
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
  check_first_line(scan, lines);
  const Sweep sweep({scan.run_up, to - from}, {scan.speed, scan.acceleration, scan.jerk});
  Raster raster{.direction = scan.direction,
                .along_from = from,
                .along_to = to,
                .first = (start + end - (lines - 1) * scan.spacing) / 2 + scan.first_line * scan.spacing,
                .spacing = scan.spacing,
                .lines = static_cast<int>(lines) - scan.first_line,
                .passes = scan.passes,
                .two_way = scan.two_way,
                .sweep = sweep,
                .turn_round = turn_round(scan, sweep),
                .interleave = std::min(scan.interleave, static_cast<int>(lines)),
                .duration = 0,
                .first_line = scan.first_line};
  raster.duration = raster.start(0, raster.passes) - raster.turn_round;
  return raster;
}

}  // namespace circumfluence::motion
