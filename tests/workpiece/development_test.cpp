// Truth: what a development is: distances on the cone kept, meridians straight, parallels arcs, area kept;
// polar coordinates about the apex; a cylinder rolled out.
#include "workpiece/development.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "quantity/error.h"
#include "workpiece/profile.h"

namespace circumfluence::workpiece {
namespace {

constexpr double kRadius = 30e-3;
const double kSlopes[] = {-3.0, -0.7, -0.1, -1e-3, -1e-7, 1e-7, 1e-3, 0.1, 0.7, 3.0};

// In space: along the axis, and the two across it.
std::array<double, 3> space(double slope, ConePoint p) {
  const double axial = p.slant / std::hypot(1, slope), r = kRadius + slope * axial;
  return {axial, r * std::cos(p.azimuth), r * std::sin(p.azimuth)};
}

double apart(FlatPoint a, FlatPoint b) {
  return std::hypot(a.along - b.along, a.around - b.around);
}

// Slants from near the apex, or so far the other way.
double slant(const Cone& cone, int i) {
  const double reach = std::min(20e-3, 0.9 * std::abs(cone.apex()));
  return reach * i / 4;
}

TEST(Cone, KeepsEveryShortDistance) {
  const double step = 1e-7;
  for (const double slope : kSlopes) {
    const Cone cone(kRadius, slope);
    for (int i = -4; i <= 4; ++i)
      for (const double azimuth : {-3.0, -1.0, 0.0, 0.4, 2.5})
        for (const double way : {0.0, 0.7, 1.6, 2.9}) {
          const double l = slant(cone, i), r = kRadius + cone.sine() * l;
          const ConePoint a{l, azimuth};
          const ConePoint b{l + step * std::cos(way), azimuth + step * std::sin(way) / r};
          const auto p = space(slope, a), q = space(slope, b);
          const double in_space = std::hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
          EXPECT_NEAR(apart(cone.flat(a), cone.flat(b)) / in_space, 1, 2e-5)
              << slope << " " << l << " " << azimuth;
        }
  }
}

TEST(Cone, ThereAndBack) {
  for (const double slope : kSlopes) {
    const Cone cone(kRadius, slope);
    for (int i = -4; i <= 4; ++i)
      for (const double azimuth : {-std::numbers::pi, -1.0, -1e-6, 0.0, 1e-9, 0.4, 3.1}) {
        const ConePoint at{slant(cone, i), azimuth};
        const ConePoint back = cone.lay(cone.flat(at));
        const double r = cone.radius(at.slant);
        EXPECT_NEAR(back.slant, at.slant, 1e-16) << slope;
        EXPECT_NEAR(r * back.azimuth, r * azimuth, 1e-15) << slope << " " << at.slant;
      }
  }
}

TEST(Cone, IsThePolarFormAboutTheApex) {
  for (const double slope : {-0.7, -0.1, 0.1, 0.7}) {
    const Cone cone(kRadius, slope);
    const double sine = std::sin(std::atan(std::abs(slope))), rho = kRadius / sine, sign = slope > 0 ? 1 : -1;
    EXPECT_NEAR(cone.apex(), -sign * rho, 1e-15);
    for (const double l : {-10e-3, 0.0, 7e-3})
      for (const double azimuth : {-2.0, 0.3}) {
        const FlatPoint p = cone.flat({l, azimuth});
        const double from_apex = rho + sign * l;
        EXPECT_NEAR(p.along, sign * (from_apex * std::cos(sine * azimuth) - rho), 1e-15);
        EXPECT_NEAR(p.around, from_apex * std::sin(sine * azimuth), 1e-15);
      }
  }
}

TEST(Cone, MeridiansAreStraightAndParallelsArcsOfTheirLength) {
  const Cone cone(kRadius, -0.4);
  const FlatPoint a = cone.flat({-20e-3, 1.1}), b = cone.flat({3e-3, 1.1}), c = cone.flat({25e-3, 1.1});
  EXPECT_NEAR((b.along - a.along) * (c.around - a.around), (c.along - a.along) * (b.around - a.around),
              1e-17);
  EXPECT_NEAR(apart(a, c), 45e-3, 1e-15);
  const FlatPoint apex{cone.apex(), 0};
  double arc = 0;
  for (int i = 0; i < 1000; ++i) {
    const FlatPoint p = cone.flat({5e-3, 2e-3 * i}), q = cone.flat({5e-3, 2e-3 * (i + 1)});
    EXPECT_NEAR(apart(apex, p), std::abs(cone.apex()) - 5e-3, 1e-15);
    arc += apart(p, q);
  }
  EXPECT_NEAR(arc, 2.0 * cone.radius(5e-3), 1e-8);  // chords
}

TEST(Cone, KeepsArea) {
  for (const double slope : {-0.7, 0.2}) {
    const Cone cone(kRadius, slope);
    // Round the rim of a patch from l0 to l1 over an azimuth of 2; Gauss's area formula.
    const double l0 = -12e-3, l1 = 9e-3, swept = 2;
    std::vector<FlatPoint> rim;
    const int n = 4000;
    for (int i = 0; i < n; ++i) rim.push_back(cone.flat({l0, swept * i / n}));
    rim.push_back(cone.flat({l0, swept}));
    for (int i = 0; i < n; ++i) rim.push_back(cone.flat({l1, swept * (n - i) / n}));
    rim.push_back(cone.flat({l1, 0}));
    double area = 0;
    for (size_t i = 0; i < rim.size(); ++i) {
      const FlatPoint p = rim[i], q = rim[(i + 1) % rim.size()];
      area += (p.along * q.around - q.along * p.around) / 2;
    }
    const double on_cone = swept * (cone.radius(l0) + cone.radius(l1)) / 2 * (l1 - l0);
    EXPECT_NEAR(std::abs(area) / on_cone, 1, 1e-6) << slope;
  }
}

TEST(Cone, ACylinderRollsOut) {
  const Cone cone(kRadius, 0);
  EXPECT_TRUE(std::isinf(cone.apex()));
  const FlatPoint p = cone.flat({4e-3, 1.5});
  EXPECT_EQ(p.along, 4e-3);
  EXPECT_EQ(p.around, 1.5 * kRadius);
  EXPECT_EQ(cone.lay(p).slant, 4e-3);
  EXPECT_EQ(cone.lay(p).azimuth, 1.5);
}

TEST(Cone, RefusesWhatIsNone) {
  EXPECT_THROW(Cone(0, 0.1), quantity::ValidityError);
  EXPECT_THROW(Cone(-1e-3, 0.1), quantity::ValidityError);
  EXPECT_THROW(Cone(1e-3, std::nan("")), quantity::ValidityError);
}

Part part(Shape shape) {
  Part p;
  p.shape = shape;
  p.length = 40e-3;
  p.diameter = 30e-3;
  p.end_diameter = 90e-3;  // a slope of 3/4: five along the slant for four along the axis
  p.profile = {{0, 30e-3}, {10e-3, 45e-3}, {30e-3, 45e-3}, {40e-3, 30e-3}};
  if (shape == Shape::stepped) p.profile.pop_back();
  p.wall = 1e-3;
  return p;
}

TEST(Slant, IsTheLengthOfTheProfile) {
  EXPECT_DOUBLE_EQ(Slant(part(Shape::straight)).length(17e-3), 17e-3);
  EXPECT_DOUBLE_EQ(Slant(part(Shape::tapered)).length(40e-3), 50e-3);
  const Slant table(part(Shape::table));
  EXPECT_DOUBLE_EQ(table.length(4e-3), 5e-3);
  EXPECT_DOUBLE_EQ(table.length(20e-3), 22.5e-3);
  EXPECT_DOUBLE_EQ(table.length(40e-3), 45e-3);
  EXPECT_DOUBLE_EQ(table.length(42e-3), 47e-3);
  EXPECT_DOUBLE_EQ(table.length(-1e-3), -1e-3);
  EXPECT_THAT(table.breaks(), testing::ElementsAre(10e-3, 30e-3));
}

TEST(Slant, LeavesOutTheFaceOfAStep) {
  const Slant stepped(part(Shape::stepped));
  EXPECT_DOUBLE_EQ(stepped.length(35e-3), 35e-3);
  EXPECT_THAT(stepped.breaks(), testing::ElementsAre(10e-3, 30e-3));
}

TEST(Slant, ThereAndBack) {
  for (const Shape shape : {Shape::straight, Shape::tapered, Shape::stepped, Shape::table}) {
    const Slant slant(part(shape));
    for (double u = -5e-3; u < 46e-3; u += 0.37e-3) EXPECT_NEAR(slant.axial(slant.length(u)), u, 1e-16);
  }
}

}  // namespace
}  // namespace circumfluence::workpiece
