// Truth: area of the art on the surface: on a turning part as drawn, on a standing part r asin(y/r) wide.
#include "motion/commands.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace circumfluence::motion {
namespace {

const artwork::Image kBlack{1, 1, {0}, {}};

workpiece::Part part() {
  workpiece::Part p;
  p.length = 20e-3;
  p.diameter = 10e-3;
  p.wall = 1e-3;
  return p;
}

struct Case {
  workpiece::Surface surface;
  Hold hold;
  artwork::Placement art;
};

// Wanted cells of each row.
std::vector<int> count(const Case& c) {
  Wanted wanted(c.surface, c.hold, Commands(kBlack, c.art, c.surface.axial_edges()));
  std::vector<int> rows;
  std::vector<std::uint8_t> out(c.surface.axial);
  for (int row = 0; row < c.surface.around; ++row) {
    wanted.row(row, out);
    rows.push_back(static_cast<int>(std::count(out.begin(), out.end(), 1)));
  }
  return rows;
}

int sum(const std::vector<int>& rows) {
  int all = 0;
  for (const int n : rows) all += n;
  return all;
}

TEST(Wanted, OnATurningPartIsTheArtAsDrawn) {
  const workpiece::Surface s =
      workpiece::develop(workpiece::Profile(part()), {.cell = 50e-6}, {5e-3, 9e-3, -1e-3, 2e-3}, 5e-3);
  const artwork::Placement art{.size_axial = 4e-3, .size_around = 3e-3, .axial = 7e-3, .around = 0.5e-3};
  const std::vector<int> rows = count({s, Hold::turning, art});
  EXPECT_EQ(sum(rows), 80 * 60);
  EXPECT_EQ(rows[0], 0);
  EXPECT_EQ(rows[s.around / 2], 80);
}

TEST(Wanted, OnAStandingPartIsWiderTowardTheFlank) {
  const double wide = 5e-3 * std::asin(0.8);
  const workpiece::Surface s =
      workpiece::develop(workpiece::Profile(part()), {.cell = 50e-6}, {5e-3, 9e-3, -wide, wide}, 5e-3);
  const artwork::Placement art{.size_axial = 4e-3, .size_around = 8e-3, .axial = 7e-3};
  EXPECT_NEAR(sum(count({s, Hold::standing, art})) / 80.0, 2 * wide / 50e-6, 1);
}

TEST(Wanted, OnAStandingTaperFollowsTheRadiusOfEachColumn) {
  workpiece::Part p = part();
  p.shape = workpiece::Shape::tapered;
  p.end_diameter = 9e-3;
  const workpiece::Profile profile(p);
  const workpiece::Surface s = workpiece::develop(profile, {.cell = 50e-6}, {2e-3, 18e-3, -5e-3, 5e-3}, 5e-3);
  const artwork::Placement art{.size_axial = 16e-3, .size_around = 8e-3, .axial = 10e-3};
  double expected = 0;
  for (int i = 0; i < s.axial; ++i)
    if (s.position(i) > 2e-3 && s.position(i) < 18e-3)
      expected += 2 * std::asin(4e-3 / s.radius[i]) * 5e-3 / 50e-6;
  EXPECT_NEAR(sum(count({s, Hold::standing, art})) / expected, 1, 2e-3);
}

TEST(Wanted, TheFarSideOfAStandingPartIsNot) {
  const double turn = 2 * std::numbers::pi * 5e-3;
  const workpiece::Surface s = workpiece::develop(workpiece::Profile(part()), {.cell = 50e-6},
                                                  {5e-3, 9e-3, -turn / 2, turn / 2}, 5e-3);
  const artwork::Placement art{.size_axial = 4e-3, .size_around = 4e-3, .axial = 7e-3};
  const std::vector<int> rows = count({s, Hold::standing, art});
  EXPECT_NEAR(sum(rows) / 80.0, 2 * 5e-3 * std::asin(0.4) / 50e-6, 2);
  EXPECT_EQ(rows.front(), 0);
}

// Wherever a closed grid is cut, all of the art is found on it.
TEST(Wanted, ArtAcrossTheCutIsWhole) {
  const double turn = 2 * std::numbers::pi * 5e-3;
  const artwork::Placement art{.size_axial = 4e-3, .size_around = turn / 2, .axial = 7e-3};
  for (const double cut : {-0.6, -0.1, 0.0, 0.13, 0.4}) {
    workpiece::Grid grid{.cell = 50e-6};
    grid.around_from = cut * turn;
    grid.around_to = (1 + cut) * turn;
    const workpiece::Surface s =
        workpiece::develop(workpiece::Profile(part()), grid, {5e-3, 9e-3, -turn / 4, turn / 4}, 5e-3);
    EXPECT_TRUE(s.closed);
    EXPECT_NEAR(sum(count({s, Hold::turning, art})), 80 * s.around / 2, 80) << cut;
  }
}

TEST(Wanted, ArtAllAroundIsWantedAllAroundWithAMargin) {
  const double turn = 2 * std::numbers::pi * 5e-3;
  const workpiece::Surface s = workpiece::develop(workpiece::Profile(part()), {.cell = 50e-6, .margin = 1e-3},
                                                  {5e-3, 9e-3, 0, turn}, 5e-3);
  const artwork::Placement art{.size_axial = 4e-3, .size_around = turn, .axial = 7e-3, .around = turn / 2};
  EXPECT_EQ(sum(count({s, Hold::turning, art})), 80 * s.around);
}

}  // namespace
}  // namespace circumfluence::motion
