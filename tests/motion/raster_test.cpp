// Truth: counting lines, and adding up the times of sweeps, steps across (2 sqrt(h/a), from rest to rest) and
// returns; under a jerk limit from pieces of constant jerk by hand.
#include "motion/raster.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <vector>

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

TEST(Raster, PauseLengthensEveryTurnRound) {
  Scan s = scan();
  s.pause = 2.5;
  EXPECT_NEAR(plan(s, kArt).duration, plan(scan(), kArt).duration + 49 * 2.5, 1e-10);
  EXPECT_NEAR(plan(s, kArt).start(10, 0), plan(scan(), kArt).start(10, 0) + 10 * 2.5, 1e-10);
}

TEST(Raster, JerkLengthensSweepsAndSteps) {
  Scan s = scan();
  s.jerk = 100;
  const double sweep = 2 * (0.1 / 2 + 2.0 / 100) + (30e-3 - 2 * 0.05 * (0.1 / 2 + 2.0 / 100)) / 0.1;
  const double step =
      4 * std::cbrt(0.1e-3 / (2 * 100));  // of constant jerk four times, as it never gets to 2 m/s^2
  EXPECT_NEAR(plan(s, kArt).turn_round, step, 1e-13);
  EXPECT_NEAR(plan(s, kArt).duration, 50 * sweep + 49 * step, 1e-11);
  s.two_way = false;
  EXPECT_NEAR(plan(s, kArt).turn_round, sweep, 1e-12);
}

// The head stepped through the whole job line by line.
RC_GTEST_PROP(Raster, KnowsWhereItIsAtAnyMoment, ()) {
  Scan s = scan();
  s.spacing = 0.35e-3, s.passes = 2, s.pause = 0.1, s.interleave = *rc::gen::inRange(1, 5);
  s.two_way = *rc::gen::arbitrary<bool>();
  s.jerk = *rc::gen::element(quantity::kUnset, 80.0);
  if (s.interleave == 1) s.first_line = *rc::gen::inRange(0, 5);
  const Raster raster = plan(s, kArt);
  const int line = *rc::gen::inRange(0, raster.lines), pass = *rc::gen::inRange(0, 2);
  const double way = *rc::gen::inRange(1, 100) * 1e-2 * raster.sweep.distance();
  const Moment now = moment(raster, raster.start(line, pass) + raster.sweep.time_at(way));
  RC_ASSERT(now.line == line && now.pass == pass);
  RC_ASSERT(std::abs(now.along - (raster.backward(line) ? 35e-3 - way : 5e-3 + way)) < 1e-9);
  RC_ASSERT(std::abs(now.left + raster.start(line, pass) + raster.sweep.time_at(way) - raster.duration) <
            1e-9);
  RC_ASSERT(raster.line_of_turn(raster.turn(line)) == line);
  const Moment rest =
      moment(raster, raster.start(line, pass) + raster.sweep.duration() + 0.05);  // in the pause
  RC_ASSERT(rest.line == line && std::abs(rest.along - (raster.backward(line) ? 5e-3 : 35e-3)) < 1e-12);
}

TEST(Raster, BeforeAndAfterItsTimeItIsAtItsEnds) {
  const Raster raster = plan(scan(), kArt);
  EXPECT_EQ(moment(raster, -3).line, 0);
  EXPECT_EQ(moment(raster, -3).left, raster.duration);
  EXPECT_EQ(moment(raster, 1e9).line, 49);
  EXPECT_EQ(moment(raster, 1e9).left, 0);
  EXPECT_DOUBLE_EQ(moment(raster, 1e9).along, 5e-3);  // the last of 50 runs backwards
}

TEST(Raster, LinesLeftOutLeaveTheOthersWhereTheyWere) {
  Scan s = scan();
  const Raster all = plan(s, kArt);
  s.first_line = 17;
  const Raster rest = plan(s, kArt);
  EXPECT_EQ(rest.lines, 33);
  for (int line = 0; line < rest.lines; ++line) {
    EXPECT_NEAR(rest.cross(line), all.cross(17 + line), 1e-15);
    EXPECT_EQ(rest.backward(line), all.backward(17 + line));
  }
  EXPECT_NEAR(rest.duration, all.duration - all.start(17, 0), 1e-11);
  s.first_line = 50;
  EXPECT_THAT([&] { plan(s, kArt); },
              testing::ThrowsMessage<quantity::JobError>(
                  testing::HasSubstr("scan.first_line = 50 (the art has 50 lines; expected at most 49)")));
  s.first_line = 1, s.interleave = 2;
  EXPECT_THAT([&] { plan(s, kArt); }, testing::ThrowsMessage<quantity::JobError>(testing::HasSubstr(
                                          "scan.first_line = 1 (lines are burnt in 2 rounds")));
}

RC_GTEST_PROP(Raster, InterleavingTakesEveryLineOnceInRounds, ()) {
  Scan s = scan();
  s.interleave = *rc::gen::inRange(1, 80);
  const Raster raster = plan(s, kArt);
  std::vector<int> line_of_turn(size_t(raster.lines), -1);
  for (int line = 0; line < raster.lines; ++line) {
    const int turn = raster.turn(line);
    RC_ASSERT(turn >= 0 && turn < raster.lines);
    RC_ASSERT(line_of_turn[size_t(turn)] == -1);
    line_of_turn[size_t(turn)] = line;
  }
  for (size_t turn = 1; turn < line_of_turn.size(); ++turn) {  // within a round the next line is n further on
    const int step = line_of_turn[turn] - line_of_turn[turn - 1];
    RC_ASSERT(step == raster.interleave || line_of_turn[turn] < raster.interleave);
  }
  RC_ASSERT(raster.backward(line_of_turn[1]) && !raster.backward(line_of_turn[0]));
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
