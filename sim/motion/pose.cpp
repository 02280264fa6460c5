#include "motion/pose.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace circumfluence::motion {

double Pose::distance(double radius, double azimuth) const {
  return radius * std::sin(azimuth - rotation) + aside - beam;
}

double Pose::azimuth_under_beam(double radius) const {
  const double sine = (beam - aside) / radius;
  if (!(std::abs(sine) < 1)) return std::numeric_limits<double>::quiet_NaN();
  return rotation + std::asin(sine);
}

Pose pose(const Mount& mount, double reference_radius, double cross) {
  const bool turning = mount.hold == Hold::turning;
  // The art is started where the beam falls, so a beam beside the axis does not shift it.
  const double lead = std::asin(std::clamp(mount.beam_offset / reference_radius, -1.0, 1.0));
  const double rotation = turning ? cross / reference_radius - lead : 0.0;
  const double phase = mount.runout_phase - rotation;
  return {rotation, mount.beam_offset + (turning ? 0.0 : cross), mount.runout * std::sin(phase),
          mount.runout * std::cos(phase)};
}

}  // namespace circumfluence::motion
