// Truth: the geometry that we drew and handed to general-purpose programs (paths/README.md): lengths, areas
// and extents.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "motion/tool_path.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using std::numbers::pi;

struct Sample {
  std::vector<Move> moves;
  PathNotes notes;
  double length = 0;                                       // [mm] of the feeds in the plane
  double left = 1e9, right = -1e9, low = 1e9, top = -1e9;  // [mm] reached by them, after the first
};

Sample read(const std::string& name) {
  PathFile how;
  how.axial = 0;
  how.full_power_word = 6000;
  Sample out;
  out.notes = read_path(CIRCUMFLUENCE_SOURCE "/tests/motion/paths/" + name, how, [&](const Move& move) {
    out.moves.push_back(move);
    if (move.kind != Move::Kind::feed || move.from.height != move.to.height) return true;
    out.length += 1e3 * move.length();
    chords(move, 1e-6, [&](const PathPoint&, const PathPoint& to) {
      out.left = std::min(out.left, 1e3 * to.axial);
      out.right = std::max(out.right, 1e3 * to.axial);
      out.low = std::min(out.low, 1e3 * to.around);
      out.top = std::max(out.top, 1e3 * to.around);
    });
    return true;
  });
  return out;
}

void expect_extents(const Sample& sample, double left, double right, double low, double top) {
  EXPECT_NEAR(sample.left, left, 2e-3);
  EXPECT_NEAR(sample.right, right, 2e-3);
  EXPECT_NEAR(sample.low, low, 2e-3);
  EXPECT_NEAR(sample.top, top, 2e-3);
}

TEST(ToolPathSamples, TheBadgeIsTheFlagTheRingAndTheHillTwice) {
  const Sample badge = read("badge.nc");
  EXPECT_NEAR(badge.length, 2 * (5 * 10 + std::sqrt(200.0) + 18 * pi + 8 * pi), 0.05);
  expect_extents(badge, 1, 19, 1, 24);
  EXPECT_TRUE(badge.notes.ended);
  EXPECT_EQ(badge.notes.beam_on, 0);
  for (const Move& move : badge.moves) {
    const bool feeds = move.kind == Move::Kind::feed;
    EXPECT_EQ(move.power, feeds ? 1.0f : 0.0f) << move.line;
  }
  std::vector<std::string> words;
  for (const Ignored& i : badge.notes.ignored) words.push_back(i.word);
  EXPECT_THAT(words, testing::UnorderedElementsAre("G64", "G40", "G49", "T1", "M8", "M9"));
}

TEST(ToolPathSamples, TheRelativeBadgeIsTheAbsoluteOne) {
  const Sample badge = read("badge.nc"), relative = read("badge_relative.nc");
  EXPECT_NEAR(relative.length, badge.length, 0.05);
  expect_extents(relative, 1, 19, 1, 24);
}

TEST(ToolPathSamples, AToolChangeIsRefusedAtItsPlace) {
  try {
    read("badge_tool_change.nc");
    FAIL();
  } catch (const quantity::JobError& error) {
    EXPECT_EQ(error.place().line, 7);
    EXPECT_EQ(error.place().column, 4);
    EXPECT_EQ(error.problem(), "M6 (changes a tool)");
  }
}

TEST(ToolPathSamples, ThePlateKeepsToItsEdgesAndItsHeightsAreParameters) {
  const Sample plate = read("plate.nc");
  expect_extents(plate, 0.1005, 29.8995, 0.1005, 19.8995);
  for (const Move& move : plate.moves) {
    const bool feeds = move.kind == Move::Kind::feed;
    EXPECT_NEAR(feeds ? move.to.height : -0.05e-3, -0.05e-3, 1e-12);
  }
}

TEST(ToolPathSamples, AFillsLengthTimesItsSpacingIsItsArea) {
  const Sample triangle = read("fill_zigzag.nc");
  EXPECT_NEAR(0.2 * triangle.length, 50, 2.5);
  EXPECT_GT(triangle.left, 5);
  EXPECT_LT(triangle.right, 15);
  const Sample ring = read("fill_offset.nc");
  EXPECT_NEAR(0.2 * ring.length, pi * (81 - 64), 0.1 * pi * (81 - 64));
  expect_extents(ring, 1.1, 18.9, 1.1, 18.9);
}

}  // namespace
}  // namespace circumfluence::motion
