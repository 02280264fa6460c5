// Truth: closed forms (normal incidence, Brewster's angle, grazing, total conservation for a dielectric) and
// the published formulas in the real a, b form of a complex cosine, written out anew here.
#include "beam/fresnel.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

namespace circumfluence::beam {
namespace {

// R_s and R_p with a^2 - b^2 = n^2 - k^2 - sin^2, a b = n k (Born & Wolf; real form, from memory).
Absorptivity real_form(const Index& index, double cosine) {
  const double s2 = 1 - cosine * cosine, u = index.n * index.n - index.k * index.k - s2,
               v = 2 * index.n * index.k;
  const double size = std::hypot(u, v), a2 = (size + u) / 2, b2 = (size - u) / 2, a = std::sqrt(a2);
  const double rs =
      (a2 + b2 - 2 * a * cosine + cosine * cosine) / (a2 + b2 + 2 * a * cosine + cosine * cosine);
  const double st = s2 / cosine;  // sin tan
  const double rp = rs * (a2 + b2 - 2 * a * st + st * st) / (a2 + b2 + 2 * a * st + st * st);
  return {1 - rs, 1 - rp};
}

RC_GTEST_PROP(Fresnel, AgreesWithTheRealForm, ()) {
  const Index index{*rc::gen::inRange(5, 4000) * 1e-3, *rc::gen::inRange(0, 60000) * 1e-3};
  const double cosine = *rc::gen::inRange(1, 1000) * 1e-3;
  const Absorptivity a = fresnel(index, cosine), b = real_form(index, cosine);
  RC_ASSERT(std::abs(a.s - b.s) < 1e-9);
  RC_ASSERT(std::abs(a.p - b.p) < 1e-9);
  RC_ASSERT(a.s >= -1e-12 && a.s <= 1 && a.p >= -1e-12 && a.p <= 1);
}

TEST(Fresnel, AtNormalIncidenceNeedsNoPolarisation) {
  const Index steel{2.0, 3.5};
  const Absorptivity a = fresnel(steel, 1);
  EXPECT_NEAR(a.s, 4 * 2.0 / (9 + 3.5 * 3.5), 1e-15);
  EXPECT_NEAR(a.p, a.s, 1e-15);
}

TEST(Fresnel, GlassTakesAllOfPAtBrewstersAngle) {
  const double n = 1.52, cosine = 1 / std::hypot(1.0, n);
  EXPECT_NEAR(fresnel({n, 0}, cosine).p, 1, 1e-14);
  EXPECT_LT(fresnel({n, 0}, cosine).s, 1);
}

TEST(Fresnel, NothingIsAbsorbedAtGrazingIncidence) {
  const Absorptivity a = fresnel({2.0, 3.5}, 0);
  EXPECT_NEAR(a.s, 0, 1e-14);
  EXPECT_NEAR(a.p, 0, 1e-14);
}

// A_p / A_s of published indices (Karlsson and Ribbing 1982: austenitic steel; Rakic 1995: Al; Johnson and
// Christy 1972, 1974: Cu, Ti), evaluated from both the complex and the real form. The indices are rounded to
// three digits.
struct Row {
  Index index;
  double degrees, p, s;
};

class PublishedFresnel : public testing::TestWithParam<Row> {};

TEST_P(PublishedFresnel, Absorptivity) {
  const Row& row = GetParam();
  const Absorptivity a = fresnel(row.index, std::cos(row.degrees * std::numbers::pi / 180));
  EXPECT_NEAR(a.p, row.p, 3e-4);
  EXPECT_NEAR(a.s, row.s, 3e-4);
}

constexpr Index kSteelBlue{1.678, 3.117}, kSteelInfrared{3.830, 5.335}, kAluminium{0.633, 5.454};
constexpr Index kCopper{1.240, 2.393}, kTitanium{2.267, 3.038};

INSTANTIATE_TEST_SUITE_P(Metals, PublishedFresnel,
                         testing::Values(Row{kSteelBlue, 0, .3974, .3974}, Row{kSteelBlue, 30, .4436, .3531},
                                         Row{kSteelBlue, 45, .5065, .2975}, Row{kSteelBlue, 60, .5992, .2196},
                                         Row{kSteelBlue, 75, .6641, .1199},
                                         Row{kSteelInfrared, 30, .3331, .2615},
                                         Row{kSteelInfrared, 60, .4957, .1601},
                                         Row{kSteelInfrared, 75, .6823, .0863},
                                         Row{kAluminium, 45, .1079, .0555}, Row{kAluminium, 75, .2020, .0205},
                                         Row{kCopper, 30, .5123, .4112}, Row{kCopper, 60, .6467, .2579},
                                         Row{kTitanium, 45, .5733, .3468}, Row{kTitanium, 75, .7669, .1432}));

TEST(AngleFactor, FollowsTheFieldAgainstTheTilt) {
  const Index steel{2.0, 3.5};
  const double cosine = 0.5, normal = fresnel(steel, 1).mean();
  const Absorptivity a = fresnel(steel, cosine);
  // Tilted around the part, a field along the axis lies across the plane of incidence.
  EXPECT_NEAR(angle_factor(steel, cosine, 0, Polarisation::axial), a.s / normal, 1e-15);
  EXPECT_NEAR(angle_factor(steel, cosine, 0, Polarisation::around), a.p / normal, 1e-15);
  EXPECT_NEAR(angle_factor(steel, cosine, 1, Polarisation::axial), a.p / normal, 1e-15);
  EXPECT_NEAR(angle_factor(steel, cosine, 1, Polarisation::around), a.s / normal, 1e-15);
  for (const double share : {0.0, 0.3, 1.0}) {
    EXPECT_NEAR(angle_factor(steel, cosine, share, Polarisation::unpolarised), a.mean() / normal, 1e-15);
    EXPECT_NEAR(angle_factor(steel, 1, share, Polarisation::axial), 1, 1e-14);
  }
}

}  // namespace
}  // namespace circumfluence::beam
