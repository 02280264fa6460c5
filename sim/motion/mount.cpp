#include "motion/mount.h"

namespace circumfluence::motion {

const quantity::Fields<Mount>& mount_fields() {
  static const quantity::Fields<Mount> fields = {
      {"hold", quantity::choice<&Mount::hold>(), "", 0, 0,
       "a rotary turns the part, or it stands and the head moves across", true, "turning standing"},
      {"beam_offset", &Mount::beam_offset, "mm", -0.5, 0.5,
       "lateral distance of the beam from the plane of the axis", false},
      {"runout", &Mount::runout, "mm", 0, 0.05, "distance between the part's axis and the turning axis",
       false},
      {"runout_phase", &Mount::runout_phase, "deg", -10, 10, "azimuth of the part that stands highest",
       false},
      {"drive_diameter", &Mount::drive_diameter, "mm", 1e-3, 2,
       "diameter the machine believes it turns; if absent, that at focus_at", false},
      {"focus_at", &Mount::focus_at, "mm", -10, 10,
       "axial position where the focus was set; if absent, the middle of the art", false},
      {"height_spread", &Mount::height_spread, "mm", 0, 0.05,
       "standard deviation of the height at which the focus really lies", false},
  };
  return fields;
}

}  // namespace circumfluence::motion
