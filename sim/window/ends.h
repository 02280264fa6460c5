// Where settings end: from which power an even fill is marked, and from which it is over-burned, speed by speed.
//
// The fill is seen across its lines as one period (mark/fill.h), where power only scales: one solution a speed serves
// every power. Where more than kNodes speeds a decade are asked for, so many are solved and the rest lie on a curve
// through ln(end) over ln(speed), within 0.5 % of their own solution (tested; 0.1 % but at bends).
//
// Ends agree with the power at which the verdict of a whole prediction changes within 2 % on a grid that is fine beside
// the spot and art that is wide beside it (tests/window). On coarser grids a cell averages the beam and a prediction
// sees a weaker centre; art of lines thinner than the spot needs more power than a fill.
#pragma once

#include <span>
#include <vector>

#include "mark/fill.h"

namespace circumfluence::window {

// What is set beside power and speed.
struct Fill {
  double spacing;       // [m]
  double focus_offset;  // [m] as scan.focus_offset
  int passes;
};
Fill fill_of(const job::Job& job);

// [W] set at the source; infinity where no power within 1e4 times the job's does. begins: something is seen, centre:
// stripes are marked, marks: outcome.required of all places are, burns: more than outcome.tolerated over-burn.
struct Ends {
  double begins, centre, marks, burns;
};

// The wall's own rise when lines come, for a watt set: what earlier lines have left. Taken as in proportion to power.
struct WallRise {
  double mean = 0, greatest = 0;  // [K/W] linear; the mean counts for marks, the greatest for burns
};

// Where on the part, and with which lines.
struct Place {
  mark::Stand stand;
  Fill fill;
};
// Under the beam where the job set its focus.
Place place_of(const mark::Scene& scene, const Fill& fill);

inline constexpr int kNodes = 16;  // speeds a decade that are solved

// By speed [m/s], in any order. `walls`: by speed, or empty for a wall as cold as the part. threads: 0, as many as the machine has.
// Throws ValidityError naming a figure that the records lack.
std::vector<Ends> ends(const mark::Scene& scene, const Place& place, std::span<const double> speeds,
                       std::span<const WallRise> walls = {}, int threads = 0);

// Ends at other speeds than those at which they are known, as above.
std::vector<Ends> between(std::span<const double> nodes, std::span<const Ends> known, std::span<const double> speeds);
std::vector<WallRise> between(std::span<const double> nodes, std::span<const WallRise> known,
                              std::span<const double> speeds);
// Some speeds that stand for all of a range, evenly in the logarithm: two, and `decade` more a decade.
std::vector<double> nodes_of(std::span<const double> speeds, int decade);

// By speed, of the job's art and fill at the job's power; runs the warming of the whole art at a few speeds between
// which it is smooth. Some 20 ms a speed.
std::vector<WallRise> wall_rises(const mark::Scene& scene, const Fill& fill, std::span<const double> speeds);

// [s] of the job's art, by speed.
std::vector<double> durations(const mark::Scene& scene, const Fill& fill, std::span<const double> speeds);

// One line or period at one speed, for a closer look; keeps what it refers to.
class Look {
 public:
  Look(const mark::Scene& scene, const Place& place, double speed);
  Look(const mark::Scene& scene, const Fill& fill, const mark::Line& line);
  mark::EvenFill& fill() { return fill_; }
  const response::Model& model() const { return model_; }
  double set_power() const { return power_; }  // [W] at the source, to which factors refer
  Ends ends(const WallRise& wall = {});

 private:
  const mark::Scene& scene_;
  Fill knobs_;
  double power_;
  response::Model model_;
  mark::EvenFill fill_;
};

}  // namespace circumfluence::window
