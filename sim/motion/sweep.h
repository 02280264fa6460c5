// One line's motion: from rest over the run-up, across the art, and to rest again, at constant acceleration.
//
// Distances d are from the start of the run-up. The speed is min(v, sqrt(2 a d), sqrt(2 a (D - d))) with D
// the whole way; where the run-up is shorter than v^2 / 2a the head is still gaining speed over the art.
// Closed form.
#pragma once

namespace circumfluence::motion {

class Sweep {
 public:
  struct Way {
    double run_up, length;  // [m] before and after the art each; the art itself
  };
  struct Drive {
    double speed, acceleration;  // [m/s], [m/s^2]
  };
  Sweep(const Way& way, const Drive& drive);

  double run_up() const { return run_up_; }
  double distance() const { return distance_; }
  double duration() const { return duration_; }  // [s] from rest to rest
  double speed_at(double d) const;               // [m/s]
  double time_at(double d) const;                // [s] since the start
  // Mean slowness dt/dx over [d, d + length] [s/m]: finite even where the head starts from rest.
  double slowness(double d, double length) const;
  // Whether the head moves at its full speed over the whole art.
  bool steady() const;

 private:
  double run_up_, distance_, speed_, acceleration_, ramp_, duration_;
};

}  // namespace circumfluence::motion
