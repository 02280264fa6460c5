// Truth: RS-274/NGC, NIST IR 6556 (Kramer, Proctor, Messina 2000), from memory: what words leave in effect,
// what F is in G93 and G94; distances, feeds and powers by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "motion/tool_path.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

constexpr double kTurn = std::numbers::pi * 70e-3;  // [m] a turn of the driven diameter

PathFile how() {
  PathFile file;
  file.axial = 0.1;
  file.around = 0.02;
  file.full_power_word = 1000;
  return file;
}

PathFile by_degrees() {
  PathFile file = how();
  file.turn = AxisWord::a;
  file.driven_diameter = 70e-3;
  return file;
}

std::vector<Move> moves(std::string_view text, const PathFile& file = how()) {
  std::vector<Move> out;
  parse_path(text, "p.nc", file, [&](const Move& move) {
    out.push_back(move);
    return true;
  });
  return out;
}

TEST(ToolPathModes, CoordinatesAreFromThePathsZeroWhereTheJobPutsIt) {
  const auto m = moves("G0 X10 Y-5 Z2\n");
  ASSERT_EQ(m.size(), 1u);
  EXPECT_DOUBLE_EQ(m[0].from.axial, 0.1);
  EXPECT_DOUBLE_EQ(m[0].from.around, 0.02);
  EXPECT_DOUBLE_EQ(m[0].to.axial, 0.11);
  EXPECT_DOUBLE_EQ(m[0].to.around, 0.015);
  EXPECT_DOUBLE_EQ(m[0].to.height, 2e-3);
  EXPECT_EQ(m[0].kind, Move::Kind::rapid);
  EXPECT_EQ(m[0].speed, 0);
}

TEST(ToolPathModes, InchesCountForEveryLengthOfTheLineAndTheFeedKeepsItsSpeed) {
  const auto m = moves("G1 X25.4 F2540\nG20 X2\nG1 X3 F10\nG21 X10\n");
  ASSERT_EQ(m.size(), 4u);
  EXPECT_NEAR(m[1].to.axial, 0.1 + 0.0508, 1e-15);
  EXPECT_NEAR(m[1].speed, 2.54 / 60, 1e-15);  // F was in millimetres
  EXPECT_NEAR(m[2].speed, 0.254 / 60, 1e-15);
  EXPECT_NEAR(m[3].to.axial, 0.11, 1e-15);
}

TEST(ToolPathModes, RelativeWordsAddUpAndAbsoluteOnesDoNot) {
  const auto m = moves("G91 G0 X1\nX1 Y2\nY-1\nG90 X1\n");
  ASSERT_EQ(m.size(), 4u);
  EXPECT_NEAR(m[1].to.axial, 0.102, 1e-15);
  EXPECT_NEAR(m[2].to.around, 0.021, 1e-15);
  EXPECT_NEAR(m[3].to.axial, 0.101, 1e-15);
}

TEST(ToolPathModes, InverseTimeGivesTheMoveItsDurationAndEndsWithG94) {
  const auto m = moves("G93 G1 X30 Y40 F6\nX0 Y0 F60\nG94 X3 F600\n");
  ASSERT_EQ(m.size(), 3u);
  EXPECT_NEAR(m[0].length() / m[0].speed, 10, 1e-12);  // 1/6 min
  EXPECT_NEAR(m[1].length() / m[1].speed, 1, 1e-12);
  EXPECT_NEAR(m[2].speed, 0.01, 1e-15);
  EXPECT_THAT([] { moves("G1 X1 F100\nG93\nG94\nX2\n"); },
              ThrowsMessage<quantity::JobError>(HasSubstr("p.nc:4:1: X = 2 (a feed without a feed rate")));
}

TEST(ToolPathModes, TheWordsOfTheAxesCanBeExchanged) {
  PathFile file = how();
  file.along = AxisWord::y;
  file.turn = AxisWord::x;
  const auto m = moves("G0 X1 Y2\nG3 X2 Y3 J1 F10\n", file);
  ASSERT_EQ(m.size(), 2u);
  EXPECT_DOUBLE_EQ(m[0].to.axial, 0.102);
  EXPECT_DOUBLE_EQ(m[0].to.around, 0.021);
  // About X1 Y3 from below, anticlockwise as X, Y are seen: from the axis' side, clockwise.
  EXPECT_NEAR(m[1].arc.axial, 0.103, 1e-15);
  EXPECT_NEAR(m[1].arc.around, 0.021, 1e-15);
  EXPECT_NEAR(m[1].arc.angle, -std::numbers::pi / 2, 1e-12);
}

TEST(ToolPathModes, DegreesAreArcsAtTheDrivenDiameterWhateverTheUnits) {
  for (const char* units : {"G21 ", "G20 "}) {
    const auto m = moves(std::string(units) + "G0 A360\n", by_degrees());
    ASSERT_EQ(m.size(), 1u);
    EXPECT_NEAR(m[0].to.around, 0.02 + kTurn, 1e-15);
  }
}

TEST(ToolPathModes, FeedIsAlongTheStraightAxesAndInDegreesWhereOnlyThePartTurns) {
  const auto m = moves("G1 A90 F180\nX30 Z40 A180 F3000\nX30 A270 F7\n", by_degrees());
  ASSERT_EQ(m.size(), 3u);
  EXPECT_NEAR(m[0].length() / m[0].speed, 30, 1e-11);  // 90 degrees at 180 a minute
  EXPECT_NEAR(m[1].length() / m[1].speed, 1, 1e-12);   // 50 mm at 3000 mm/min
  EXPECT_NEAR(m[2].length() / m[2].speed, 90.0 / 7 * 60, 1e-9);
}

