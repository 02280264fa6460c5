// Truth: plane geometry by hand; and every point of a fine raster asked whether it lies in two plates.
#include "appearance/plot_area.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>
#include <vector>

namespace circumfluence::appearance {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
const Box kBox{10.0, 20.0, 100.0, 50.0};  // to 110, 70

void expect_point(Point p, double x, double y) {
  EXPECT_NEAR(p.x, x, 1e-9);
  EXPECT_NEAR(p.y, y, 1e-9);
}

// Inside as the sum of turns: the point lies on the same side of all four edges.
bool within(const Plate& plate, Point p) {
  const Line c = corners(plate);
  int sides = 0;
  for (size_t i = 0; i < 4; ++i) {
    const Point a = c[i], b = c[(i + 1) % 4];
    sides += (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0.0 ? 1 : -1;
  }
  return std::abs(sides) == 4;
}

bool share_a_point(const Plate& one, const Plate& other) {
  for (double u = -0.499; u < 0.5; u += 0.01)
    for (double v = -0.499; v < 0.5; v += 0.04) {
      const double c = std::cos(one.turn), s = std::sin(one.turn);
      const double along = u * one.length, across = v * one.height;
      if (within(other, {one.centre.x + c * along + s * across, one.centre.y - s * along + c * across}))
        return true;
    }
  return false;
}

TEST(CutLine, KeepsWhatIsInside) {
  const Line line = {{0.0, 30.0}, {200.0, 30.0}};
  const auto pieces = cut_line(line, kBox);
  ASSERT_EQ(pieces.size(), 1u);
  expect_point(pieces[0].front(), 10.0, 30.0);
  expect_point(pieces[0].back(), 110.0, 30.0);
  EXPECT_TRUE(cut_line(Line{{0.0, 0.0}, {200.0, 10.0}}, kBox).empty());
  EXPECT_TRUE(cut_line(Line{{0.0, 40.0}, {40.0, 0.0}}, kBox).size() == 1u);  // across a corner
  EXPECT_TRUE(cut_line(Line{{0.0, 25.0}, {25.0, 0.0}}, kBox).empty());       // past it
  EXPECT_TRUE(cut_line(Line{{50.0, 50.0}}, kBox).empty());
}

TEST(CutLine, BreaksWhereItLeavesAndWhereNothingIs) {
  const Line wave = {{20.0, 30.0}, {30.0, 80.0}, {40.0, 30.0}, {50.0, kNothing}, {60.0, 30.0}, {70.0, 40.0}};
  const auto pieces = cut_line(wave, kBox);
  ASSERT_EQ(pieces.size(), 3u);
  expect_point(pieces[0].back(), 28.0, 70.0);
  expect_point(pieces[1].front(), 32.0, 70.0);
  expect_point(pieces[1].back(), 40.0, 30.0);
  expect_point(pieces[2].front(), 60.0, 30.0);
}

TEST(CutLine, FarPointsDoNotBendIt) {
  for (const double far : {1e6, 1e12, 1e20}) {
    const auto out = cut_line(Line{{50.0, 50.0}, {50.0 + far, 50.0 - far}}, kBox);
    const auto in = cut_line(Line{{50.0 + far, 50.0 - far}, {50.0, 50.0}}, kBox);
    ASSERT_EQ(out.size(), 1u);
    ASSERT_EQ(in.size(), 1u);
    EXPECT_NEAR(out[0].back().x, 80.0, 1e-6);
    EXPECT_NEAR(in[0].front().x, 80.0, 1e-6);
    EXPECT_NEAR(in[0].front().y, 20.0, 1e-6);
  }
}

TEST(CutArea, AreaOfTheCommonPart) {
  const auto area = [](const Line& c) {
    double twice = 0.0;
    for (size_t i = 0; i < c.size(); ++i) {
      const Point a = c[i], b = c[(i + 1) % c.size()];
      twice += a.x * b.y - b.x * a.y;
    }
    return std::abs(0.5 * twice);
  };
  EXPECT_NEAR(area(cut_area(Line{{0, 0}, {200, 0}, {200, 200}, {0, 200}}, kBox)), 5000.0, 1e-9);
  EXPECT_NEAR(area(cut_area(Line{{20, 30}, {40, 30}, {40, 60}}, kBox)), 300.0, 1e-9);
  EXPECT_NEAR(area(cut_area(Line{{0, 20}, {50, 20}, {50, 70}, {0, 70}}, kBox)), 2000.0, 1e-9);
  EXPECT_NEAR(area(cut_area(Line{{60, 45}, {60 + 1e12, 45 - 1e12}, {60 + 1e12, 45 + 1e12}}, kBox)),
              625.0 + 25.0 * 50.0, 1e-3);
  EXPECT_TRUE(cut_area(Line{{0, 0}, {5, 0}, {5, 5}}, kBox).empty());
}

TEST(Plates, OverlapAsTheirPointsDo) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> place(0.0, 100.0), size(5.0, 60.0), turn(-1.6, 1.6);
  int overlapping = 0;
  for (int i = 0; i < 400; ++i) {
    const Plate one{{place(random), place(random)}, size(random), 0.3 * size(random), turn(random)};
    const Plate other{{place(random), place(random)}, size(random), 0.3 * size(random), turn(random)};
    EXPECT_EQ(overlap(one, other), overlap(other, one));
    const bool seen = share_a_point(one, other) || share_a_point(other, one);
    overlapping += seen;
    EXPECT_TRUE(!seen || overlap(one, other)) << i;
    // What the raster can miss is thinner than its step.
    Plate shrunk = one;
    shrunk.length *= 0.95, shrunk.height *= 0.85;
    EXPECT_TRUE(seen || !overlap(shrunk, other)) << i;
  }
  EXPECT_GT(overlapping, 40);
  EXPECT_LT(overlapping, 360);
}

TEST(LabelPlaces, NeverOnEachOtherNorOverTheEdge) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> x(0.0, 400.0), y(0.0, 300.0);
  const Box area{0.0, 0.0, 400.0, 300.0};
  LabelPlaces places(area);
  const Plate marker{{200.0, 150.0}, 20.0, 20.0};
  places.keep_clear(marker);
  std::vector<Plate> placed = {marker};
  int refused = 0;
  for (int i = 0; i < 60; ++i) {
    const std::vector<Line> line = {{{x(random), y(random)}, {x(random), y(random)}}};
    places.rather_keep_clear(line);
    const auto plate =
        i % 3 == 0 ? places.near_point(line[0][0], 8.0, {70.0, 18.0}) : places.on_line(line, {60.0, 16.0});
    if (!plate) {
      ++refused;
      continue;
    }
    for (const Point& p : corners(*plate)) {
      EXPECT_GT(p.x, 0.0);
      EXPECT_LT(p.x, 400.0);
      EXPECT_GT(p.y, 0.0);
      EXPECT_LT(p.y, 300.0);
    }
    for (const Plate& other : placed)
      EXPECT_FALSE(share_a_point(*plate, other) || share_a_point(other, *plate));
    placed.push_back(*plate);
  }
  EXPECT_GT(placed.size(), 15u);
  EXPECT_GT(refused, 0) << "sixty labels don't fit";
}

