#include "exposure/light.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::exposure {

Light::Light(const beam::Caustic& caustic, const workpiece::Profile& profile, const motion::Mount& mount,
             double focus_at, double focus_offset)
    : caustic_(caustic) {
  const double radius = profile.radius(focus_at);
  if (!(std::abs(mount.beam_offset) < radius))
    throw quantity::JobError(
        fmt::format("mount.beam_offset = {} (the beam misses the part; expected less than its radius, {})",
                    quantity::format(mount.beam_offset, "mm"), quantity::format(radius, "mm")));
  const double lateral = mount.hold == motion::Hold::turning ? mount.beam_offset : 0.0;
  focus_height_ = std::sqrt(radius * radius - lateral * lateral) + focus_offset;
}

double Light::height(double radius, double azimuth, const motion::Pose& pose) const {
  return radius * std::cos(azimuth - pose.rotation) + pose.lift - focus_height_;
}

Radii Light::radii(double height) const {
  return {caustic_.axial.radius_at(height), caustic_.around.radius_at(height)};
}

}  // namespace circumfluence::exposure
