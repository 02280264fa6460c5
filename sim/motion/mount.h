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

}  // namespace circumfluence::motion