TEST(LabelPlaces, OnAStraightLineNearItsEnd) {
  LabelPlaces places({0.0, 0.0, 400.0, 300.0});
  const std::vector<Line> line = {{{50.0, 250.0}, {350.0, 100.0}}};
  places.rather_keep_clear(line);
  const auto plate = places.on_line(line, {60.0, 16.0});
  ASSERT_TRUE(plate);
  EXPECT_NEAR(plate->turn, std::atan2(150.0, 300.0), 1e-9);
  const Point c = plate->centre;
  EXPECT_NEAR(c.y, 250.0 - 0.5 * (c.x - 50.0), 1e-6);
  EXPECT_GT(c.x, 280.0);
}

TEST(LabelPlaces, LettersAreNeverUpsideDown) {
  for (int i = 0; i < 24; ++i) {
    const double angle = 0.2618 * i;
    LabelPlaces places({0.0, 0.0, 400.0, 400.0});
    const std::vector<Line> line = {
        {{200.0, 200.0}, {200.0 + 150.0 * std::cos(angle), 200.0 + 150.0 * std::sin(angle)}}};
    const auto plate = places.on_line(line, {60.0, 16.0});
    ASSERT_TRUE(plate);
    EXPECT_GE(std::cos(plate->turn), -1e-6) << angle;
  }
}

TEST(LabelPlaces, BesideALineTooShortOrTooBent) {
  LabelPlaces places({0.0, 0.0, 400.0, 300.0});
  const auto plate = places.on_line(std::vector<Line>{{{200.0, 150.0}, {210.0, 150.0}}}, {60.0, 16.0});
  ASSERT_TRUE(plate);
  EXPECT_EQ(plate->turn, 0.0);
  EXPECT_FALSE(within(*plate, {205.0, 150.0}));
}

}  // namespace
}  // namespace circumfluence::appearance
