// Truth: uniformly accelerated motion, v = sqrt(2 a d), t = v / a; pieces of constant jerk added up by hand;
// and time stepped finely through the speed.
#include "motion/kinematics.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace circumfluence::motion {
namespace {

TEST(Sweep, WithALongRunUpKeepsItsSpeedOverTheArt) {
  const Sweep sweep({5e-3, 20e-3}, {0.1, 2.0});  // gains its speed in 2.5 mm
  EXPECT_TRUE(sweep.steady());
  EXPECT_DOUBLE_EQ(sweep.distance(), 30e-3);
  EXPECT_NEAR(sweep.duration(), 2 * 0.1 / 2.0 + (30e-3 - 5e-3) / 0.1, 1e-14);
  EXPECT_DOUBLE_EQ(sweep.speed_at(5e-3), 0.1);
  EXPECT_NEAR(sweep.speed_at(1e-3), std::sqrt(2 * 2.0 * 1e-3), 1e-15);
  EXPECT_NEAR(sweep.time_at(2.5e-3), 0.05, 1e-15);
  EXPECT_NEAR(sweep.slowness(10e-3, 1e-3), 10, 1e-12);
}

TEST(Sweep, WithAShortRunUpTheEndsAreSlow) {
  const Sweep sweep({1e-3, 20e-3}, {0.1, 2.0});
  EXPECT_FALSE(sweep.steady());
  EXPECT_LT(sweep.speed_at(1e-3), 0.1);
  EXPECT_DOUBLE_EQ(sweep.speed_at(11e-3), 0.1);
  EXPECT_DOUBLE_EQ(sweep.speed_at(1.3e-3), sweep.speed_at(22e-3 - 1.3e-3));
}

TEST(Sweep, MayNeverReachItsSpeed) {
  const Sweep sweep({0, 10e-3}, {10, 1.0});
  EXPECT_NEAR(sweep.speed_at(5e-3), std::sqrt(2 * 1.0 * 5e-3), 1e-15);
  EXPECT_NEAR(sweep.duration(), 2 * std::sqrt(10e-3), 1e-14);
  EXPECT_FALSE(sweep.steady());
}

// From rest the slowness is infinite at the point but its mean over a length is sqrt(2 / (a length)).
TEST(Sweep, SlownessIsFiniteFromRest) {
  const Sweep sweep({0, 10e-3}, {0.05, 1.0});
  EXPECT_NEAR(sweep.slowness(0, 20e-6), std::sqrt(2 / (1.0 * 20e-6)), 1e-9);
  EXPECT_NEAR(sweep.slowness(10e-3 - 20e-6, 20e-6), std::sqrt(2 / (1.0 * 20e-6)), 1e-6);
}

TEST(Sweep, OutsideItsWayTimeStands) {
  const Sweep sweep({1e-3, 20e-3}, {0.1, 2.0});
  EXPECT_EQ(sweep.time_at(-1), 0);
  EXPECT_EQ(sweep.time_at(1), sweep.duration());
  EXPECT_EQ(sweep.speed_at(-1), 0);
  EXPECT_EQ(sweep.speed_at(1), 0);
}

// From rest to 0.1 m/s at 1 m/s^2 and 50 m/s^3: 20 ms of rising acceleration, 80 ms at its limit, 20 ms of
// falling.
TEST(Sweep, WithAJerkLimitTakesLonger) {
  const Sweep sweep({8e-3, 20e-3}, {0.1, 1.0, 50});
  EXPECT_TRUE(sweep.steady());  // gains its speed in 6 mm
  EXPECT_NEAR(sweep.duration(), 2 * 0.12 + (36e-3 - 2 * 6e-3) / 0.1, 1e-14);
  EXPECT_NEAR(sweep.time_at(6e-3), 0.12, 1e-14);
  EXPECT_NEAR(sweep.speed_at(50 * 8e-6 / 6), 50 * 4e-4 / 2, 1e-15);  // after 20 ms
  EXPECT_DOUBLE_EQ(sweep.speed_at(18e-3), 0.1);
  EXPECT_FALSE(Sweep({5.9e-3, 20e-3}, {0.1, 1.0, 50}).steady());
  EXPECT_TRUE(Sweep({5.9e-3, 20e-3}, {0.1, 1.0}).steady());
  // Too short for its speed, and for its acceleration: four equal pieces of constant jerk, a way of 2 j t^3.
  const Sweep little({0, 0.1e-3}, {0.1, 1.0, 50});
  EXPECT_NEAR(little.duration(), 4 * std::cbrt(0.1e-3 / (2 * 50)), 1e-14);
  EXPECT_FALSE(little.steady());
}

RC_GTEST_PROP(Sweep, WayAndTimeAreEachOthersInverse, ()) {
  const double jerk = *rc::gen::inRange(0, 500) * 0.1, run_up = *rc::gen::inRange(0, 100) * 1e-4;
  const Sweep sweep({run_up, *rc::gen::inRange(1, 1000) * 1e-4},
                    {*rc::gen::inRange(1, 500) * 1e-3, 1.5, jerk > 0 ? jerk : NAN});
  const double way = sweep.distance() * *rc::gen::inRange(0, 101) / 100, time = sweep.time_at(way);
  RC_ASSERT(std::abs(sweep.distance_at(time) - way) < 1e-13 * sweep.distance());
  const double dt = 1e-6 * sweep.duration();
  if (time > dt && time < sweep.duration() - dt)
    RC_ASSERT(std::abs((sweep.distance_at(time + dt) - sweep.distance_at(time - dt)) / (2 * dt) -
                       sweep.speed_at(way)) < 1e-5 * sweep.speed_at(sweep.distance() / 2));
  RC_ASSERT(sweep.distance_at(-1) == 0 && sweep.distance_at(2 * sweep.duration()) == sweep.distance());
}

RC_GTEST_PROP(Sweep, TimeIsTheIntegralOfOneOverSpeed, ()) {
  const double speed = *rc::gen::inRange(1, 2000) * 1e-3, acceleration = *rc::gen::inRange(1, 5000) * 1e-2;
  const double run_up = *rc::gen::inRange(0, 100) * 1e-4, length = *rc::gen::inRange(1, 1000) * 1e-4;
  const double jerk = *rc::gen::element(quantity::kUnset, 1.0, 10.0, 300.0);
  const Sweep sweep({run_up, length}, {speed, acceleration, jerk});
  const double from = sweep.distance() * 0.013, to = sweep.distance() * 0.871;
  double time = 0;
  constexpr int n = 20000;
  for (int i = 0; i < n; ++i) time += (to - from) / n / sweep.speed_at(from + (i + 0.5) * (to - from) / n);
  RC_ASSERT(std::abs(sweep.time_at(to) - sweep.time_at(from) - time) < 1e-5 * time);
  RC_ASSERT(std::abs(sweep.slowness(from, to - from) * (to - from) - time) < 1e-5 * time);
  RC_ASSERT(std::abs(sweep.time_at(from) + sweep.time_at(sweep.distance() - from) - sweep.duration()) <
            1e-9 * time);
}

}  // namespace
}  // namespace circumfluence::motion
