// Truth: counting lines, and adding up the times of sweeps, steps across (2 sqrt(h/a), from rest to rest) and
// returns.
#include "motion/raster.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

Scan scan() {
  return {.power = 5, .speed = 0.1, .spacing = 0.1e-3, .run_up = 5e-3, .acceleration = 2.0};
}

constexpr artwork::Extent kArt{10e-3, 30e-3, -2e-3, 3e-3};

TEST(Raster, LaysLinesAlongTheAxisSymmetricallyOverTheArt) {
  const Raster raster = plan(scan(), kArt);
  EXPECT_EQ(raster.lines, 50);
  EXPECT_DOUBLE_EQ(raster.along_from, 10e-3);
  EXPECT_DOUBLE_EQ(raster.along_to, 30e-3);
  EXPECT_NEAR(raster.cross(0), -2e-3 + 0.05e-3, 1e-15);
  EXPECT_NEAR(raster.cross(49), 3e-3 - 0.05e-3, 1e-15);
  EXPECT_FALSE(raster.backward(0));
  EXPECT_TRUE(raster.backward(1));
}

TEST(Raster, LaysLinesAroundThePart) {
  Scan around = scan();
  around.direction = Direction::around;
  const Raster raster = plan(around, kArt);
  EXPECT_EQ(raster.lines, 200);
  EXPECT_DOUBLE_EQ(raster.along_from, -2e-3);
  EXPECT_NEAR(raster.cross(0), 10.05e-3, 1e-15);
}

TEST(Raster, ArtNarrowerThanASpacingGetsOneLineInItsMiddle) {
  Scan wide = scan();
  wide.spacing = 8e-3;
  const Raster raster = plan(wide, kArt);
  EXPECT_EQ(raster.lines, 1);
  EXPECT_NEAR(raster.cross(0), 0.5e-3, 1e-15);
}

TEST(Raster, TwoWayTimeIsSweepsAndSteps) {
  Scan s = scan();
  s.passes = 3;
  const Raster raster = plan(s, kArt);
  const double sweep = 2 * 0.1 / 2 + (30e-3 - 5e-3) / 0.1, step = 2 * std::sqrt(0.1e-3 / 2);
  EXPECT_NEAR(raster.turn_round, step, 1e-14);
  EXPECT_NEAR(raster.duration, 150 * sweep + 149 * step, 1e-11);
  EXPECT_NEAR(raster.start(7, 2), 107 * (sweep + step), 1e-11);
}

TEST(Raster, OneWayTimeHasTheWayBack) {
  Scan s = scan();
  s.two_way = false;
  const double sweep = 2 * 0.1 / 2 + (30e-3 - 5e-3) / 0.1;
  EXPECT_NEAR(plan(s, kArt).duration, 50 * sweep + 49 * sweep, 1e-11);
  EXPECT_FALSE(plan(s, kArt).backward(1));
  s.travel_speed = 0.2;  // 30 mm with 10 mm of ramp at either end
  EXPECT_NEAR(plan(s, kArt).turn_round, 2 * 0.2 / 2 + (30e-3 - 20e-3) / 0.2, 1e-12);
}

TEST(Raster, SlownessIsOfTheFedArtAndHoldsItsEnds) {
  Scan s = scan();
  s.run_up = 1e-3;  // 2.5 mm are needed
  const Raster raster = plan(s, kArt);
  EXPECT_NEAR(raster.slowness(20e-3, 1e-5), 10, 1e-9);
  EXPECT_NEAR(raster.slowness(10e-3, 1e-8), 1 / std::sqrt(2 * 2.0 * 1e-3), 1e-3);
  EXPECT_DOUBLE_EQ(raster.slowness(9e-3, 1e-5), raster.slowness(10e-3, 1e-5));
  EXPECT_DOUBLE_EQ(raster.slowness(31e-3, 1e-5), raster.slowness(30e-3 - 1e-5, 1e-5));
}

TEST(Raster, RefusesTooManyLines) {
  Scan s = scan();
  s.spacing = 1e-12;
  EXPECT_THAT([&] { plan(s, kArt); },
              testing::ThrowsMessage<quantity::JobError>(testing::HasSubstr("scan.spacing")));
}

RC_GTEST_PROP(Raster, LinesStayWithinTheArt, ()) {
  Scan s = scan();
  s.spacing = *rc::gen::inRange(10, 3000) * 1e-6;
  const double from = *rc::gen::inRange(-50, 50) * 1e-4, size = *rc::gen::inRange(1, 300) * 1e-4;
  const Raster raster = plan(s, {10e-3, 30e-3, from, from + size});
  RC_ASSERT(raster.lines == 1 || raster.cross(0) - raster.spacing / 2 >= from - 1e-8);
  RC_ASSERT(raster.lines == 1 || raster.cross(raster.lines - 1) + raster.spacing / 2 <= from + size + 1e-8);
  RC_ASSERT((raster.lines + 1) * raster.spacing > size - 1e-8);
  RC_ASSERT(std::abs(raster.cross(0) + raster.cross(raster.lines - 1) - 2 * from - size) < 1e-12);
}

}  // namespace
}  // namespace circumfluence::motion