TEST(ToolPathModes, DegreesNeedTheDrivenDiameterAndHaveNoArcs) {
  PathFile file = by_degrees();
  EXPECT_THAT([&] { moves("G2 X1 I1 F10", file); },
              ThrowsMessage<quantity::JobError>(HasSubstr("p.nc:1:1: G2 (an arc, while")));
  file.driven_diameter = quantity::kUnset;
  EXPECT_THAT([&] { moves("G0 A1", file); }, ThrowsMessage<quantity::JobError>(HasSubstr("drive_diameter")));
}

TEST(ToolPathModes, AnAxisWithoutAUseMayBePlacedOnceAndNotMoved) {
  EXPECT_EQ(moves("G0 X1 Y12.5\nG0 X2 Y12.5\nG0 Y12.5\n", by_degrees()).size(), 2u);
  EXPECT_THAT([] { moves("G0 X1 Y12.5\nG1 Y13 F10\n", by_degrees()); },
              ThrowsMessage<quantity::JobError>(
                  HasSubstr("p.nc:2:4: Y = 13 (moves an axis that neither path.along = x")));
  EXPECT_THAT([] { moves("G91 G0 Y1\n", by_degrees()); },
              ThrowsMessage<quantity::JobError>(HasSubstr("p.nc:1:8: Y = 1")));
}

TEST(ToolPathModes, TheBeamIsWhatM3M4M5AndSLeftInEffect) {
  const auto m = moves("G1 X1 F10 S500\nM3 X2\nX3 S250\nM4 X4\nM5 X5\nM3\nX6 S2500\nX7 S0\n");
  ASSERT_EQ(m.size(), 7u);
  const float powers[] = {0, 0.5f, 0.25f, 0.25f, 0, 2.5f, 0};
  const bool follows[] = {false, false, false, true, false, false, false};
  for (size_t i = 0; i < m.size(); ++i) {
    EXPECT_FLOAT_EQ(m[i].power, powers[i]) << i;
    EXPECT_EQ(m[i].follows_speed, follows[i]) << i;
  }
}

TEST(ToolPathModes, WhichOfM3AndM4FollowsTheSpeedIsTheControllers) {
  PathFile file = how();
  file.m3_follows_speed = true;
  file.m4_follows_speed = false;
  const auto m = moves("M3 S9 G1 X1 F10\nM4 X2\n", file);
  EXPECT_TRUE(m[0].follows_speed);
  EXPECT_FALSE(m[1].follows_speed);
}

TEST(ToolPathModes, RapidsAreDarkOrNotAsTheControllerIsSet) {
  PathFile file = how();
  auto m = moves("M3 S500 G0 X1\nG1 X2 F10\nM5 G0 X3\n", file);
  EXPECT_EQ(m[0].power, 0);
  EXPECT_TRUE(m[0].darkened);
  EXPECT_FALSE(m[1].darkened);
  EXPECT_FALSE(m[2].darkened);
  file.rapids_dark = false;
  m = moves("M3 S500 G0 X1\n", file);
  EXPECT_FLOAT_EQ(m[0].power, 0.5f);
  EXPECT_FALSE(m[0].darkened);
}

TEST(ToolPathModes, RapidsGoAsFastAsTheJobSaysOrAsTheAxesCan) {
  PathFile file = how();
  EXPECT_EQ(moves("G0 X10\n", file)[0].speed, 0);
  file.rapid_speed = 0.05;
  EXPECT_EQ(moves("G0 X10\n", file)[0].speed, 0.05);
  EXPECT_NEAR(moves("G21 G1 X10 F600\n", file)[0].speed, 0.01, 1e-12);
}

TEST(ToolPathModes, ADwellStandsBeforeTheMoveOfItsLineWithTheBeamAsItIs) {
  const auto m = moves("G0 X1\nM3 S100 G4 P0.25\nG4 P1 G1 X2 F10\n");
  ASSERT_EQ(m.size(), 4u);
  EXPECT_EQ(m[1].kind, Move::Kind::dwell);
  EXPECT_DOUBLE_EQ(m[1].pause, 0.25);
  EXPECT_FLOAT_EQ(m[1].power, 0.1f);
  EXPECT_EQ(m[1].length(), 0);
  EXPECT_EQ(m[2].kind, Move::Kind::dwell);
  EXPECT_EQ(m[3].kind, Move::Kind::feed);
}

TEST(ToolPathModes, WhatIsLeftOnAtTheEndIsNoted) {
  const auto left_on = [](std::string_view text) {
    return parse_path(text, "p.nc", how(), [](const Move&) { return true; }).beam_on;
  };
  EXPECT_EQ(left_on("G0 X1\nM3 S10\nG0 X2\nM2\n"), 2);
  EXPECT_EQ(left_on("M3 S10\nM5\n"), 0);
  EXPECT_EQ(left_on("M3 S10\nS0\n"), 0);
}

TEST(ToolPathModes, ThePathKeepsToItsSections) {
  PathFile file = how();
  file.turn = AxisWord::x;
  EXPECT_THAT([&] { moves("", file); }, ThrowsMessage<quantity::JobError>(HasSubstr("path.along = X")));
  file = how();
  file.full_power_word = quantity::kUnset;
  EXPECT_THAT([&] { moves("", file); },
              ThrowsMessage<quantity::JobError>(HasSubstr("path.full_power_word is missing")));
  for (const auto& field : path_fields()) EXPECT_NE(*field.help, '\0') << field.key;
}

TEST(ToolPathModes, TakingNoMoreEndsTheReading) {
  int taken = 0;
  const PathNotes n =
      parse_path("G0 X1\nX2\nX3\n(((", "p.nc", how(), [&](const Move&) { return ++taken < 2; });
  EXPECT_EQ(taken, 2);
  EXPECT_EQ(n.moves, 2);
}

}  // namespace
}  // namespace circumfluence::motion
