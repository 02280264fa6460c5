// Truth: proportions, and arcs of a ball; common practice, no source: a roller-driven cap needs its art
// stretched by body over cap diameter.
#include <gtest/gtest.h>

#include <cmath>

#include "motion/made_parts.h"
#include "motion/rotary.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using quantity::kUnset;
using quantity::ValidityError;
using workpiece::Part;
using workpiece::Shape;

TEST(Bands, ACapOnAWiderBodyIsStretched) {
  const std::vector<Band> found = bands(stepped({{0, 0.073}, {0.15, 0.05}}), 0.1, 0.18, 0.0365);
  ASSERT_EQ(found.size(), 2);
  EXPECT_DOUBLE_EQ(found[0].scale_around, 1);
  EXPECT_DOUBLE_EQ(found[0].to, 0.15);
  EXPECT_DOUBLE_EQ(found[1].scale_around, 73.0 / 50.0);
  EXPECT_DOUBLE_EQ(found[1].around_from, 73.0 / 50.0);
  EXPECT_DOUBLE_EQ(found[1].scale_axial, 1);
  EXPECT_EQ(found[1].level, 0);
}

TEST(Bands, ATaperIsOneBandAndWedged) {
  const std::vector<Band> found = bands(taper(0.08, 0.06), 0.02, 0.06, 0.035);
  ASSERT_EQ(found.size(), 1);
  EXPECT_DOUBLE_EQ(found[0].radius, 0.036);
  EXPECT_DOUBLE_EQ(found[0].around_from, 35.0 / 38.0);
  EXPECT_DOUBLE_EQ(found[0].around_to, 35.0 / 34.0);
  EXPECT_NEAR(found[0].scale_axial, 10 / std::hypot(10, 1), 1e-15);  // 100 mm long, 10 mm of radius
  EXPECT_NEAR(found[0].level, std::atan(0.1), 1e-15);
}

// A ball, tabled: bands lie end to end, and what is drawn by them comes out true to 0.6 % along and around.
TEST(Bands, ARoundShoulderInPieces) {
  Part ball = made(Shape::table, 0.05, kUnset, kUnset, {});
  for (int i = 0; i <= 500; ++i)
    ball.profile.push_back({i * 1e-4, 2 * std::sqrt(0.07 * 0.07 - i * i * 1e-8)});
  ball.profile.back().first = 0.05;
  const std::vector<Band> found = bands(ball, 0.005, 0.05, 0.07);
  EXPECT_GT(found.size(), 3);
  EXPECT_LT(found.size(), 40);
  EXPECT_DOUBLE_EQ(found.back().to, 0.05);
  for (size_t i = 0; i < found.size(); ++i) {
    const Band& band = found[i];
    EXPECT_DOUBLE_EQ(band.from, i > 0 ? found[i - 1].to : 0.005);
    const double surface = 0.07 * (std::asin(band.to / 0.07) - std::asin(band.from / 0.07));
    EXPECT_NEAR(band.scale_axial * surface / (band.to - band.from), 1, 1e-6);
    for (double share = 0; share <= 1; share += 0.125) {
      const double axial = band.from + share * (band.to - band.from);
      const double local = std::sqrt(0.07 * 0.07 - axial * axial);
      const double edge = 0.07 / (0.07 / band.around_from * (1 - share) + 0.07 / band.around_to * share);
      EXPECT_NEAR(edge * local / 0.07, 1, 5.01e-3);
      EXPECT_NEAR(band.scale_axial * 0.07 / local, 1, 6e-3);
    }
  }
  EXPECT_THROW(bands(ball, 0.02, 0.02, 0.07), ValidityError);
  EXPECT_THROW(bands(ball, 0.02, 0.06, 0.07), ValidityError);
}

TEST(Bands, AreCutAtAnyStepAndOnlyThere) {
  const std::vector<Band> small = bands(stepped({{0, 0.073}, {0.1, 0.0732}}), 0.05, 0.15, 0.0365);
  ASSERT_EQ(small.size(), 2);
  EXPECT_DOUBLE_EQ(small[1].scale_around, 73.0 / 73.2);
  EXPECT_EQ(bands(stepped({{0, 0.073}, {0.1, 0.073}}), 0.05, 0.15, 0.0365).size(), 1);
  EXPECT_EQ(bands(stepped({{0, 0.073}, {0.15, 0.05}}), 0.05, 0.15, 0.0365).size(), 1);
}

}  // namespace
}  // namespace circumfluence::motion
