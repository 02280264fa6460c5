// The states a job's spot takes: radius along and across the line, and speed. A part's height and the head's
// speed change little by little, so they are quantised to a few hundred states (radius and speed within 1 %
// even where both vary) and what costs time, the heat of each, is worked out once a state.
#pragma once

#include <cstdint>
#include <vector>

#include "exposure/light.h"

namespace circumfluence::exposure {

struct SpotState {
  double along, across;  // [m] 1/e^2 radii
  double speed;          // [m/s] over the surface
};

class States {
 public:
  struct Range {
    double low, high;
  };
  // Heights [m] above focus and speeds [m/s] that occur; speeds are spaced evenly in the logarithm.
  States(const Light& light, motion::Direction direction, Range height, Range speed);

  const std::vector<SpotState>& list() const { return states_; }
  std::uint16_t index(double height, double speed) const;  // the nearest; clamped to the ranges

 private:
  Range height_, log_speed_;
  int heights_, speeds_;
  std::vector<SpotState> states_;
};

}  // namespace circumfluence::exposure
