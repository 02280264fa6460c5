// Truth: the motion stepped finely in time from its definition (the acceleration grows by no more than j dt
// and never beyond a), v = sqrt(2 a d), and the geometry of a corner rounded by a circle, found by search.
#include "motion/kinematics.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using quantity::kPi;

struct Stepped {
  double time = 0, way = 0;
};

// Gains speed as hard as allowed, and lets go of the acceleration in time to have none when `to` is reached.
// Stops where `way` is reached.
Stepped stepped(const Ramp& ramp, double way = 1e9) {
  const double low = std::min(ramp.from, ramp.to), high = std::max(ramp.from, ramp.to);
  Stepped at;
  double speed = low, acceleration = ramp.jerk > 0 ? 0.0 : ramp.acceleration;
  const double dt = ramp.duration() / 400000;
  while (speed < high && at.way < way && at.time < 10 * ramp.duration()) {
    if (ramp.jerk > 0) {
      const bool let_go = high - speed <= acceleration * acceleration / (2 * ramp.jerk);
      acceleration += (let_go ? -1 : 1) * ramp.jerk * dt;
      acceleration = std::clamp(acceleration, ramp.jerk * dt, ramp.acceleration);
    }
    at.way += (speed + acceleration * dt / 2) * dt;
    speed += acceleration * dt;
    at.time += dt;
  }
  return at;
}

Ramp any_ramp() {
  return {.from = *rc::gen::inRange(0, 300) * 1e-3,
          .to = *rc::gen::inRange(0, 300) * 1e-3,
          .acceleration = *rc::gen::inRange(1, 500) * 1e-2,
          .jerk = *rc::gen::inRange(0, 500) * 0.3};
}

RC_GTEST_PROP(Ramp, TakesTheTimeAndTheWayOfFineSteps, ()) {
  Ramp ramp = any_ramp();
  RC_PRE(std::abs(ramp.to - ramp.from) > 1e-3);
  const Stepped truth = stepped(ramp);
  RC_ASSERT(std::abs(truth.time - ramp.duration()) < 5e-3 * ramp.duration());
  RC_ASSERT(std::abs(truth.way - ramp.distance()) < 5e-3 * ramp.distance());
  if (ramp.to < ramp.from) std::swap(ramp.from, ramp.to);
  const double part = ramp.distance() * *rc::gen::inRange(1, 100) / 100;
  RC_ASSERT(std::abs(stepped(ramp, part).time - ramp.time_at(part)) < 5e-3 * ramp.duration());
}

RC_GTEST_PROP(Ramp, TimeAndWayAreEachOthersInverse, ()) {
  const Ramp ramp = any_ramp();
  const double time = ramp.duration() * *rc::gen::inRange(0, 1001) / 1000, way = ramp.way(time);
  RC_ASSERT(std::abs(ramp.way(ramp.time_at(way)) - way) <= 1e-14 * ramp.distance());
  RC_ASSERT(way >= 0 && way <= ramp.distance() * (1 + 1e-15));
  const double dt = 1e-5 * ramp.duration();  // speed is what the way changes by
  if (time > dt && time < ramp.duration() - dt)
    RC_ASSERT(std::abs((ramp.way(time + dt) - ramp.way(time - dt)) / (2 * dt) - ramp.speed(time)) < 1e-6);
  RC_ASSERT(std::abs(ramp.speed(0) - ramp.from) < 1e-15 &&
            std::abs(ramp.speed(ramp.duration()) - ramp.to) < 1e-15);
}

RC_GTEST_PROP(Ramp, DownIsUpBackwards, ()) {
  const Ramp up = any_ramp(), down{up.to, up.from, up.acceleration, up.jerk};
  RC_ASSERT(up.duration() == down.duration() && up.distance() == down.distance());
  const double way = up.distance() * *rc::gen::inRange(0, 101) / 100;
  RC_ASSERT(std::abs(up.time_at(way) + down.time_at(up.distance() - way) - up.duration()) <=
            1e-7 * up.duration());
}

