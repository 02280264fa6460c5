// Truth: paths written here with one fault each, counted by hand; speeds by v^2/r.
#include "motion/path_check.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>

namespace circumfluence::motion {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using Kind = Finding::Kind;

struct Bench {
  PathFile file;
  PathSetting setting;

  Bench() {
    file.axial = 0;
    file.full_power_word = 1000;
    setting = {.length = 0.1, .turn = 0.2, .clear_width = 0.1e-3};
  }
  std::vector<Finding> check(const std::string& text) const {
    PathCheck check(setting);
    const PathNotes notes = parse_path(text, "p.nc", file, [&](const Move& move) {
      check.take(move);
      return true;
    });
    return check.finish(notes);
  }
  Finding only(const std::string& text) const {
    const auto found = check(text);
    EXPECT_EQ(found.size(), 1u) << text;
    for (const Finding& f : found) EXPECT_THAT(words(f), testing::EndsWith(".")) << name(f.kind);
    return found.empty() ? Finding{.kind = Kind::count} : found[0];
  }
};

// Lines along the axis, the part turning on by `spacing` [mm] between them.
std::string fill(int lines, double spacing, double first = 0) {
  std::string out = fmt::format("G1 F1000 S500\nG0 Y{}\n", first - 5);
  for (int i = 0; i < lines; ++i)
    out +=
        fmt::format("M5 G0 Y{:.4f} X{}\nM3 G1 X{}\n", first + i * spacing, i % 2 ? 20 : 10, i % 2 ? 10 : 20);
  return out + "M5\n";
}

TEST(PathCheck, AFillWithinThePartInOneTurningDirectionIsFaultless) {
  EXPECT_TRUE(Bench().check(fill(200, 0.08)).empty());
  EXPECT_TRUE(Bench().check("G0 X-5\nG1 X5 F100\nG0 Y1\nY-1\nG4 P1\nM2\n").empty());  // dark
}

TEST(PathCheck, BurningSoonAfterTurningBack) {
  const Finding f = Bench().only("G1 F100 X10\nM3 S9 Y5\nY4.5\nY3\nM5 G0 Y0\nY0.4\nM3 G1 Y0.5\nM5\nG0 X9\n");
  EXPECT_EQ(f.kind, Kind::reversal);
  EXPECT_EQ(f.count, 2);
  EXPECT_THAT(f.lines, ElementsAre(3, 7));
  EXPECT_EQ(f.worst, 0);
  EXPECT_EQ(f.worst_line, 3);
  EXPECT_EQ(words(f),
            "The part turns back and is burnt soon after, twice (lines 3, 7), 0 mm after it at the soonest "
            "(line 3): "
            "backlash and the slip of rollers displace what is burnt there; fill solid areas in one turning "
            "direction, "
            "coming back with the beam off and past the start.");
  EXPECT_TRUE(
      Bench().check("G1 F100 X10\nM3 S9 Y5\nM5 G0 Y-2\nY-0.9\nM3 G1 Y0.5\nM5\n").empty());  // 1.1 mm on
}

TEST(PathCheck, ABurntCircleTurnsBackTwiceALap) {
  const Finding f = Bench().only("G0 X20 Y10\nM3 S9 G3 I-5 F100 P2\nM5\n");
  EXPECT_EQ(f.kind, Kind::reversal);
  EXPECT_EQ(f.count, 4);
  EXPECT_THAT(f.lines, ElementsAre(2));
}

TEST(PathCheck, StandingPartsDoNotTurnBackNorOverlap) {
  Bench bench;
  bench.setting.turn = quantity::kUnset;
  EXPECT_TRUE(bench.check("G1 F100 X10\nM3 S9 Y5\nY-250\nM5\n").empty());
}

TEST(PathCheck, RapidsWithTheBeamOn) {
  Bench bench;
  bench.file.rapids_dark = false;
  const std::string text = "M3 S9 G0 X10\nG0 X30\nG0 X30\nM5 G0 X0\n";
  EXPECT_EQ(bench.only(text + "(standing by)\n").kind, Kind::lit_rapid);
  EXPECT_NEAR(bench.only(text).worst, 20e-3, 1e-12);
  EXPECT_EQ(bench.only(text).worst_line, 2);
  const Finding dark = Bench().only(text);
  EXPECT_EQ(dark.kind, Kind::dark_rapid);
  EXPECT_EQ(dark.count, 2);
}

TEST(PathCheck, StandingWithTheBeamOnWherePowerDoesNotFollowTheSpeed) {
  const Finding f = Bench().only("M3 S9 G4 P0.5\nG1 X0 F100\nG4 P2\nM5 G4 P9\nM4 G4 P9\nM5\n");
  EXPECT_EQ(f.kind, Kind::standing);
  EXPECT_EQ(f.count, 3);
  EXPECT_EQ(f.worst, 2);
  EXPECT_THAT(words(f), HasSubstr("3 times (lines 1, 2, 3), for up to 2 s (line 3)"));
}

TEST(PathCheck, BurningBeyondTheEnds) {
  const Finding f = Bench().only("G1 F100\nM3 S9 X99\nX102\nX50\nX-3\nX5\nM5 X-50\n");
  EXPECT_EQ(f.kind, Kind::off_the_part);
  EXPECT_EQ(f.count, 4);  // to 102 and back, to -3 and back
  EXPECT_NEAR(f.worst, 3e-3, 1e-12);
  const Finding arc = Bench().only("G0 X99 Y6\nM3 S9 G3 X99 Y10 J2 F100\nM5\n");
  EXPECT_EQ(arc.kind, Kind::off_the_part);
  EXPECT_NEAR(arc.worst, 1e-3, 1e-9);
}

// A part that stands, 20 mm to each side where it begins and 10 mm where it ends; the head moves across it.
TEST(PathCheck, BurningBesideAPartThatStands) {
  workpiece::Part part;
  part.shape = workpiece::Shape::tapered;
  part.length = 0.1, part.diameter = 40e-3, part.end_diameter = 20e-3;
  const workpiece::Profile taper(part);
  Bench bench;
  bench.setting.turn = quantity::kUnset;
  bench.setting.standing = &taper;
  EXPECT_TRUE(bench.check("G0 Y-19.9\nM3 S9 G1 Y19.9 F1000\nM5 G0 Y40\n").empty());
  const Finding f = bench.only("G0 X50 Y-14\nM3 S9 G1 Y14 F1000\nX70\nM5\n");  // 13 mm there
  EXPECT_EQ(f.kind, Kind::off_the_part);
  EXPECT_EQ(f.count, 1);
  EXPECT_NEAR(f.worst, 1e-3, 1e-12);
  bench.setting.beam_offset = -2e-3;
  EXPECT_NEAR(bench.only("G0 X50 Y-14\nM3 S9 G1 Y14 F1000\nM5\n").worst, 1e-3, 1e-12);
}

TEST(PathCheck, WhatMissesThePartBurnsNoPlaceTwice) {
  EXPECT_EQ(Bench().only("G0 X150\nM3 S9 G1 Y450 F1000\nM5\n").kind, Kind::off_the_part);
  EXPECT_EQ(Bench().check("G0 X99\nM3 S9 G1 Y450 F1000\nM5\n").at(0).kind, Kind::second_turn);
}

TEST(PathCheck, ArtOfMoreThanATurnFallsOnItself) {
  EXPECT_TRUE(Bench().check(fill(2500, 0.08, 0.05)).empty());  // 199.92 of 200 mm
  EXPECT_TRUE(Bench().check(fill(2500, 0.08, -130)).empty());
  const Finding f = Bench().only(fill(2600, 0.08, -130));
  EXPECT_EQ(f.kind, Kind::second_turn);
  EXPECT_NEAR(double(f.count), 100, 20);  // lines between the boxes of the first turn are missed
  EXPECT_NEAR(f.worst, 2599 * 0.08e-3, 1e-9);
}

TEST(PathCheck, TurningOnAndOnWhileMovingAlongIsNoOverlap) {
  std::string spiral = "M3 S9 G1 F1000\n";
  for (int i = 1; i < 500; ++i) spiral += fmt::format("X{:.4f} Y{:.4f}\n", i * 0.02, i * 50.0);
  EXPECT_TRUE(Bench().check(spiral + "M5\n").empty());
  std::string rings = "G1 F1000 S9\n";  // each a full turn, at the next place along the axis
  for (int i = 0; i < 30; ++i)
    rings += fmt::format("M5 G0 X{:.2f}\nM3 G1 Y{}\n", 10 + i * 0.08, 200 * (i + 1));
  EXPECT_TRUE(Bench().check(rings + "M5\n").empty());
  EXPECT_EQ(Bench().only(rings + "Y6210\nM5\n").kind,
            Kind::second_turn);  // goes on where the last ring began
}

TEST(PathCheck, FeedsBeyondTheAxes) {
  Bench bench;
  bench.setting.machine = {
      .axial_speed = 0.1, .around_speed = 0.02, .axial_acceleration = 1, .around_acceleration = 1};
  bench.setting.machine.corner_deviation = 1;
  const Finding f = bench.only("M4 S9 G1 X10 F6000\nX20 F12000\nY5 F1200\nX30 Y15 F2400\nM5 X0 F60000\n");
  EXPECT_EQ(f.kind, Kind::too_fast);
  EXPECT_THAT(f.lines, ElementsAre(2, 4));
  EXPECT_NEAR(f.worst, 2, 1e-9);
}

TEST(PathCheck, ArcsAndCornersThatSlowTheMachineAtConstantPower) {
  Bench bench;
  bench.setting.turn = quantity::kUnset;
  bench.setting.machine = {.axial_acceleration = 1, .around_acceleration = 1};
  const std::string arc = "G0 X20 Y10\nM3 S9 G3 X15 Y15 I-5 F6000\nM5\n";  // 0.1 m/s on 5 mm: 2 m/s^2
  const Finding bend = bench.only(arc);
  EXPECT_EQ(bend.kind, Kind::slow_bend);
  EXPECT_NEAR(bend.worst, std::sqrt(2.0), 1e-6);
  EXPECT_TRUE(bench.check("G0 X20 Y10\nM4 S9 G3 X15 Y15 I-5 F6000\nM5\n").empty());
  EXPECT_TRUE(bench.check("G0 X20 Y10\nM3 S9 G3 X15 Y15 I-5 F4000\nM5\n").empty());
  const Finding corner = bench.only("G1 M3 S9 F6000 X10\nX20\nY10\nM5 X0\nY0\nM3 X10\nM5\n");
  EXPECT_EQ(corner.kind, Kind::slow_corner);
  EXPECT_THAT(corner.lines, ElementsAre(3));
  EXPECT_THAT(words(corner), HasSubstr("it stops there"));
  bench.setting.machine.corner_deviation = 0.1e-3;
  EXPECT_TRUE(std::isfinite(bench.only("G1 M3 S9 F6000 X10\nX20\nY10\nM5\n").worst));
}

TEST(PathCheck, PowerBeyondTheScale) {
  const Finding f = Bench().only("M3 S1000 G1 X1 F100\nS1001 X2\nS1500 X3\nM5\n");
  EXPECT_EQ(f.kind, Kind::power);
  EXPECT_EQ(f.count, 2);
  EXPECT_THAT(words(f), HasSubstr("for up to 150 % (line 3)"));
}

TEST(PathCheck, PassesFurtherApartThanALineClears) {
  const Finding f = Bench().only(fill(20, 0.15));
  EXPECT_EQ(f.kind, Kind::spacing);
  EXPECT_NEAR(f.worst, 0.15e-3, 1e-9);
  EXPECT_EQ(f.count, 18);  // the first spacing has none to be like
  EXPECT_TRUE(Bench().check(fill(20, 0.1)).empty());
  EXPECT_TRUE(Bench().check(fill(20, 5)).empty());  // lines by themselves
}

TEST(PathCheck, APassIsAllItsPiecesAndItsDarkPartsDoNotCount) {
  std::string text = "G1 F1000 M3\n";
  for (int line = 0; line < 10; ++line) {
    text += fmt::format("S0 Y{:.2f}\n", line * 0.15);
    for (int i = 1; i <= 50; ++i)
      text += fmt::format("S{} X{}\n", 100 * (i % 3), 10 + (line % 2 ? 50 - i : i));
  }
  const Finding f = Bench().only(text + "M5\n");
  EXPECT_EQ(f.kind, Kind::spacing);
  EXPECT_EQ(f.count, 8);
}

TEST(PathCheck, ArtsOutlinesAreNoFill) {
  EXPECT_TRUE(Bench().check("M3 S9 G1 F100 X10\nY0.3\nX20\nY1.5\nX3\nY1.9\nX30\nM5\n").empty());
}

TEST(PathCheck, HeightsChangedUnderTheBeam) {
  const Finding f = Bench().only("G0 Z5\nM3 S9 G1 Z0 F100\nX10\nX20 Z-1\nM5 Z9\n");
  EXPECT_EQ(f.kind, Kind::height);
  EXPECT_THAT(f.lines, ElementsAre(2, 4));
  EXPECT_NEAR(f.worst, 5e-3, 1e-12);
}

TEST(PathCheck, ABeamLeftOn) {
  EXPECT_EQ(words(Bench().only("G0 X1\nM4 S9 G1 X2 F100\n")),
            "The path ends with the beam on (line 2), and nothing puts it out: end it with M5.");
  EXPECT_EQ(words(Bench().only("M4 S9 G1 X2 F100\nM2\n")),
            "The path ends with the beam on (line 1), put out by its M2 or M30 alone: end it with M5.");
}

TEST(PathCheck, CountsAllAndNamesTheFirstLines) {
  std::string text = "G1 F100 M3 S2000\n";
  for (int i = 0; i < 1000; ++i) text += fmt::format("X{}\n", 10 + i % 2);
  const Finding f = Bench().only(text + "M5\n");
  EXPECT_EQ(f.count, 1000);
  EXPECT_THAT(words(f), HasSubstr("1000 times (lines 2, 3, 4, 5, 6, ...), for up to 200 %"));
}

}  // namespace
}  // namespace circumfluence::motion
