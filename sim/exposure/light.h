// The beam as it meets the part: the radii it has at the height of the surface.
#pragma once

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

}  // namespace circumfluence::exposure
