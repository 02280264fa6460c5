// How the head sweeps the art: section [scan].
#pragma once

#include "quantity/field.h"

namespace circumfluence::motion {

enum class Direction { axial, around };
enum class PowerHabit { constant, follows_speed };

struct Scan {
  double power = quantity::kUnset;         // [W] at the source, before losses; or
  double power_share = quantity::kUnset;   // [1] of the rated power
  double speed = quantity::kUnset;         // [m/s] along the lines
  double spacing = quantity::kUnset;       // [m] between lines
  Direction direction = Direction::axial;  // the lines run along the axis, or around the part
  bool two_way = true;                     // every second line runs backwards
  int passes = 1;
  double run_up = quantity::kUnset;        // [m] travel before and after the art, beam off
  double acceleration = quantity::kUnset;  // [m/s^2] of the moving axis
  double travel_speed = quantity::kUnset;  // [m/s] with the beam off, on one-way returns; NaN: speed
  double top_speed = quantity::kUnset;     // [m/s] the most of the axis that moves along the lines
  PowerHabit power_habit = PowerHabit::constant;
  double pause = 0.0;         // [s] rest between lines, beam off
  int interleave = 1;         // every so-manieth line is burnt first, then those between
  double focus_offset = 0.0;  // [m] height of the nominal focus above the surface
};

const quantity::Fields<Scan>& scan_fields();

}  // namespace circumfluence::motion
