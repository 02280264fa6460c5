#include "motion/rotary.h"

namespace circumfluence::motion {

const quantity::Fields<Rotary>& rotary_fields() {
  static const quantity::Fields<Rotary> fields = {
      {"drive", quantity::choice<&Rotary::drive>(), "", 0, 0,
       "the part turns with a chuck, or rests on two rollers that turn it by its surface; if absent, a chuck",
       false, "chuck rollers"},
      {"motor_steps", &Rotary::motor_steps, "", 0, 100'000, "full steps of a turn of the motor; 0: not known",
       false},
      {"microsteps", &Rotary::microsteps, "", 0, 100'000, "microsteps of a full step; 0: not known", false},
      {"reduction", &Rotary::reduction, "1", 1e-3, 1e4, "turns of the motor for one of the chuck or roller",
       false},
      {"roller_diameter", &Rotary::roller_diameter, "mm", 1e-3, 1, "diameter of the rollers", false},
      {"roller_gap", &Rotary::roller_gap, "mm", 0, 1, "free width between the surfaces of the two rollers",
       false},
      {"contact", &Rotary::contact, "mm", 0, 3,
       "axial position that rests on the rollers; if absent, where the part is widest", false},
      {"axle_height", &Rotary::axle_height, "mm", -1, 2,
       "height of the chuck's or the rollers' axes above the bed", false},
      {"set_steps", &Rotary::set_steps, "1/mm", 1, 1e9,
       "steps per mm now set for the turning axis; if absent, they are taken as right", false},
      {"flat_steps", &Rotary::flat_steps, "1/mm", 1, 1e9, "steps per mm of the flat axis, to be put back",
       false},
      {"slip", &Rotary::slip, "%", 0, 0.2, "share of the rollers' travel that the part does not follow",
       false},
      {"slip_spread", &Rotary::slip_spread, "%", 0, 0.2, "standard deviation of the slip, from job to job",
       false},
      {"backlash", &Rotary::backlash, "mm", 0, 0.02, "travel lost at each reversal, at the driven diameter",
       false},
      {"backlash_spread", &Rotary::backlash_spread, "mm", 0, 0.02, "standard deviation of the backlash",
       false},
  };
  return fields;
}

}  // namespace circumfluence::motion
