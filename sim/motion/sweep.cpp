#include <algorithm>
#include <cmath>

#include "motion/kinematics.h"

namespace circumfluence::motion {
namespace {

Ramp rise_of(const Sweep::Drive& drive, double half_way) {
  Ramp rise{.acceleration = drive.acceleration, .jerk = drive.jerk > 0 ? drive.jerk : 0.0};
  rise.to = std::min(drive.speed, reach(rise, half_way));
  return rise;
}

}  // namespace

Sweep::Sweep(const Way& way, const Drive& drive)
    : run_up_(way.run_up),
      distance_(way.length + 2 * way.run_up),
      speed_(drive.speed),
      acceleration_(drive.acceleration),
      ramp_(std::min(drive.speed * drive.speed / (2 * drive.acceleration), distance_ / 2)),
      rise_(rise_of(drive, distance_ / 2)) {
  if (rise_.jerk > 0) ramp_ = rise_.to < speed_ ? distance_ / 2 : std::min(rise_.distance(), distance_ / 2);
  duration_ = 2 * time_at(distance_ / 2);
}

double Sweep::speed_at(double d) const {
  const double to_end = std::clamp(std::min(d, distance_ - d), 0.0, distance_);
  if (rise_.jerk > 0) return rise_.speed(rise_.time_at(to_end));
  return std::min(speed_, std::sqrt(2 * acceleration_ * to_end));
}

double Sweep::time_at(double d) const {
  if (d <= 0) return 0.0;
  if (d > distance_ / 2 && d <= distance_) return duration_ - time_at(distance_ - d);
  if (d > distance_) return duration_;
  const double on = std::min(d, ramp_);
  const double ramp = rise_.jerk > 0 ? rise_.time_at(on) : std::sqrt(2 * on / acceleration_);
  return ramp + std::max(0.0, d - ramp_) / speed_;
}

double Sweep::distance_at(double time) const {
  if (time > duration_ / 2) return distance_ - distance_at(duration_ - std::min(time, duration_));
  if (time <= 0) return 0.0;
  const double ramp = rise_.duration();
  return time < ramp ? rise_.way(time) : std::min(ramp_ + speed_ * (time - ramp), distance_ / 2);
}

double Sweep::slowness(double d, double length) const {
  const double from = std::clamp(d, 0.0, distance_), to = std::clamp(d + length, 0.0, distance_);
  if (to <= from) return 1 / speed_;
  return (time_at(to) - time_at(from)) / (to - from);
}

bool Sweep::steady() const {
  return run_up_ >= ramp_ * (1 - 1e-12) && ramp_ < distance_ / 2;
}

}  // namespace circumfluence::motion
