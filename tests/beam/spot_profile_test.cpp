// Truth: closed forms (Gaussian: error function; every order: power 1, second moment 1/4 of w^2) and
// quadrature.
#include "beam/spot_profile.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "quantity/error.h"

namespace circumfluence::beam {
namespace {

class SpotProfileOrder : public testing::TestWithParam<double> {
 protected:
  // Midpoint rule over [-4, t].
  template <class Function>
  static double integral(double t, const Function& f) {
    constexpr int n = 200000;
    const double h = (t + 4) / n;
    double sum = 0;
    for (int i = 0; i < n; ++i) sum += f(-4 + (i + 0.5) * h);
    return sum * h;
  }
};

TEST_P(SpotProfileOrder, CarriesThePowerAndTheSecondMoment) {
  const SpotProfile p(GetParam());
  EXPECT_NEAR(integral(4, [&](double t) { return p.density(t); }), 1, 1e-9);
  EXPECT_NEAR(integral(4, [&](double t) { return 4 * t * t * p.density(t); }), 1, 1e-9);
}

TEST_P(SpotProfileOrder, CumulativeIsTheIntegralOfTheDensity) {
  const SpotProfile p(GetParam());
  for (const double t : {-1.3, -0.77, -0.1, 0.0, 0.333, 0.9, 1.7})
    EXPECT_NEAR(p.cumulative(t), integral(t, [&](double s) { return p.density(s); }), 2e-9) << t;
}

TEST_P(SpotProfileOrder, RampIsTheIntegralOfTheCumulative) {
  const SpotProfile p(GetParam());
  for (const double t : {-0.9, 0.0, 0.4, 1.1, 3.0})
    EXPECT_NEAR(p.ramp(t), integral(t, [&](double s) { return (t - s) * p.density(s); }), 2e-8) << t;
}

TEST_P(SpotProfileOrder, IsEvenAndEndsAtItsReach) {
  const SpotProfile p(GetParam());
  for (const double t : {0.2, 0.6, 1.4}) {
    EXPECT_DOUBLE_EQ(p.density(t), p.density(-t));
    EXPECT_NEAR(p.cumulative(t) + p.cumulative(-t), 1, 1e-9);
    EXPECT_NEAR(p.ramp(t) - p.ramp(-t), t, 1e-8);
  }
  EXPECT_LE(p.cumulative(-p.reach()), 1e-7);
  EXPECT_GE(p.cumulative(p.reach()), 1 - 1e-7);
  EXPECT_GT(p.cumulative(-0.97 * p.reach()), 1e-7);
  EXPECT_EQ(p.cumulative(-50), 0);
  EXPECT_EQ(p.cumulative(50), 1);
  EXPECT_EQ(p.ramp(-50), 0);
  EXPECT_NEAR(p.ramp(50), 50, 1e-8);
}

INSTANTIATE_TEST_SUITE_P(Orders, SpotProfileOrder, testing::Values(2.0, 2.5, 4.0, 10.0, 40.0));

TEST(SpotProfile, OrderTwoIsTheGaussian) {
  const SpotProfile p(2);
  EXPECT_NEAR(p.density(0), std::sqrt(2 / std::numbers::pi), 1e-15);
  for (double t = -2.4; t < 2.5; t += 0.0937) {
    EXPECT_NEAR(p.density(t), std::sqrt(2 / std::numbers::pi) * std::exp(-2 * t * t), 1e-15);
    EXPECT_NEAR(p.cumulative(t), 0.5 * std::erfc(-std::numbers::sqrt2 * t), 1e-9);
  }
}

// 5 W at 41.667 mm/s under 40 um give 239.3635 J/cm^2 at the line's middle, 10 W at 100 mm/s under 75 um
// 106.3846 J/cm^2 (Gaussian line, sqrt(2/pi) P / (v w)).
TEST(SpotProfile, LineFluenceOfPublishedCases) {
  const SpotProfile p(2);
  EXPECT_NEAR(5 / (41.667e-3 * 40e-6) * p.density(0) * 1e-4, 239.3635, 5e-4);
  EXPECT_NEAR(10 / (0.1 * 75e-6) * p.density(0) * 1e-4, 106.3846, 5e-4);
}

// Ripple (max - min) / mean of parallel Gaussian lines under 40 um: direct sum = theta series.
TEST(SpotProfile, RippleOfParallelLines) {
  const SpotProfile p(2);
  const auto ripple = [&](double spacing) {
    const auto sum = [&](double y) {
      double dose = 0;
      for (int i = -60; i <= 60; ++i) dose += p.density((y - i * spacing) / 40e-6) * spacing / 40e-6;
      return dose;
    };
    return sum(0) - sum(spacing / 2);
  };
  EXPECT_NEAR(ripple(20e-6), 0.00000, 5e-6);
  EXPECT_NEAR(ripple(40e-6), 0.02877, 5e-6);
  EXPECT_NEAR(ripple(60e-6), 0.44622, 5e-6);
  EXPECT_NEAR(ripple(80e-6), 1.16491, 5e-6);
  EXPECT_NEAR(ripple(120e-6), 2.34047, 5e-6);
}

TEST(SpotProfile, RefusesOtherOrders) {
  for (const double order : {1.9, 40.1, -2.0, std::nan("")})
    EXPECT_THROW(SpotProfile{order}, quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::beam
