#include <algorithm>
#include <cmath>

#include "motion/kinematics.h"

namespace circumfluence::motion {
namespace {

// The run a move belongs to: up, along, and down again, which is up from the end.
struct Profile {
  Ramp up, down;
  double before = 0, length = 0;

  explicit Profile(const Travel& t)
      : up{t.entry, t.top, t.acceleration, t.jerk}, down{t.leave, t.top, t.acceleration, t.jerk} {
    if (t.run.length > 0) {
      up.from = t.run.entry, down.from = t.run.leave, up.to = down.to = t.run.top;
      before = t.run.before, length = t.run.length;
    } else {
      length = t.move.length();
    }
  }
  double duration() const {
    const double level = length - up.distance() - down.distance();
    return up.duration() + (level > 0 ? level / up.to : 0.0) + down.duration();
  }
  double time_at(double x) const {
    if (x <= up.distance()) return up.time_at(x);
    if (length - x <= down.distance()) return duration() - down.time_at(length - x);
    return up.duration() + (x - up.distance()) / up.to;
  }
  double distance_at(double time) const {
    const double rise = up.duration(), left = duration() - time;
    if (time <= rise) return up.way(time);
    if (left <= down.duration()) return length - down.way(left);
    return up.distance() + (time - rise) * up.to;
  }
  double speed_at(double x) const {
    if (x <= up.distance()) return up.speed(up.time_at(x));
    return length - x > down.distance() ? up.to : down.speed(down.time_at(length - x));
  }
};

double within(const Travel& travel, double distance) {
  return std::clamp(distance, 0.0, travel.move.length());
}

}  // namespace

double Travel::time_at(double distance) const {
  if (move.kind == Move::Kind::dwell) return 0.0;
  const Profile profile(*this);
  return profile.time_at(profile.before + within(*this, distance)) -
         (profile.before > 0 ? profile.time_at(profile.before) : 0.0);
}

double Travel::speed_at(double distance) const {
  if (move.kind == Move::Kind::dwell) return 0.0;
  const Profile profile(*this);
  return profile.speed_at(profile.before + within(*this, distance));
}

double Travel::distance_at(double time) const {
  if (move.kind == Move::Kind::dwell) return 0.0;
  const Profile profile(*this);
  const double since = std::max(0.0, time) + (profile.before > 0 ? profile.time_at(profile.before) : 0.0);
  return within(*this, profile.distance_at(since) - profile.before);
}

}  // namespace circumfluence::motion
