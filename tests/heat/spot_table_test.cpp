// Truth: the maximisation of the integral itself (heat/moving_spot.h), and through it the table of Cline &
// Anthony (1977) peaks; the closed form of Lax (1977) at rest.
#include "heat/spot_table.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <random>

#include "heat/moving_spot.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

// In units where k = a = w_across = 1.
double truth(double peclet, double aspect, double eta) {
  return peak({1, 1}, {aspect, 1, 2 * peclet / aspect}, eta).rise * std::sqrt(aspect);
}

double log_between(std::mt19937& random, double low, double high) {
  return low * std::pow(high / low, std::uniform_real_distribution<double>(0, 1)(random));
}

TEST(SpotTable, SingleStateGivesThePeaksOfTheTable) {
  // 304, w = 40 um: 0 and 41.667 and 1000 mm/s.
  const double k = 16.2, w = 40e-6, diffusivity = k / (7900.0 * 500.0);
  for (const auto [speed, expected] :
       {std::array{0.0, 615.651667}, {0.041667, 571.28892}, {1.0, 282.21499}}) {
    const double peclet = speed * w / (2 * diffusivity);
    EXPECT_NEAR(SpotTable({peclet, peclet}, {1, 1}).at(peclet, 1, 0) / (k * w) / expected, 1, 2e-5);
  }
  EXPECT_NEAR(SpotTable({0, 0}, {1, 1}).at(0, 1, 0), 1 / std::sqrt(2 * quantity::kPi), 1e-5);
}

TEST(SpotTable, EveryNodeOfASingleStateIsGood) {
  std::mt19937 random(5);
  for (int i = 0; i < 60; ++i) {
    const double peclet = i % 6 ? log_between(random, 1e-3, 1e4) : 0, aspect = log_between(random, 0.02, 50);
    const SpotTable table({peclet, peclet}, {aspect, aspect});
    std::array<float, SpotTable::kNodes> profile;
    table.profile(peclet, aspect, profile);
    const double top = truth(peclet, aspect, 0);
    for (int n = 0; n < SpotTable::kNodes; n += 3) {
      const double eta = double(n) / SpotTable::kStepsPerRadius;
      ASSERT_NEAR(profile[size_t(n)] / top, truth(peclet, aspect, eta) / top, 5e-4)
          << "Pe " << peclet << " aspect " << aspect << " eta " << eta;
    }
  }
}

TEST(SpotTable, RangesStayWithinAThousandthOfThePeak) {
  const struct {
    SpotTable::Range peclet, aspect;
  } rows[] = {{{0, 1e4}, {0.02, 50}},  {{0.01, 10}, {0.5, 2}}, {{5, 500}, {0.1, 10}},
              {{0.2, 0.21}, {1, 1.3}}, {{0, 0}, {0.2, 5}},     {{100, 1e4}, {1, 1}}};
  std::mt19937 random(6);
  for (const auto& row : rows) {
    const SpotTable table(row.peclet, row.aspect);
    for (int i = 0; i < 500; ++i) {
      const double peclet =
          row.peclet.high > 0 ? log_between(random, std::max(row.peclet.low, 1e-3), row.peclet.high) : 0;
      const double aspect = log_between(random, row.aspect.low, row.aspect.high);
      const double eta = std::uniform_real_distribution<double>(0, i % 2 ? 8 : 2)(random);
      const double top = truth(peclet, aspect, 0);
      ASSERT_NEAR(table.at(peclet, aspect, eta) / top, truth(peclet, aspect, eta) / top, 1e-3)
          << "Pe " << peclet << " aspect " << aspect << " eta " << eta;
    }
  }
}

TEST(SpotTable, FallsWithDistanceAndAgreesWithItsProfile) {
  std::mt19937 random(8);
  const SpotTable table({0.1, 100}, {0.3, 3});
  std::array<float, SpotTable::kNodes> profile;
  for (int i = 0; i < 100; ++i) {
    const double peclet = log_between(random, 0.1, 100), aspect = log_between(random, 0.3, 3);
    table.profile(peclet, aspect, profile);
    for (size_t n = 1; n < profile.size(); ++n) ASSERT_LT(profile[n], profile[n - 1]) << n;
    EXPECT_FLOAT_EQ(float(table.at(peclet, aspect, 1.25)), profile[40]);
    EXPECT_FLOAT_EQ(float(table.at(peclet, aspect, -1.265625)), 0.5f * (profile[40] + profile[41]));
  }
}

TEST(SpotTable, ClampsToItsRangeAndDecaysBeyondItsReach) {
  const SpotTable table({1, 2}, {1, 2});
  EXPECT_DOUBLE_EQ(table.at(0.5, 1, 0.7), table.at(1, 1, 0.7));
  EXPECT_DOUBLE_EQ(table.at(9, 5, 0.7), table.at(2, 2, 0.7));
  EXPECT_DOUBLE_EQ(table.at(1.5, 1.5, 16), table.at(1.5, 1.5, 8) / 2);
}

TEST(SpotTable, RefusesRangesOutsideItsModel) {
  EXPECT_THROW(SpotTable({-0.1, 1}, {1, 1}), quantity::ValidityError);
  EXPECT_THROW(SpotTable({0, 2e4}, {1, 1}), quantity::ValidityError);
  EXPECT_THROW(SpotTable({0, 1}, {0.01, 1}), quantity::ValidityError);
  EXPECT_THROW(SpotTable({2, 1}, {1, 1}), quantity::ValidityError);
  EXPECT_THROW(SpotTable({0, NAN}, {1, 1}), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::heat
