// Truth: ISO 11146-1; radii tabled in validation/exact/caustic.toml (formula = ABCD propagation of second
// moments).
#include "beam/caustic.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace circumfluence::beam {
namespace {

Laser laser(double radius, double m2, double wavelength) {
  Laser l;
  l.wavelength = wavelength;
  l.spot_axial = l.spot_around = 2 * radius;
  l.m2_axial = l.m2_around = m2;
  return l;
}

struct Row {
  double waist, m2, wavelength, rayleigh_mm, half_um, one_um, two_um;
};

class PublishedCaustic : public testing::TestWithParam<Row> {};

TEST_P(PublishedCaustic, Radii) {
  const Row& row = GetParam();
  const Waist w = caustic(laser(row.waist, row.m2, row.wavelength)).axial;
  EXPECT_NEAR(w.rayleigh * 1e3, row.rayleigh_mm, 6e-6);
  EXPECT_NEAR(w.radius_at(0.5e-3) * 1e6, row.half_um, 6e-5);
  EXPECT_NEAR(w.radius_at(-1e-3) * 1e6, row.one_um, 6e-5);
  EXPECT_NEAR(w.radius_at(2e-3) * 1e6, row.two_um, 6e-5);
}

INSTANTIATE_TEST_SUITE_P(Lasers, PublishedCaustic,
                         testing::Values(Row{20e-6, 4, 450e-9, 0.69813, 24.6003, 34.9385, 60.6861},
                                         Row{60e-6, 12, 450e-9, 2.09440, 61.6861, 66.4884, 82.9627},
                                         Row{25e-6, 1.3, 1064e-9, 1.41953, 26.5055, 30.5804, 43.1932},
                                         Row{75e-6, 1.2, 10.6e-6, 1.38927, 79.7095, 92.4090, 131.4636}));

TEST(Caustic, FarAwayTheBeamSpreadsAsM2LambdaOverPiW) {
  const Waist w = caustic(laser(25e-6, 1.3, 1064e-9)).around;
  EXPECT_NEAR(w.radius_at(10) / 10, 1.3 * 1064e-9 / (std::numbers::pi * 25e-6), 1e-8);
}

TEST(Caustic, EachDirectionHasItsOwnWaist) {
  Laser l = laser(20e-6, 4, 450e-9);
  l.spot_around = 120e-6;
  l.m2_around = 12;
  l.waist_offset_axial = 0.3e-3;
  l.waist_offset_around = -0.2e-3;
  const Caustic c = caustic(l);
  EXPECT_DOUBLE_EQ(c.axial.radius_at(0.3e-3), 20e-6);
  EXPECT_DOUBLE_EQ(c.around.radius_at(-0.2e-3), 60e-6);
  EXPECT_DOUBLE_EQ(c.axial.radius_at(0.3e-3 + c.axial.rayleigh), 20e-6 * std::numbers::sqrt2);
}

TEST(Caustic, FocusDepthIsTheHeightWithinTwiceTheLeastArea) {
  Laser l = laser(50e-6, 1, 450e-9);
  l.m2_axial = l.m2_around = quantity::kUnset;
  l.focus_depth = 3e-3;
  const Caustic c = caustic(l);
  const double area = c.axial.radius_at(1.5e-3) * c.around.radius_at(1.5e-3);
  EXPECT_NEAR(area / (50e-6 * 50e-6), 2, 1e-14);
}

// Head over a standing part, focus on the crest, 20/60 um, M2 4/12, diameter 40 mm
// (validation/exact/cylinder.toml): peak irradiance against that on the crest, cos(theta) w0 w0' / (w w').
TEST(Caustic, PeakIrradianceDownTheFlankOfACylinder) {
  const Waist fast = caustic(laser(20e-6, 4, 450e-9)).axial, slow = caustic(laser(60e-6, 12, 450e-9)).axial;
  const auto ratio = [&](double y) {
    const double up = std::sqrt(20e-3 * 20e-3 - y * y), z = up - 20e-3;
    return up / 20e-3 * 20e-6 * 60e-6 / (fast.radius_at(z) * slow.radius_at(z));
  };
  EXPECT_NEAR(ratio(2e-3), 0.983758, 1e-6);
  EXPECT_NEAR(ratio(5e-3), 0.685412, 1e-6);
  EXPECT_NEAR(ratio(10e-3), 0.134467, 1e-6);
}

}  // namespace
}  // namespace circumfluence::beam
