// How fast the machine really goes: a change of speed, one line of a raster, and the moves of a tool path
// planned ahead.
//
// The acceleration keeps within a [m/s^2] and, where a jerk j [m/s^3] is given, sets in and ends no faster
// than j. A change of speed by D [m/s] takes
//   T = D / a                            without a jerk limit
//   T = D / a + a / j   for D >= a^2/j,  2 sqrt(D / j) below
// and, being symmetric about its middle, (from + to) / 2 T of way. Closed form both ways; rounding only.
// Assumes axes that follow: overshoot, delays and the rate at which a controller steps are left out. Checked
// against time stepping and against speeds reckoned on a fine grid from the limits alone.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>

#include "motion/tool_path.h"
#include "quantity/field.h"

namespace circumfluence::motion {

struct Ramp {
  double from = 0, to = 0;  // [m/s]
  double acceleration = 0;  // [m/s^2]
  double jerk = 0;          // [m/s^3]; 0: unlimited

  double duration() const;                // [s]
  double distance() const;                // [m]
  double speed(double time) const;        // [m/s]
  double way(double time) const;          // [m]
  double time_at(double distance) const;  // [s]
};

// [m/s] the most that can be reached over a way [m] from ramp.from; ramp.to is not looked at.
double reach(const Ramp& ramp, double way);

// One line's motion: from rest over the run-up, across the art, and to rest again.
//
// Distances d are from the start of the run-up. The speed is min(v, sqrt(2 a d), sqrt(2 a (D - d))) with D
// the whole way; with a jerk limit the roots give way to ramps as above. Where the run-up is shorter than the
// ramp the head is still gaining speed over the art.
class Sweep {
 public:
  struct Way {
    double run_up, length;  // [m] before and after the art each; the art itself
  };
  struct Drive {
    double speed, acceleration;      // [m/s], [m/s^2]
    double jerk = quantity::kUnset;  // [m/s^3]; NaN: unlimited
  };
  Sweep(const Way& way, const Drive& drive);

  double run_up() const { return run_up_; }
  double distance() const { return distance_; }
  double duration() const { return duration_; }  // [s] from rest to rest
  double speed_at(double d) const;               // [m/s]
  double time_at(double d) const;                // [s] since the start
  double distance_at(double time) const;         // [m] since the start
  // Mean slowness dt/dx over [d, d + length] [s/m]: finite even where the head starts from rest.
  double slowness(double d, double length) const;
  // Whether the head moves at its full speed over the whole art.
  bool steady() const;

 private:
  double run_up_, distance_, speed_, acceleration_, ramp_, duration_;
  Ramp rise_;  // to full speed, or to what half the way allows
};

// Section [machine]: limits of the axes, for tool paths; a raster has its own in [scan].
struct Machine {
  double axial_speed = quantity::kUnset;   // [m/s] the most of the axis along the part; NaN: unlimited
  double around_speed = quantity::kUnset;  // [m/s] of the one that turns it, at the driven diameter; likewise
  double axial_acceleration = quantity::kUnset;   // [m/s^2]
  double around_acceleration = quantity::kUnset;  // [m/s^2]
  double jerk = quantity::kUnset;                 // [m/s^3]; NaN: acceleration sets in at once
  double corner_deviation =
      quantity::kUnset;  // [m] by which a corner may be rounded, in reckoning its speed; NaN: it stops
  int look_ahead = 0;    // moves planned ahead; 0: all
};

const quantity::Fields<Machine>& machine_fields();
// What a tool path cannot do without. Throws JobError.
void check(const Machine& machine);

// Where a move leads: shares of the axes, of length 1, at its beginning and at its end; 0 where it has no
// length.
struct Heading {
  double axial = 0, around = 0, height = 0;
};
struct Course {
  double length = 0;  // [m]; of a dwell 0
  Heading begin, end;
};
Course course(const Move& move);

// What the axes allow along a move: none goes faster, or gains speed faster, than it can, wherever an arc
// leads; on an arc v^2 / radius keeps within what they can do across it. `height` has the limits of the axis
// along the part.
struct MoveLimits {
  double speed, acceleration;  // [m/s], the one asked for included; [m/s^2]
};
MoveLimits limits(const Machine& machine, const Move& move, const Course& course);
double corner_speed(const Machine& machine, const Heading& in, const Heading& out);  // [m/s]

// One move as it is run: from `entry` up to `top` and down to `leave` [m/s].
struct Travel {
  // With a jerk limit, moves that follow on without a corner are run as one: the whole of which this one is a
  // part.
  struct Run {
    double length = 0, before = 0;  // [m]; 0: the move is run by itself
    double entry = 0, top = 0, leave = 0;
  };
  Move move = {};
  double start = 0, duration = 0;        // [s]
  double entry = 0, top = 0, leave = 0;  // [m/s] along the move
  double acceleration = 0;               // [m/s^2]
  double jerk = 0;                       // [m/s^3]; 0: unlimited
  Run run = {};

  double time_at(double distance) const;   // [s] since `start`, distance [m] along the move
  double speed_at(double distance) const;  // [m/s]
  double distance_at(double time) const;   // [m] along the move, time [s] since `start`
};

// Gives each move the speeds at which it is run, in order. Speeds at corners are the greatest from which
// every later stop and corner can still be met; look_ahead = n: as if the path ended after n moves, the one
// about to start included. With a jerk limit the acceleration is zero wherever a run of moves begins and
// ends. Moves are held back until nothing that may follow changes them, or until kMostAhead are held: then
// the earlier half goes as if the path ended there.
class Planner {
 public:
  using Take = std::function<bool(const Travel&)>;
  Planner(const Machine& machine, Take take);  // throws JobError, as check does
  ~Planner();

  static constexpr size_t kMostAhead = size_t(1) << 17;
  // False once the taker has said stop.
  bool take(const Move& move);
  bool finish();
  double elapsed() const;  // [s] of the moves handed on

 private:
  class Runs;
  std::unique_ptr<Runs> runs_;
};

}  // namespace circumfluence::motion
