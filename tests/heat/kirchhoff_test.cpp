// Truth: the integral k0 theta = int k dT in closed form; k(T) of 304L from Kim 1975 (ANL-75-55, eq. 28).
#include "heat/kirchhoff.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

namespace circumfluence::heat {
namespace {

constexpr double kStart = 293;  // [K]
constexpr Conductivity kSteel{8.116 + 0.01618 * kStart, 0.01618};

TEST(Kirchhoff, StainlessMatchesTheCheckValues) {
  for (const auto [linear, real] : {std::array{500., 692.548}, {1000., 988.566}, {1500., 1234.832}})
    EXPECT_NEAR(kStart + true_rise(kSteel, linear), real, 6e-4);
}

TEST(Kirchhoff, ConstantConductivityChangesNothing) {
  EXPECT_DOUBLE_EQ(true_rise({16, 0}, 1234), 1234);
  EXPECT_NEAR(true_rise({16, 1e-14}, 1234), 1234, 1e-9);  // no digits lost for a small slope
  EXPECT_DOUBLE_EQ(linear_rise({16, 0}, 1234), 1234);
}

TEST(Kirchhoff, LinearRiseIsTheIntegralOfTheConductivity) {
  for (const double slope : {0.01618, -0.004}) {
    const Conductivity k{12, slope};
    double sum = 0;
    for (int i = 0; i < 1000; ++i) sum += (k.at_start + k.slope * (i + 0.5)) / k.at_start;
    EXPECT_NEAR(linear_rise(k, 1000), sum, 1e-9 * sum);
  }
}

TEST(Kirchhoff, TheTwoAreInverse) {
  for (const double slope : {0.02, 1e-9, 0.0, -1e-9, -0.004})
    for (const double rise : {0.0, 1e-3, 20.0, 700.0, 2900.0})
      EXPECT_NEAR(true_rise({12, slope}, linear_rise({12, slope}, rise)), rise, 1e-9 * rise + 1e-12);
}

TEST(Kirchhoff, BeyondTheRootThereIsNoTemperature) {
  const Conductivity k{10, -0.01};  // zero at a rise of 1000 K, theta = 500 K
  EXPECT_NEAR(true_rise(k, 500), 1000, 1e-9);
  EXPECT_EQ(true_rise(k, 500.01), HUGE_VAL);
  EXPECT_EQ(linear_rise(k, 1001), HUGE_VAL);
}

}  // namespace
}  // namespace circumfluence::heat
