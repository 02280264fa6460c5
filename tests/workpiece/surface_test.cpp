// Truth: areas of a cylinder and of a cone's frustum, 2 pi r l and pi (r1 + r2) s; a grid that covers what it
// must.
#include "workpiece/surface.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

#include "quantity/error.h"
#include "workpiece/made_parts.h"

namespace circumfluence::workpiece {
namespace {

constexpr double kPi = std::numbers::pi;

double area(const Surface& s) {
  double sum = 0;
  for (int i = 0; i < s.axial; ++i) sum += s.around * s.cell_area(i);
  return sum;
}

TEST(Surface, WholeCylinderHasItsArea) {
  const Surface s = develop(Profile(straight_part()), {.cell = 100e-6, .margin = 0},
                            {0, 0.1, -kPi * 0.02, kPi * 0.02}, 0.02);
  EXPECT_TRUE(s.closed);
  EXPECT_TRUE(s.straight);
  EXPECT_NEAR(area(s), 2 * kPi * 0.02 * 0.1, 1e-12);
}

TEST(Surface, WholeConeHasItsAreaWhateverTheDrivenDiameter) {
  const double slant = std::hypot(0.1, 0.005);
  for (const double reference : {0.015, 0.02, 0.03}) {
    const Surface s = develop(Profile(tapered_part()), {.cell = 100e-6, .margin = 0},
                              {0, 0.1, 0, 2 * kPi * reference}, reference);
    EXPECT_FALSE(s.straight);
    EXPECT_NEAR(area(s) / (kPi * 0.035 * slant), 1, 1e-12);
  }
}

TEST(Surface, CoversTheArtAndItsMargin) {
  const Surface s =
      develop(Profile(straight_part()), {.cell = 70e-6, .margin = 1e-3}, {0.03, 0.05, -2e-3, 9e-3}, 0.02);
  EXPECT_FALSE(s.closed);
  EXPECT_DOUBLE_EQ(s.axial_edges().front(), 0.029);
  EXPECT_GE(s.axial_edges().back(), 0.051 - 1e-9);
  EXPECT_LT(s.axial_edges().back(), 0.051 + 70e-6);
  EXPECT_DOUBLE_EQ(s.around_edges().front(), -3e-3);
  EXPECT_GE(s.around_edges().back(), 0.01 - 1e-9);
  EXPECT_EQ(s.axial_edges().size(), size_t(s.axial) + 1);
  EXPECT_DOUBLE_EQ(s.position(0), 0.029 + 35e-6);
  EXPECT_DOUBLE_EQ(s.azimuth(3), s.arc(3) / 0.02);
}

TEST(Surface, IsClippedToThePart) {
  const Surface s =
      develop(Profile(straight_part()), {.cell = 1e-3, .margin = 5e-3}, {0.001, 0.099, 0, 0.01}, 0.02);
  EXPECT_DOUBLE_EQ(s.axial_from, 0);
  EXPECT_EQ(s.axial, 100);
}

TEST(Surface, ItsOwnLimitsReplaceTheArts) {
  Grid grid{.cell = 1e-3, .margin = 0.02};
  grid.axial_from = 0.02;
  grid.axial_to = 0.03;
  grid.around_from = -0.004;
  grid.around_to = 0.006;
  const Surface s = develop(Profile(straight_part()), grid, {0.05, 0.06, 0.05, 0.06}, 0.02);
  EXPECT_EQ(s.axial, 10);
  EXPECT_EQ(s.around, 10);
  EXPECT_DOUBLE_EQ(s.around_from, -0.004);
}

// A closed grid holds every azimuth once, and the art that fills it lies inside it, margin or not.
TEST(Surface, AWholeTurnIsCutOppositeTheArt) {
  const double turn = 2 * kPi * 0.02;
  for (const double margin : {0.0, 1e-3}) {
    const Surface s = develop(Profile(straight_part()), {.cell = 100e-6, .margin = margin},
                              {0.01, 0.02, -0.3 * turn, 0.7 * turn}, 0.02);
    EXPECT_TRUE(s.closed);
    EXPECT_NEAR(s.around * s.cell_around, turn, 1e-14);
    EXPECT_NEAR(s.around_from, -0.3 * turn, 1e-12);
  }
  const Surface s =
      develop(Profile(straight_part()), {.cell = 100e-6, .margin = 0.9 * turn}, {0.01, 0.02, 0, 0.01}, 0.02);
  EXPECT_TRUE(s.closed);
  EXPECT_NEAR(s.around_from, 0.005 - turn / 2, 1e-12);
}

TEST(Surface, RefusesWhatIsNotThereOrTooMuch) {
  const Profile part(straight_part());
  Grid off{.cell = 1e-3};
  off.axial_from = 0.2;
  EXPECT_THROW(develop(part, off, {0.01, 0.02, 0, 0.01}, 0.02), quantity::JobError);
  Grid backwards{.cell = 1e-3};
  backwards.around_from = 0.02;
  backwards.around_to = 0.01;
  EXPECT_THROW(develop(part, backwards, {0.01, 0.02, 0, 0.01}, 0.02), quantity::JobError);
  EXPECT_THAT(
      [&] {
        develop(part, {.cell = 1e-6}, {0, 0.1, 0, 0.12}, 0.02);
      },
      testing::ThrowsMessage<quantity::JobError>(testing::HasSubstr("grid.cell")));
}

RC_GTEST_PROP(Surface, CellsAreSquareCoverAndDoNotOverrun, ()) {
  const double cell = *rc::gen::inRange(20, 900) * 1e-6;
  const double from = *rc::gen::inRange(0, 50) * 1e-3, size = *rc::gen::inRange(1, 40) * 1e-3;
  const Surface s = develop(Profile(table_part()), {.cell = cell, .margin = 0},
                            {from, from + size, -size, size / 3}, 0.018);
  RC_ASSERT(s.cell_axial == cell);
  RC_ASSERT(s.axial * cell >= size - 1e-9);
  RC_ASSERT(s.axial * cell < size + cell);
  RC_ASSERT(s.closed || s.around * cell < size * 4 / 3 + cell);
  for (int i = 0; i < s.axial; ++i) RC_ASSERT(s.radius[i] > 0 && s.cell_area(i) > 0);
}

}  // namespace
}  // namespace circumfluence::workpiece
