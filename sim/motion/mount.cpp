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
      {"head_height", &Mount::head_height, "mm", 0, 2,
       "height of the head's lower edge above the bed, as the machine stands", false},
      {"mouth", quantity::choice<&Mount::mouth>(), "", 0, 0,
       "which end of the axial positions is the part's mouth, or top: start is 0, end its length", false,
       "unstated start end"},
      {"mouth_faces", quantity::choice<&Mount::mouth_faces>(), "", 0, 0,
       "where the mouth points on the machine, seen from its front", false, "unstated left right front back"},
      {"axial_feed", quantity::choice<&Mount::axial_feed>(), "", 0, 0,
       "where the beam goes over the part on positive feed along its axis", false, "unstated left right front back"},
      {"around_feed", quantity::choice<&Mount::around_feed>(), "", 0, 0,
       "the same on positive feed around; the top of a turning part moves the other way", false,
       "unstated left right front back"},
  };
  return fields;
}

}  // namespace circumfluence::motion
