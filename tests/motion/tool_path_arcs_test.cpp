// Truth: circles in closed form; what an arc's words mean and which make none: RS-274/NGC, NIST IR 6556
// (Kramer, Proctor, Messina 2000), from memory.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "motion/tool_path.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using std::numbers::pi;
using testing::HasSubstr;

PathFile how() {
  PathFile file;
  file.axial = 0;
  file.full_power_word = 1000;
  return file;
}

Move last(const std::string& text) {
  Move out;
  parse_path(text, "p.nc", how(), [&](const Move& move) {
    out = move;
    return true;
  });
  return out;
}

std::string problem(const std::string& text) {
  try {
    last(text);
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "no error";
}

double apart(const PathPoint& a, const PathPoint& b) {
  return std::hypot(a.axial - b.axial, a.around - b.around, a.height - b.height);
}

void expect_arc(const Move& move, double axial, double around, double angle) {
  EXPECT_NEAR(move.arc.axial, axial, 1e-12);
  EXPECT_NEAR(move.arc.around, around, 1e-12);
  EXPECT_NEAR(move.arc.angle, angle, 1e-9);
}

TEST(ToolPathArcs, TurnClockwiseAfterG2AndTheOtherWayAfterG3) {
  expect_arc(last("G2 X1 Y1 I1 F10"), 1e-3, 0, -pi / 2);
  expect_arc(last("G3 X1 Y1 I1 F10"), 1e-3, 0, 3 * pi / 2);
  expect_arc(last("G3 X1 Y1 J1 F10"), 0, 1e-3, pi / 2);
  expect_arc(last("G2 X1 Y1 J1 F10"), 0, 1e-3, -3 * pi / 2);
}

TEST(ToolPathArcs, CentresAreFromTheStartOrFromTheZero) {
  expect_arc(last("G0 X5 Y5\nG3 X6 Y6 J1 F10"), 5e-3, 6e-3, pi / 2);
  expect_arc(last("G90.1 G0 X5 Y5\nG3 X6 Y6 I5 J6 F10"), 5e-3, 6e-3, pi / 2);
  expect_arc(last("G90.1\nG91.1 G0 X5 Y5\nG3 X6 Y6 J1 F10"), 5e-3, 6e-3, pi / 2);
  EXPECT_THAT(problem("G90.1 G3 X1 Y1 J1 F10"), HasSubstr("without both I and J"));
}

TEST(ToolPathArcs, RadiiMeanTheShortWayAndNegativeOnesTheLongWay) {
  expect_arc(last("G3 X1 Y1 R1 F10"), 0, 1e-3, pi / 2);
  expect_arc(last("G2 X1 Y1 R1 F10"), 1e-3, 0, -pi / 2);
  expect_arc(last("G3 X1 Y1 R-1 F10"), 1e-3, 0, 3 * pi / 2);
  expect_arc(last("G2 X1 Y1 R-1 F10"), 0, 1e-3, -3 * pi / 2);
  expect_arc(last("G3 X2 R1 F10"), 1e-3, 0, pi);
  expect_arc(last("G2 X2 R1 F10"), 1e-3, 0, -pi);
  expect_arc(last("G2 X2 R0.998 F10"), 1e-3, 0,
             -pi);  // short of half the chord by less than rounding may cost
}

TEST(ToolPathArcs, BackToTheStartIsAFullTurnAndPAsksForMore) {
  const Move circle = last("G0 X2\nG2 X2 I-2 F10");
  expect_arc(circle, 0, 0, -2 * pi);
  EXPECT_NEAR(circle.length(), 2 * pi * 2e-3, 1e-15);
  expect_arc(last("G0 X2\nG2 I-2 F10"), 0, 0, -2 * pi);
  expect_arc(last("G0 X2\nG3 I-2 P3 F10"), 0, 0, 6 * pi);
  expect_arc(last("G3 X1 Y1 J1 P2 F10"), 0, 1e-3, pi / 2 + 2 * pi);
  const Move helix = last("G0 X2\nG3 I-2 Z5 P2 F10");
  EXPECT_NEAR(helix.length(), std::hypot(8 * pi, 5) * 1e-3, 1e-15);
  EXPECT_NEAR(helix.at(0.25).height, 1.25e-3, 1e-15);
  EXPECT_NEAR(helix.at(0.25).axial, -2e-3, 1e-15);
}

TEST(ToolPathArcs, WhatMakesNoArcIsRefused) {
  EXPECT_THAT(problem("G2 X1 F10"), HasSubstr("p.nc:1:1: G2 (an arc without a centre"));
  EXPECT_THAT(problem("G2 X2 I1 F10\nX3"), HasSubstr("p.nc:2:1: X = 3 (an arc without a centre"));
  EXPECT_THAT(problem("G2 X1 I1 R1 F10"), HasSubstr("p.nc:1:10: R = 1 (beside I or J"));
  EXPECT_THAT(problem("G2 X1 I0 J0 F10"), HasSubstr("p.nc:1:7: I = 0 (an arc of radius 0"));
  EXPECT_THAT(problem("G2 X1 R0 F10"), HasSubstr("p.nc:1:7: R = 0 (expected a radius above 0"));
  EXPECT_THAT(problem("G2 X10 R4.9 F10"), HasSubstr("p.nc:1:8: R = 4.9 (too small: the ends are 10 apart"));
  EXPECT_THAT(problem("G2 X0 R1 F10"), HasSubstr("back to where it starts"));
  EXPECT_THAT(problem("G2 X3 I1 F10"), HasSubstr("starts 1 from its centre and ends 2 from it"));
  EXPECT_THAT(problem("G20 G2 X3 I1 F10"), HasSubstr("starts 1 from its centre and ends 2 from it"));
  EXPECT_THAT(problem("G2 X2 I1 P0 F10"), HasSubstr("P = 0 (turns of an arc"));
  EXPECT_THAT(problem("G2 X2 I1 P1.5 F10"), HasSubstr("P = 1.5 (turns of an arc"));
  EXPECT_THAT(problem("G2 X2 I1 K1 F10"), HasSubstr("p.nc:1:10: K = 1 (moves an arc's centre out"));
  EXPECT_EQ(problem("G2 X2 I1 K0 F10"), "no error");
  EXPECT_THAT(problem("G1 X2 K0 F10"), HasSubstr("p.nc:1:7: K = 0 (of an arc"));
  EXPECT_THAT(problem("G2 X2 I1"), HasSubstr("without a feed rate"));
}

TEST(ToolPathArcs, RoundedWordsAreBorneAndTheEndIsWhereTheWordsSay) {
  const Move move = last("G3 X1.004 Y1 J1 F10");
  EXPECT_DOUBLE_EQ(move.at(1).axial, 1.004e-3);
  EXPECT_NEAR(std::hypot(move.at(0.5).axial, move.at(0.5).around - 1e-3), 1.002e-3, 1e-9);
  EXPECT_THAT(problem("G3 X1.006 Y1 J1 F10"), HasSubstr("expected the same within 0.005"));
}

RC_GTEST_PROP(ToolPathArcs, BothFormsOfAnArcAreOneAndItsLengthIsThatOfFineChords, ()) {
  const double radius = *rc::gen::inRange(100, 50000) * 1e-3, begin = *rc::gen::inRange(0, 628) * 1e-2;
  const double angle = (*rc::gen::inRange(5, 620)) * 1e-2;
  const bool left = *rc::gen::arbitrary<bool>();
  const double end = left ? begin + angle : begin - angle;
  RC_PRE(std::abs(angle - pi) > 0.02);
  const double x = radius * std::cos(begin), y = radius * std::sin(begin);
  const std::string from = fmt::format("G0 X{:.12f} Y{:.12f}\nG{} X{:.12f} Y{:.12f} F10 ", x, y, left ? 3 : 2,
                                       radius * std::cos(end), radius * std::sin(end));
  const Move centre = last(from + fmt::format("I{:.12f} J{:.12f}", -x, -y));
  const Move by_radius = last(from + fmt::format("R{:.12f}", angle < pi ? radius : -radius));
  RC_ASSERT(std::abs(centre.arc.angle - (left ? angle : -angle)) < 1e-9);
  RC_ASSERT(std::abs(by_radius.arc.angle - centre.arc.angle) < 1e-6);
  RC_ASSERT(apart(centre.at(0.37), by_radius.at(0.37)) < 1e-9);
  double sum = 0;
  for (int i = 0; i < 4000; ++i) sum += apart(centre.at(i / 4000.0), centre.at((i + 1) / 4000.0));
  RC_ASSERT(std::abs(sum / centre.length() - 1) < 1e-6);
}

RC_GTEST_PROP(ToolPathArcs, ChordsHangTogetherEndExactlyAndStayWithinTheTolerance, ()) {
  Move move{.from = {1e-3 * *rc::gen::inRange(1, 100), 0, 0}, .to = {0, 0, 1e-3}};
  move.arc.angle = 1e-2 * *rc::gen::inRange(-1500, 1500);
  RC_PRE(move.arc.angle != 0);
  const double radius = move.from.axial;
  move.to.axial = radius * std::cos(move.arc.angle);
  move.to.around = radius * std::sin(move.arc.angle);
  const double tolerance = *rc::gen::element(1e-7, 1e-6, 1e-5, 1e-4);
  PathPoint at = move.from;
  int pieces = 0;
  double worst = 0;
  chords(move, tolerance, [&](const PathPoint& from, const PathPoint& to) {
    RC_ASSERT(apart(from, at) == 0);
    worst = std::max(worst, radius - std::hypot((from.axial + to.axial) / 2, (from.around + to.around) / 2));
    at = to;
    ++pieces;
  });
  RC_ASSERT(apart(at, move.to) == 0);
  RC_ASSERT(worst <= tolerance * 1.0001);
  RC_ASSERT(pieces == 1 || worst > tolerance / 4.5);  // and no more pieces than needed
}

TEST(ToolPathArcs, AStraightMoveIsOnePieceAndNoArcIsCutIntoMoreThanAMillion) {
  int pieces = 0;
  const auto count = [&](const PathPoint&, const PathPoint&) { ++pieces; };
  chords(last("G1 X3 Y4 F10"), 1e-6, count);
  EXPECT_EQ(pieces, 1);
  EXPECT_DOUBLE_EQ(last("G1 X3 Y4 F10").length(), 5e-3);
  for (const double tolerance : {0.0, -1.0, 1e-30, std::nan("")}) {
    pieces = 0;
    chords(last("G2 I5000 F10"), tolerance, count);
    EXPECT_EQ(pieces, kMostChords) << tolerance;
  }
}

}  // namespace
}  // namespace circumfluence::motion
