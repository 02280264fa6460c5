#include <algorithm>
#include <cmath>

#include "motion/kinematics.h"

namespace circumfluence::motion {
namespace {

// t > 0 of t^3 + p t = q, with p and q >= 0: Cardano's formula in hyperbolic form, which nothing cancels in.
double rising_cubic(double p, double q) {
  const double c = std::cbrt(q);
  if (p < 1e-16 * c * c) return c;
  const double m = 2 * std::sqrt(p / 3);
  return m * std::sinh(std::asinh(3 * q / (p * m)) / 3);
}

// The smallest t >= 0 of p t - t^3 = q.
double falling_cubic(double p, double q) {
  if (!(p > 0)) return 0.0;
  const double m = 2 * std::sqrt(p / 3);
  return m * std::sin(std::asin(std::min(1.0, 3 * q / (p * m))) / 3);
}

// A ramp upwards: `ends` of constant jerk before and after `middle` of constant acceleration.
struct Rise {
  double low, high, jerk;
  double ends, middle, peak;  // [s], [s], [m/s^2]

  explicit Rise(const Ramp& r)
      : low(std::min(r.from, r.to)),
        high(std::max(r.from, r.to)),
        jerk(r.jerk),
        ends(0),
        middle(0),
        peak(r.acceleration) {
    const double gain = high - low;
    if (!(jerk > 0)) {
      middle = gain / peak;
    } else if (gain * jerk >= peak * peak) {
      ends = peak / jerk;
      middle = gain / peak - ends;
    } else {
      ends = std::sqrt(gain / jerk);
      peak = jerk * ends;
    }
  }
  double duration() const { return 2 * ends + middle; }
  double distance() const { return (low + high) / 2 * duration(); }
  double first_way() const { return low * ends + jerk * ends * ends * ends / 6; }
  double first_speed() const { return low + peak * ends / 2; }

  double speed(double t) const {
    const double left = duration() - t;
    if (t <= 0 || left <= 0) return t <= 0 ? low : high;
    if (t < ends) return low + jerk * t * t / 2;
    if (left < ends) return high - jerk * left * left / 2;
    return first_speed() + peak * (t - ends);
  }
  double way(double t) const {
    const double left = duration() - t;
    if (t <= 0 || left <= 0) return t <= 0 ? 0 : distance();
    if (t < ends) return low * t + jerk * t * t * t / 6;
    if (left < ends) return distance() - (high * left - jerk * left * left * left / 6);
    return first_way() + (first_speed() + peak * (t - ends) / 2) * (t - ends);
  }
  double time_at(double d) const {
    const double left = distance() - d;
    if (d <= 0 || left <= 0) return d <= 0 ? 0 : duration();
    if (d < first_way()) return rising_cubic(6 * low / jerk, 6 * d / jerk);
    const double last_way = high * ends - jerk * ends * ends * ends / 6;
    if (left < last_way) return duration() - falling_cubic(6 * high / jerk, 6 * left / jerk);
    const double on = d - first_way(), v = first_speed();
    return on > 0 ? ends + 2 * on / (v + std::sqrt(v * v + 2 * peak * on)) : ends;
  }
};

}  // namespace

double Ramp::duration() const {
  return Rise(*this).duration();
}

double Ramp::distance() const {
  return Rise(*this).distance();
}

double Ramp::speed(double time) const {
  const Rise rise(*this);
  return rise.speed(to >= from ? time : rise.duration() - time);
}

double Ramp::way(double time) const {
  const Rise rise(*this);
  return to >= from ? rise.way(time) : rise.distance() - rise.way(rise.duration() - time);
}

double Ramp::time_at(double distance) const {
  const Rise rise(*this);
  return to >= from ? rise.time_at(distance) : rise.duration() - rise.time_at(rise.distance() - distance);
}

// From (2 v + D) / 2 T(D) = way.
double reach(const Ramp& ramp, double way) {
  const double v = ramp.from, a = ramp.acceleration, j = ramp.jerk;
  if (!(way > 0)) return v;
  if (!(j > 0)) return std::sqrt(v * v + 2 * a * way);
  if (way < (2 * v + a * a / j) * a / j) {
    const double root = rising_cubic(2 * v, way * std::sqrt(j));  // of D
    return v + root * root;
  }
  const double p = 2 * v / a + a / j, q = 2 * (way - v * a / j);
  return v + 2 * q / (p + std::sqrt(p * p + 4 * q / a));
}

}  // namespace circumfluence::motion
