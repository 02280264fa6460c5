#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "motion/kinematics.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using quantity::kInfinity, quantity::kPi;

constexpr double kStraightOn = 1e-3;  // [rad] no corner: coordinates are rounded

double or_unlimited(double limit) {
  return std::isnan(limit) ? kInfinity : limit;
}

// The most along a way of which each axis takes a share.
double along(double axial_limit, double around_limit, const Heading& share) {
  double most = kInfinity;
  if (share.axial != 0) most = std::min(most, axial_limit / std::abs(share.axial));
  if (share.around != 0) most = std::min(most, around_limit / std::abs(share.around));
  if (share.height != 0) most = std::min(most, axial_limit / std::abs(share.height));
  return most;
}

MoveLimits axes(const Machine& machine, const Heading& share) {
  return {along(or_unlimited(machine.axial_speed), or_unlimited(machine.around_speed), share),
          along(machine.axial_acceleration, machine.around_acceleration, share)};
}

// In the fed plane.
struct Radius {
  double size, azimuth;  // [m], [rad]
};

Radius radius(const Arc& arc, const PathPoint& at) {
  const double axial = at.axial - arc.axial, around = at.around - arc.around;
  return {std::hypot(axial, around), std::atan2(around, axial)};
}

// The greatest |cos| over an arc's azimuths.
double greatest_cosine(double from, double turned) {
  const double low = std::min(from, from + turned), high = std::max(from, from + turned);
  if (std::floor(high / kPi) >= std::ceil(low / kPi)) return 1.0;
  return std::max(std::abs(std::cos(low)), std::abs(std::cos(high)));
}

Heading arc_heading(const Move& move, double azimuth, double height) {
  const double level = std::copysign(std::sqrt(std::max(0.0, 1 - height * height)), move.arc.angle);
  return {-level * std::sin(azimuth), level * std::cos(azimuth), height};
}

// The tangent is a quarter turn from the radius: the axis along the part is fastest where the radius lies
// around it.
MoveLimits arc_limits(const Machine& machine, const Move& move, double rise) {
  const Radius r = radius(move.arc, move.from);
  const double level = std::sqrt(std::max(0.0, 1 - rise * rise));
  const double axial = greatest_cosine(r.azimuth - kPi / 2, move.arc.angle),
               around = greatest_cosine(r.azimuth, move.arc.angle);
  const Heading share{level * axial, level * around, rise};
  const double across = along(machine.axial_acceleration, machine.around_acceleration, {around, axial, 0});
  const MoveLimits most = axes(machine, share);
  return {std::min(most.speed, std::sqrt(across * r.size) / level), most.acceleration};
}

}  // namespace

const quantity::Fields<Machine>& machine_fields() {
  static const quantity::Fields<Machine> fields = {
      {"axial_speed", &Machine::axial_speed, "mm/min", 1e-5, 50,
       "the greatest speed of the axis along the part; if absent, unlimited", false},
      {"around_speed", &Machine::around_speed, "mm/min", 1e-5, 50,
       "the greatest speed of the axis that turns it, at the driven diameter; if absent, unlimited", false},
      {"axial_acceleration", &Machine::axial_acceleration, "mm/s^2", 1e-3, 1e3,
       "acceleration of the axis along the part; needed for a tool path", false},
      {"around_acceleration", &Machine::around_acceleration, "mm/s^2", 1e-3, 1e3,
       "acceleration of the axis that turns it, at the driven diameter; needed for a tool path", false},
      {"jerk", &Machine::jerk, "mm/s^3", 1e-3, 1e6,
       "the most by which the acceleration changes in a time; if absent, it sets in at once", false},
      {"corner_deviation", &Machine::corner_deviation, "mm", 1e-7, 0.01,
       "how far off a corner may be rounded, in reckoning its speed; if absent, the machine stops there",
       false},
      {"look_ahead", &Machine::look_ahead, "", 0, 100000, "moves that the controller plans ahead; 0: all",
       false},
  };
  return fields;
}

void check(const Machine& machine) {
  for (const auto& field : machine_fields()) {
    const auto* member = std::get_if<double Machine::*>(&field.member);
    if (member != nullptr && std::string(field.key).ends_with("acceleration") && !(machine.**member > 0))
      throw quantity::JobError(fmt::format(
          "machine.{} is missing (expected an acceleration such as \"1000 mm/s^2\" for a tool path)",
          field.key));
  }
}

Course course(const Move& move) {
  const double length = move.kind == Move::Kind::dwell ? 0.0 : move.length();
  if (!(length > 0)) return {};
  const double height = (move.to.height - move.from.height) / length;
  if (move.arc.angle != 0) {
    const double azimuth = radius(move.arc, move.from).azimuth;
    return {length, arc_heading(move, azimuth, height), arc_heading(move, azimuth + move.arc.angle, height)};
  }
  const Heading straight{(move.to.axial - move.from.axial) / length,
                         (move.to.around - move.from.around) / length, height};
  return {length, straight, straight};
}

MoveLimits limits(const Machine& machine, const Move& move, const Course& course) {
  if (move.kind == Move::Kind::dwell) return {0.0, kInfinity};
  const bool arc = course.length > 0 && move.arc.angle != 0;
  MoveLimits most =
      arc ? arc_limits(machine, move, std::abs(course.begin.height)) : axes(machine, course.begin);
  if (move.speed > 0) most.speed = std::min(most.speed, move.speed);
  return most;
}

// The corner is taken as an arc tangent to both legs, which stand at an angle of 2 b (straight on: b = 90
// degrees). Its centre lies on their bisector, R / sin b from the corner, so that the arc passes the corner
// at d = R / sin b - R:
//   R = d sin b / (1 - sin b),   v^2 = a R
// The velocity changes along the bisector, and `a` is what the axes can do that way. How long the legs are is
// not looked at, as controllers don't.
double corner_speed(const Machine& machine, const Heading& in, const Heading& out) {
  const Heading change{out.axial - in.axial, out.around - in.around, out.height - in.height};
  const double size = std::hypot(change.axial, change.around, change.height);  // 2 cos b
  if (size < kStraightOn) return kInfinity;
  if (std::isnan(machine.corner_deviation)) return 0.0;
  const double sine = std::sqrt(std::max(0.0, 1 - size * size / 4));
  const double radius = machine.corner_deviation * sine * (1 + sine) / (size * size / 4);
  const Heading share{change.axial / size, change.around / size, change.height / size};
  return std::sqrt(along(machine.axial_acceleration, machine.around_acceleration, share) * radius);
}

}  // namespace circumfluence::motion
