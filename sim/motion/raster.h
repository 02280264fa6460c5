// How the head sweeps the art, section [scan], and the plan of that fill: parallel lines over the art, in the
// plane in which the art is fed to the machine.
#pragma once

#include "artwork/tone.h"
#include "motion/kinematics.h"
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
  double jerk = quantity::kUnset;          // [m/s^3] of the same; NaN: acceleration sets in at once
  double travel_speed = quantity::kUnset;  // [m/s] with the beam off, on one-way returns; NaN: speed
  double top_speed = quantity::kUnset;     // [m/s] the most of the axis that moves along the lines
  PowerHabit power_habit = PowerHabit::constant;
  double pause = 0.0;         // [s] rest between lines, beam off
  int interleave = 1;         // every so-manieth line is burnt first, then those between
  int first_line = 0;         // lines of every pass before it are left out: they are burnt already
  double focus_offset = 0.0;  // [m] height of the nominal focus above the surface
};

const quantity::Fields<Scan>& scan_fields();

struct Raster {
  Direction direction;
  double along_from, along_to;  // [m] where the art begins and ends along the lines
  double first;                 // [m] cross position of line 0
  double spacing;               // [m]
  int lines;                    // a pass, without those left out
  int passes;
  bool two_way;
  Sweep sweep;
  double turn_round;   // [s] from the end of a line to the start of the next, with the pause
  int interleave;      // lines 0, n, 2n, ... are burnt first, then 1, n + 1, ...
  double duration;     // [s] of the whole job
  int first_line = 0;  // of the art's lines, how many come before line 0 and are left out

  double cross(int line) const { return first + line * spacing; }
  int turn(int line) const;          // its place in the order of a pass
  int line_of_turn(int turn) const;  // and back
  bool backward(int line) const { return two_way && (first_line + turn(line)) % 2 == 1; }
  double start(int line, int pass) const;  // [s] when the line's run-up begins
  // [s/m] mean slowness over [along, along + length] of the fed art; beyond its ends, where nothing is burnt,
  // that at the end.
  double slowness(double along, double length) const;
};

// Where a job has got to. Between two lines it is at the end of the one before, at rest.
struct Moment {
  int pass, line;
  double along;  // [m] along the lines; in the run-up beyond the art
  double left;   // [s] still to come
};
// After so many seconds; before the start and after the end it is there.
Moment moment(const Raster& raster, double elapsed);

inline constexpr long kMostLines = 10'000'000;

// Throws JobError when the spacing makes more than kMostLines lines, or when no line is left.
Raster plan(const Scan& scan, const artwork::Extent& art);

}  // namespace circumfluence::motion
