// Truth: each state computed by itself (heat/layered_spot.h).
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "heat/layered_spot.h"
#include "heat/spot_table.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

const Layer kPolymer{30e-6, 0.25, 2.1e6}, kOxide{8e-6, 1.2, 2.4e6}, kSteel{INFINITY, 16.2, 3.95e6},
    kAluminium{INFINITY, 167, 2.42e6};

double log_between(std::mt19937& random, double low, double high) {
  return low * std::pow(high / low, std::uniform_real_distribution<double>(0, 1)(random));
}

void expect_as_by_itself(const Stack& stack, double z, const LayeredTable::Range& range) {
  std::mt19937 random(9);
  const std::vector<Spot> spots{{20e-6, 30e-6, 0}, {40e-6, 40e-6, 0}, {120e-6, 60e-6, 0}};
  const LayeredTable table(stack, spots, range, z);
  std::vector<float> got(SpotTable::kNodes), expected(SpotTable::kNodes);
  for (int i = 0; i < 30; ++i) {
    Spot spot = spots[size_t(i % 3)];
    spot.speed = i < 3   ? range.low
                 : i < 6 ? range.high
                         : log_between(random, std::max(range.low, 1e-4), range.high);
    LayeredSpot(stack, spot, z).profile(expected);
    table.profile(i % 3, spot.speed, got);
    for (size_t n = 0; n < got.size(); ++n)
      ASSERT_NEAR(got[n] / expected[0], expected[n] / expected[0], 1e-3)
          << i % 3 << " " << spot.speed << " " << n;
  }
}

TEST(LayeredTable, WithinAThousandthOfThePeak) {
  const Stack coat{.layers = {kPolymer, kAluminium}}, anodised{.layers = {kOxide, kAluminium}, .depth = 4e-6};
  Stack wall{.layers = {kPolymer, kOxide, {0.4e-3, 16.2, 3.95e6}}};
  expect_as_by_itself(coat, 0, {0.005, 1});
  expect_as_by_itself(coat, 30e-6, {0.005, 1});
  expect_as_by_itself(anodised, 8e-6, {0.01, 5});
  expect_as_by_itself(wall, 38e-6, {0.002, 0.5});
  expect_as_by_itself({.layers = {kSteel}}, 0, {0, 2});
}

TEST(LayeredTable, OneSpeedIsTheStateItself) {
  const Stack stack{.layers = {kPolymer, kSteel}};
  const std::vector<Spot> spots{{40e-6, 40e-6, 0}};
  std::vector<float> got(SpotTable::kNodes), expected(SpotTable::kNodes);
  for (const double speed : {0.0, 0.1}) {
    LayeredTable(stack, spots, {speed, speed}, 10e-6).profile(0, 7.0, got);
    LayeredSpot(stack, {40e-6, 40e-6, speed}, 10e-6).profile(expected);
    for (size_t n = 0; n < got.size(); n += 5) EXPECT_NEAR(got[n] / expected[n], 1, 1e-5);
  }
}

TEST(LayeredTable, RefusesWhatNoStateCouldGive) {
  const std::vector<Spot> spots{{40e-6, 40e-6, 0}};
  const Stack wall{.layers = {{0.4e-3, 16.2, 3.95e6}}};
  EXPECT_THROW(LayeredTable(wall, spots, {0, 1}), quantity::ValidityError);
  EXPECT_THROW(LayeredTable(wall, {}, {0.1, 1}), quantity::ValidityError);
  EXPECT_THROW(LayeredTable(wall, spots, {1, 0.1}), quantity::ValidityError);
  EXPECT_THROW(LayeredTable(wall, spots, {NAN, 0.1}), quantity::ValidityError);
  EXPECT_THROW(LayeredTable({}, spots, {0.1, 1}), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::heat
