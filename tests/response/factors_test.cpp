// Truth: order statistics of the same numbers, sorted.
#include "response/factors.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace circumfluence::response {
namespace {

constexpr float kNever = std::numeric_limits<float>::infinity();
constexpr double kStep = 1.0 / 64;  // the widest step, just above a power of two

std::vector<float> any_factors(int most) {
  const auto one =
      rc::gen::map(rc::gen::inRange(-30'000, 30'000), [](int i) { return std::exp2(float(i) * 1e-3f); });
  return *rc::gen::resize(most, rc::gen::nonEmpty(rc::gen::container<std::vector<float>>(one)));
}

RC_GTEST_PROP(Factors, OrderStatistics, ()) {
  std::vector<float> values = any_factors(3000);
  Factors factors;
  factors.add(values);
  std::sort(values.begin(), values.end());
  const size_t at = *rc::gen::inRange<size_t>(0, values.size());
  RC_ASSERT(factors.cells() == values.size());
  RC_ASSERT(std::abs(factors.at_count(double(at) + 1) / values[at] - 1) <= kStep);
}

RC_GTEST_PROP(Factors, ChosenCellsOnlyAndSums, ()) {
  const std::vector<float> values = any_factors(5000);
  std::vector<std::uint8_t> chosen(values.size());
  for (std::uint8_t& c : chosen) c = static_cast<std::uint8_t>(*rc::gen::inRange(0, 3));
  std::vector<float> kept;
  for (size_t i = 0; i < values.size(); ++i)
    if (chosen[i] != 0) kept.push_back(values[i]);
  Factors by_choice, alone, twice;
  by_choice.add(values, chosen);
  alone.add(kept);
  twice.add(by_choice);
  twice.add(alone);
  RC_ASSERT(by_choice.cells() == kept.size());
  RC_ASSERT(twice.cells() == 2 * kept.size());
  for (const double share : {0.1, 0.5, 0.95}) {
    RC_ASSERT(by_choice.at_count(share * double(kept.size())) == alone.at_count(share * double(kept.size())));
    RC_ASSERT(twice.at_count(2 * share * double(kept.size())) == alone.at_count(share * double(kept.size())));
  }
}

TEST(Factors, BeyondEveryPower) {
  Factors factors;
  const std::vector<float> values = {0.5f, kNever, 2.0f, kNever};
  factors.add(values);
  EXPECT_EQ(factors.cells(), 4u);
  EXPECT_NEAR(factors.at_count(2), 2, 2 * kStep);
  EXPECT_TRUE(std::isinf(factors.at_count(3)));
  EXPECT_TRUE(std::isinf(Factors().at_count(1)));
}

TEST(Factors, GrowsWithTheCount) {
  Factors factors;
  std::vector<float> values;
  for (int i = 0; i < 10'000; ++i) values.push_back(0.3f + 0.0007f * float(i % 977));
  factors.add(values);
  double before = 0;
  for (int count = 1; count <= 10'000; count += 37) {
    EXPECT_GE(factors.at_count(count), before);
    before = factors.at_count(count);
  }
}

// The histogram read the other way.
TEST(Factors, TellTheShareAtAFactor) {
  Factors factors;
  const std::vector<float> cells{0.5f, 1.0f, 2.0f, 4.0f, std::numeric_limits<float>::infinity()};
  factors.add(cells);
  EXPECT_EQ(Factors().share_at(1), 0);
  EXPECT_EQ(factors.share_at(0.1), 0);
  EXPECT_NEAR(factors.share_at(0.75), 0.2, 1e-12);
  EXPECT_NEAR(factors.share_at(3), 0.6, 1e-12);
  EXPECT_NEAR(factors.share_at(1e9), 0.8, 1e-12);  // one no power reaches
  EXPECT_NEAR(factors.share_at(factors.at_count(3)), 0.6, 0.01);
}

}  // namespace
}  // namespace circumfluence::response
