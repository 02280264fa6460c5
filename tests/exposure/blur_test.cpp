// Truth: the double integral over dot and cell by quadrature; a convolution written as a loop; sums that must
// be 1.
#include "exposure/cross_section.h"

#include <gtest/gtest.h>

#include <cmath>

namespace circumfluence::exposure {
namespace {

// Mean over the cell of the beam's profile integrated over the dot, by midpoints.
double direct(const beam::SpotProfile& profile, double radius, double half, double from, double to) {
  constexpr int n = 400;
  double sum = 0;
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j) {
      const double y = -half + (i + 0.5) * 2 * half / n, x = from + (j + 0.5) * (to - from) / n;
      sum += profile.density((y - x) / radius) / radius * (to - from) / n / n;
    }
  return sum;
}

TEST(DotWeight, IsTheMeanOverTheCell) {
  for (const double order : {2.0, 4.0, 10.0}) {
    const beam::SpotProfile profile(order);
    for (const double from : {-130e-6, -35e-6, -10e-6, 5e-6, 60e-6})
      EXPECT_NEAR(dot_weight(profile, 50e-6, 12e-6, from, from + 20e-6),
                  direct(profile, 50e-6, 12e-6, from, from + 20e-6), 1e-6)
          << order << " " << from;
  }
}

TEST(DotWeight, OfAllDotsIsOneAndFarAwayIsNone) {
  const beam::SpotProfile profile(2);
  EXPECT_NEAR(dot_weight(profile, 50e-6, 10e-6, -1e-3, 1e-3), 1, 1e-7);
  EXPECT_EQ(dot_weight(profile, 50e-6, 10e-6, 1e-3, 2e-3), 0);
  EXPECT_EQ(dot_weight(profile, 50e-6, 10e-6, -2, -1), 0);
}

TEST(GridWeights, AreEvenAndSumToOne) {
  for (const double order : {2.0, 10.0}) {
    const beam::SpotProfile profile(order);
    const int pad = 1 + static_cast<int>(std::ceil(profile.reach() * 80e-6 / 20e-6));
    const std::vector<float> weights = grid_weights(profile, 80e-6, 20e-6, pad);
    double sum = 0;
    for (size_t i = 0; i < weights.size(); ++i) {
      EXPECT_NEAR(weights[i], weights[weights.size() - 1 - i], 1e-8);
      sum += weights[i];
    }
    EXPECT_NEAR(sum, 1, 1e-6);
  }
}

TEST(Blur, IsAConvolutionByLoop) {
  const int pad = 3, n = 37;
  std::vector<float> dots, weights, out(n), varied(n), spread;
  for (int i = 0; i < n + 2 * pad; ++i) dots.push_back(static_cast<float>((i * 7919) % 101));
  for (int m = 0; m < 2 * pad + 1; ++m) weights.push_back(m == 2 ? 0.0f : 0.1f * static_cast<float>(m));
  for (const float w : weights)
    for (int i = 0; i < n; ++i) spread.push_back(w * static_cast<float>(i));
  blur(dots, weights, out);
  blur_varied(dots, spread, varied);
  for (int i = 0; i < n; ++i) {
    double sum = 0;
    for (int m = -pad; m <= pad; ++m) sum += double(weights[m + pad]) * dots[i + m + pad];
    EXPECT_NEAR(out[i], sum, 1e-5 * sum);
    EXPECT_NEAR(varied[i], sum * i, 1e-5 * sum * i);
  }
}

}  // namespace
}  // namespace circumfluence::exposure
