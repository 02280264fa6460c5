// The beam as it meets the part: the radii it has at the height of the surface, and the states a job's spot
// takes.
#pragma once

#include <cstdint>
#include <vector>

#include "beam/caustic.h"
#include "motion/mount.h"
#include "motion/raster.h"
#include "workpiece/profile.h"

namespace circumfluence::exposure {

struct Radii {
  double axial, around;  // [m] 1/e^2
};

class Light {
 public:
  // The focus was set on the surface under the beam at axial position `focus_at` (turning: at the beam's
  // lateral offset; standing: on top), then moved by scan.focus_offset.
  Light(const beam::Caustic& caustic, const workpiece::Profile& profile, const motion::Mount& mount,
        double focus_at, double focus_offset);

  // [m] of the surface above the nominal focus, for a radius and an azimuth at a pose.
  double height(double radius, double azimuth, const motion::Pose& pose) const;
  Radii radii(double height) const;
  double focus_height() const { return focus_height_; }  // [m] above the turning axis

 private:
  beam::Caustic caustic_;
  double focus_height_;
};

// Radius along and across the line, and speed. A part's height and the head's speed change little by little,
// so they are quantised to a few hundred states (radius and speed within 1 % even where both vary) and what
// costs time, the heat of each, is worked out once a state.
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

// The states of spots that run in any direction; at most 4096.
class PathStates {
 public:
  struct Ranges {
    States::Range height;               // [m] above focus
    std::vector<States::Range> speeds;  // [m/s] that occur in each step of 1 %; low > high: none
    bool axial, around, oblique;        // directions that occur
  };
  PathStates(const Light& light, const Ranges& ranges);

  static int step(double speed);  // of Ranges::speeds, kSteps of them
  static double speed(int step);  // [m/s] in its middle
  static constexpr int kSteps = 2400;
  const std::vector<SpotState>& list() const { return states_; }
  // along: [1] cosine squared of the angle between the way and the axis.
  std::uint16_t index(double height, double speed, double along) const;

 private:
  States::Range height_;
  int heights_ = 1;
  std::vector<double> alongs_;
  std::vector<int> speed_of_step_;
  std::vector<double> speeds_;
  std::vector<SpotState> states_;
};

}  // namespace circumfluence::exposure