RC_GTEST_PROP(Ramp, ReachesWhatTakesJustThatWay, ()) {
  Ramp ramp = any_ramp();
  const double way = *rc::gen::inRange(1, 10000) * 1e-6;
  ramp.to = reach(ramp, way);
  const double rounding = 1e-16 * ramp.to / (ramp.to - ramp.from);  // of what little is gained
  RC_ASSERT(std::abs(ramp.distance() - way) < (1e-12 + 4 * rounding) * way);
}

TEST(Ramp, OfNothingTakesNothing) {
  for (const double jerk : {0.0, 5.0}) {
    const Ramp ramp{0.1, 0.1, 2, jerk};
    EXPECT_EQ(ramp.duration(), 0);
    EXPECT_EQ(ramp.time_at(0), 0);
    EXPECT_EQ(ramp.speed(1), 0.1);
    EXPECT_EQ(reach(ramp, 0), 0.1);
  }
}

TEST(Ramp, AGreatJerkIsAsNone) {
  const Ramp hard{0, 0.2, 1.5, 1e9}, none{0, 0.2, 1.5, 0};
  EXPECT_NEAR(hard.duration(), none.duration(), 2e-9);
  EXPECT_NEAR(hard.time_at(3e-3), none.time_at(3e-3), 2e-9);
}

Machine machine() {
  return {.axial_speed = 0.2,
          .around_speed = 0.05,
          .axial_acceleration = 2,
          .around_acceleration = 0.8,
          .corner_deviation = 20e-6};
}

Move line(double axial, double around, double height = 0) {
  return {.from = {1e-3, 2e-3, 0}, .to = {1e-3 + axial, 2e-3 + around, height}};
}

TEST(MoveLimits, HoldEachAxisToItsOwn) {
  const Machine m = machine();
  const auto most = [&m](const Move& move) { return limits(m, move, course(move)); };
  EXPECT_DOUBLE_EQ(most(line(5e-3, 0)).speed, 0.2);
  EXPECT_DOUBLE_EQ(most(line(0, -5e-3)).speed, 0.05);
  EXPECT_DOUBLE_EQ(most(line(0, -5e-3)).acceleration, 0.8);
  EXPECT_DOUBLE_EQ(most(line(0, 0, 1e-3)).acceleration, 2);  // as the axis along the part
  EXPECT_NEAR(most(line(3e-3, 4e-3)).speed, 0.05 / 0.8, 1e-15);
  EXPECT_NEAR(most(line(3e-3, 4e-3)).acceleration, 0.8 / 0.8, 1e-15);
  Move slow = line(5e-3, 0);
  slow.speed = 0.03;
  EXPECT_DOUBLE_EQ(most(slow).speed, 0.03);
  Machine unlimited{.axial_acceleration = 1, .around_acceleration = 1};
  EXPECT_EQ(limits(unlimited, slow, course(slow)).speed, 0.03);
  EXPECT_TRUE(std::isinf(limits(unlimited, line(1, 1), course(line(1, 1))).speed));
}

