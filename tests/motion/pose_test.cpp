// Truth: rotating the point (r sin, r cos) about the turning axis by a matrix.
#include "motion/mount.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace circumfluence::motion {
namespace {

struct Point {
  double lateral, height;
};

// A point of the part: its axis stands off the turning axis toward runout_phase; the part turns so that
// growing azimuth comes to the top.
Point turned(const Mount& mount, double radius, double azimuth, double rotation) {
  const double x = mount.runout * std::sin(mount.runout_phase) + radius * std::sin(azimuth);
  const double z = mount.runout * std::cos(mount.runout_phase) + radius * std::cos(azimuth);
  return {x * std::cos(rotation) - z * std::sin(rotation), x * std::sin(rotation) + z * std::cos(rotation)};
}

RC_GTEST_PROP(Pose, TurnsThePartAsARigidBody, ()) {
  const auto draw = [](int low, int high) { return *rc::gen::inRange(low, high) * 1e-3; };
  const Mount mount{.hold = Hold::turning,
                    .beam_offset = draw(-9, 9),
                    .runout = draw(0, 3),
                    .runout_phase = draw(-3000, 3000)};
  const double radius = draw(5, 40), reference = draw(5, 40), azimuth = draw(-3000, 3000),
               cross = draw(-90, 90);
  const Pose p = pose(mount, reference, cross);
  const Point point = turned(mount, radius, azimuth, cross / reference);
  RC_ASSERT(std::abs(p.distance(radius, azimuth) - (point.lateral - mount.beam_offset)) < 1e-12);
  RC_ASSERT(std::abs(radius * std::cos(azimuth - p.rotation) + p.lift - point.height) < 1e-12);
}

RC_GTEST_PROP(Pose, TheAzimuthUnderTheBeamIsUnderTheBeam, ()) {
  const auto draw = [](int low, int high) { return *rc::gen::inRange(low, high) * 1e-3; };
  const Mount mount{.hold = *rc::gen::element(Hold::turning, Hold::standing),
                    .beam_offset = draw(-4, 4),
                    .runout = draw(0, 3),
                    .runout_phase = draw(-3000, 3000)};
  const double radius = draw(5, 40);
  const Pose p = pose(mount, 20e-3, draw(-20, 20));
  const double azimuth = p.azimuth_under_beam(radius);
  if (std::abs(p.beam - p.aside) >= radius) {
    RC_ASSERT(std::isnan(azimuth));
  } else {
    RC_ASSERT(std::abs(p.distance(radius, azimuth)) < 1e-12);
    RC_ASSERT(std::cos(azimuth - p.rotation) >= 0);
  }
}

TEST(Pose, StandingMovesTheBeamAndTurningThePart) {
  const Mount standing{.hold = Hold::standing, .beam_offset = 1e-3};
  EXPECT_EQ(pose(standing, 0.02, 3e-3).rotation, 0);
  EXPECT_DOUBLE_EQ(pose(standing, 0.02, 3e-3).beam, 4e-3);
  const Mount turning{.hold = Hold::turning, .beam_offset = 1e-3};
  EXPECT_DOUBLE_EQ(pose(turning, 0.02, 3e-3).rotation, 0.15);
  EXPECT_DOUBLE_EQ(pose(turning, 0.02, 3e-3).beam, 1e-3);
}

TEST(Pose, RunoutLiftsItsPhaseMostWhenThatIsOnTop) {
  const Mount mount{.hold = Hold::turning, .runout = 0.2e-3, .runout_phase = 0.7};
  const Pose p = pose(mount, 0.02, 0.7 * 0.02);
  EXPECT_NEAR(p.lift, 0.2e-3, 1e-18);
  EXPECT_NEAR(p.aside, 0, 1e-18);
}

}  // namespace
}  // namespace circumfluence::motion
