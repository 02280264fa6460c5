// Truth: closed forms of a surface of revolution; sagitta, angle, arc and stretch as tabled in
// validation/exact/cylinder.toml (sagitta r - sqrt(r^2 - y^2), angle asin(y/r)).
#include "workpiece/profile.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "quantity/error.h"
#include "workpiece/made_parts.h"

namespace circumfluence::workpiece {
namespace {

TEST(Sagitta, OfPublishedDiameters) {
  EXPECT_NEAR(sagitta(20e-3, 10e-3), 2.679492e-3, 5e-10);
  EXPECT_NEAR(sagitta(36.5e-3, 5e-3), 0.344088e-3, 5e-10);
  EXPECT_NEAR(sagitta(36.5e-3, 10e-3), 1.396581e-3, 5e-10);
  EXPECT_DOUBLE_EQ(sagitta(36.5e-3, -10e-3), sagitta(36.5e-3, 10e-3));
}

TEST(Sagitta, KeepsItsDigitsNearTheTopAndEndsAtTheFlank) {
  EXPECT_NEAR(sagitta(20e-3, 1e-8) / (1e-16 / 40e-3), 1, 1e-12);
  EXPECT_DOUBLE_EQ(sagitta(20e-3, 20e-3), 20e-3);
  EXPECT_THROW(sagitta(20e-3, 20.001e-3), quantity::ValidityError);
  EXPECT_THROW(sagitta(20e-3, NAN), quantity::ValidityError);
}

TEST(Profile, RadiusAndSlopeOfEachShape) {
  const Profile straight(straight_part()), tapered(tapered_part()), stepped(stepped_part()),
      table(table_part());
  EXPECT_DOUBLE_EQ(straight.radius(0.05), 0.02);
  EXPECT_DOUBLE_EQ(straight.slope(0.05), 0);
  EXPECT_DOUBLE_EQ(tapered.radius(0.05), 0.0175);
  EXPECT_DOUBLE_EQ(tapered.slope(0.05), -0.05);
  EXPECT_DOUBLE_EQ(stepped.radius(0.0399), 0.015);
  EXPECT_DOUBLE_EQ(stepped.radius(0.0401), 0.02);
  EXPECT_DOUBLE_EQ(stepped.slope(0.0401), 0);
  EXPECT_DOUBLE_EQ(table.radius(0.02), 0.0175);
  EXPECT_DOUBLE_EQ(table.slope(0.02), 0.125);
  EXPECT_DOUBLE_EQ(table.radius(0.09), 0.0125);
  EXPECT_DOUBLE_EQ(table.slope(0.09), -0.25);
}

TEST(Profile, ContinuesItsEndsBeyondThePart) {
  const Profile tapered(tapered_part());
  EXPECT_DOUBLE_EQ(tapered.radius(-1), 0.02);
  EXPECT_DOUBLE_EQ(tapered.radius(1), 0.015);
  EXPECT_DOUBLE_EQ(tapered.slope(-1), 0);
  EXPECT_DOUBLE_EQ(tapered.slope(1), 0);
}

TEST(Profile, GreatestRadiusIsOfThePartAndNotOfRowsBeyondIt) {
  EXPECT_DOUBLE_EQ(Profile(table_part()).greatest_radius(), 0.02);
  EXPECT_DOUBLE_EQ(Profile(stepped_part()).greatest_radius(), 0.02);
  Part part = table_part();
  part.profile = {{0, 0.03}, {0.12, 0.03}, {0.13, 0.08}};
  EXPECT_DOUBLE_EQ(Profile(part).greatest_radius(), 0.015);
}

TEST(Profile, ConstantWhereOneRadiusHolds) {
  EXPECT_TRUE(Profile(straight_part()).constant(-1, 1));
  EXPECT_FALSE(Profile(tapered_part()).constant(0.01, 0.02));
  EXPECT_TRUE(Profile(stepped_part()).constant(0.01, 0.039));
  EXPECT_FALSE(Profile(stepped_part()).constant(0.01, 0.05));
  EXPECT_TRUE(Profile(table_part()).constant(0.045, 0.055));
  EXPECT_FALSE(Profile(table_part()).constant(0.03, 0.055));
}

// The surface (u, r sin a, r cos a): its normal from the cross product of numerical tangents.
TEST(Profile, GeometryAgreesWithTheSurfacesNormal) {
  const Profile table(table_part());
  for (const double u : {0.013, 0.05, 0.08})
    for (const double a : {-1.2, -0.3, 0.0, 0.7, 1.5}) {
      const double h = 1e-6, r = table.radius(u),
                   slope = (table.radius(u + h) - table.radius(u - h)) / (2 * h);
      const double tu[] = {1, slope * std::sin(a), slope * std::cos(a)};
      const double ta[] = {0, r * std::cos(a), -r * std::sin(a)};
      const double n[] = {ta[1] * tu[2] - ta[2] * tu[1], ta[2] * tu[0] - ta[0] * tu[2],
                          ta[0] * tu[1] - ta[1] * tu[0]};
      const double size = std::sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
      const LocalGeometry g = table.at(u, a);
      EXPECT_NEAR(g.incidence, std::abs(n[2]) / size, 1e-8);
      EXPECT_NEAR(g.height, r * std::cos(a), 1e-15);
      const double tilt = n[0] * n[0] + n[1] * n[1];
      EXPECT_NEAR(g.slope_share, tilt > 1e-20 ? n[0] * n[0] / tilt : 0, 1e-6);
    }
  EXPECT_LE(table.at(0.05, std::numbers::pi / 2 + 0.1).incidence, 0);
}

}  // namespace
}  // namespace circumfluence::workpiece