// Along the arc both axes keep within their limits everywhere, and somewhere one is at its own.
RC_GTEST_PROP(MoveLimits, HoldOnArcs, ()) {
  Machine m = machine();
  m.around_speed = *rc::gen::inRange(20, 400) * 1e-3;
  const double radius = *rc::gen::inRange(1, 300) * 1e-3, start = *rc::gen::inRange(0, 628) * 0.01;
  const double angle = *rc::gen::element(-1.0, 1.0) * *rc::gen::inRange(1, 700) * 0.01;
  const auto at = [&](double a) { return PathPoint{radius * std::cos(a), radius * std::sin(a), 0}; };
  const Move move{.from = at(start), .to = at(start + angle), .arc = {0, 0, angle}};
  const MoveLimits most = limits(m, move, course(move));
  double speed = 0, gain = 0, turn = 0;
  for (int i = 0; i <= 2000; ++i) {
    const double a = start + angle * i / 2000, sine = std::abs(std::sin(a)), cosine = std::abs(std::cos(a));
    speed = std::max({speed, most.speed * sine / m.axial_speed, most.speed * cosine / m.around_speed});
    gain = std::max({gain, most.acceleration * sine / m.axial_acceleration,
                     most.acceleration * cosine / m.around_acceleration});
    const double towards = most.speed * most.speed / radius;
    turn = std::max({turn, towards * cosine / m.axial_acceleration, towards * sine / m.around_acceleration});
  }
  RC_ASSERT(std::max(speed, turn) < 1 + 1e-9 && gain < 1 + 1e-9);
  RC_ASSERT(std::max(speed, turn) > 1 - 1e-5 && gain > 1 - 1e-5);
}

TEST(Course, OfAnArcIsItsTangent) {
  const Move quarter{.from = {10e-3, 0, 0}, .to = {0, 10e-3, 0}, .arc = {0, 0, kPi / 2}};
  EXPECT_NEAR(course(quarter).begin.around, 1, 1e-15);
  EXPECT_NEAR(course(quarter).end.axial, -1, 1e-15);
  const Move back{.from = {10e-3, 0, 0}, .to = {0, -10e-3, 0}, .arc = {0, 0, -kPi / 2}};
  EXPECT_NEAR(course(back).begin.around, -1, 1e-15);
  EXPECT_NEAR(course(back).end.axial, -1, 1e-15);
}

// The circle that touches both legs and passes the corner at the deviation, by halving.
double radius_by_search(double turned, double deviation) {
  double low = 0, high = 1e3;
  for (int i = 0; i < 200; ++i) {
    const double r = (low + high) / 2, leg = r * std::tan(turned / 2);  // from the corner to where it touches
    (std::hypot(r, leg) - r < deviation ? low : high) = r;
  }
  return low;
}

TEST(Corner, IsTakenAsFastAsTheRoundedOneAllows) {
  const Machine m{.axial_acceleration = 1.3, .around_acceleration = 1.3, .corner_deviation = 25e-6};
  for (const double turned : {0.05, 0.4, kPi / 2, 2.5, 3.1}) {
    const Heading in{1, 0, 0}, out{std::cos(turned), std::sin(turned), 0};
    const double across = kPi / 2 + turned / 2;  // the way the velocity changes
    const double a = 1.3 / std::max(std::abs(std::cos(across)), std::abs(std::sin(across)));
    EXPECT_NEAR(corner_speed(m, in, out) / std::sqrt(a * radius_by_search(turned, 25e-6)), 1, 1e-6) << turned;
  }
  EXPECT_NEAR(corner_speed(m, {1, 0, 0}, {-1, 0, 0}), 0, 1e-9);
  EXPECT_TRUE(std::isinf(corner_speed(m, {1, 0, 0}, {1, 0, 0})));
}

TEST(Corner, IsAStopWhereNothingMayBeRounded) {
  Machine m = machine();
  m.corner_deviation = quantity::kUnset;
  EXPECT_EQ(corner_speed(m, {1, 0, 0}, {std::cos(0.01), std::sin(0.01), 0}), 0);
  EXPECT_TRUE(std::isinf(corner_speed(m, {1, 0, 0}, {1, 1e-6, 0})));
}

TEST(MachineCheck, AsksForTheAccelerations) {
  Machine m = machine();
  check(m);
  m.around_acceleration = quantity::kUnset;
  EXPECT_THAT([&m] { check(m); }, testing::ThrowsMessage<quantity::JobError>(testing::HasSubstr(
                                      "machine.around_acceleration is missing (expected an acceleration")));
}

}  // namespace
}  // namespace circumfluence::motion
