// Where the part is under the beam: how far it has turned, and the lateral distance of the beam from its
// axis.
//
// A point of azimuth phi on a part turned by `rotation` stands at phi - rotation from top dead centre.
// Run-out moves the whole part: sideways by `aside` and up by `lift`.
#pragma once

#include "motion/mount.h"

namespace circumfluence::motion {

struct Pose {
  double rotation;  // [rad]
  double beam;      // [m] lateral position of the beam
  double aside;     // [m] lateral position of the part's axis
  double lift;      // [m] height of the part's axis above the turning axis

  // [m] lateral distance of a surface point of radius and azimuth from the beam.
  double distance(double radius, double azimuth) const;
  // [rad] azimuth of the surface point under the beam; NaN when the beam misses the part.
  double azimuth_under_beam(double radius) const;
};

// The pose when the art's coordinate around (turning) or across (standing) stands at `cross` [m].
Pose pose(const Mount& mount, double reference_radius, double cross);

}  // namespace circumfluence::motion
