#include "motion/mount.h"

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
  const double rotation = turning ? cross / reference_radius : 0.0;
  const double phase = mount.runout_phase - rotation;
  return {rotation, mount.beam_offset + (turning ? 0.0 : cross), mount.runout * std::sin(phase),
          mount.runout * std::cos(phase)};
}

}  // namespace circumfluence::motion
