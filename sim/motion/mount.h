// How the part is held under the beam: section [mount].
#pragma once

#include "quantity/field.h"

namespace circumfluence::motion {

// turning: a rotary turns the part under a beam that stays; standing: the head moves across a part that
// stays.
enum class Hold { turning, standing };

struct Mount {
  Hold hold = Hold::turning;
  double beam_offset = 0.0;   // [m] lateral distance of the beam from the plane of the axis
  double runout = 0.0;        // [m] distance between the part's axis and the turning axis
  double runout_phase = 0.0;  // [rad] azimuth of the part that stands highest
  double drive_diameter =
      quantity::kUnset;  // [m] diameter that the machine believes it turns; NaN: that at focus_at
  double focus_at = quantity::kUnset;  // [m] axial position where the focus was set; NaN: middle of the art
  double height_spread = quantity::kUnset;  // [m] standard deviation of the focus's true height
};

const quantity::Fields<Mount>& mount_fields();

// Where the part is under the beam: how far it has turned, and the lateral distance of the beam from its
// axis.
//
// A point of azimuth phi on a part turned by `rotation` stands at phi - rotation from top dead centre.
// Run-out moves the whole part: sideways by `aside` and up by `lift`.
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
