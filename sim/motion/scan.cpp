#include "motion/raster.h"

namespace circumfluence::motion {

const quantity::Fields<Scan>& scan_fields() {
  static const quantity::Fields<Scan> fields = {
      {"power", &Scan::power, "W", 0, 5e3, "power while burning, in watts or as a share of the rated power",
       true, "", &Scan::power_share, "%", 1.0},
      {"speed", &Scan::speed, "mm/min", 1e-5, 50, "speed along the lines"},
      {"spacing", &Scan::spacing, "mm", 1e-6, 0.02, "distance between lines"},
      {"direction", quantity::choice<&Scan::direction>(), "", 0, 0,
       "lines run along the axis or around the part", true, "axial around"},
      {"two_way", &Scan::two_way, "", 0, 0, "every second line runs backwards"},
      {"passes", &Scan::passes, "", 1, 100, "how often the whole art is burnt", false},
      {"run_up", &Scan::run_up, "mm", 0, 0.2, "travel before and after the art, beam off"},
      {"acceleration", &Scan::acceleration, "mm/s^2", 1e-3, 1e3, "acceleration of the moving axis"},
      {"jerk", &Scan::jerk, "mm/s^3", 1e-3, 1e6,
       "the most by which the acceleration changes in a time; if absent, it sets in at once", false},
      {"travel_speed", &Scan::travel_speed, "mm/min", 1e-5, 50,
       "speed of one-way returns, beam off; if absent, speed", false},
      {"top_speed", &Scan::top_speed, "mm/min", 1e-5, 50,
       "the greatest speed of the axis that moves along the lines", false},
      {"power_habit", quantity::choice<&Scan::power_habit>(), "", 0, 0,
       "whether the controller lowers power where the head is slower", true, "constant follows_speed"},
      {"pause", &Scan::pause, "s", 0, 3600, "rest between lines, beam off, for the wall to cool", false},
      {"interleave", &Scan::interleave, "", 1, 1000,
       "burn every n-th line first, then those between, so that neighbours cool", false},
      {"first_line", &Scan::first_line, "", 0, 1e7,
       "lines of every pass before it, counted from 0, are left out: they are burnt already", false},
      {"focus_offset", &Scan::focus_offset, "mm", -0.1, 0.1, "height of the nominal focus above the surface",
       false},
  };
  return fields;
}

}  // namespace circumfluence::motion
