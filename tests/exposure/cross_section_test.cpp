// Truth: differences of the cumulative profile in double, which tests/beam holds to its integral.
#include "exposure/cross_section.h"

#include <gtest/gtest.h>

#include <cmath>

namespace circumfluence::exposure {
namespace {

TEST(CrossSection, GivesTheShareOfEachCell) {
  constexpr float width = 20e-6f;
  for (const double order : {2.0, 4.0, 10.0, 40.0}) {
    const beam::SpotProfile profile(order);
    const CrossSection section(profile);
    std::vector<float> near, far, inverse_radius, inverse_width, shares(200), etas(200);
    for (int i = 0; i < 200; ++i) {
      near.push_back(static_cast<float>(i - 100) * 3.1e-6f);
      far.push_back(near.back() + width);
      inverse_radius.push_back(1 / (40e-6f + 1e-7f * static_cast<float>(i)));
      inverse_width.push_back(1 / width);
    }
    section.shares({near, far, inverse_radius, inverse_width}, shares, etas);
    for (int i = 0; i < 200; ++i) {
      const double w = 1 / double(inverse_radius[i]);
      EXPECT_NEAR(shares[i] * width, profile.cumulative(far[i] / w) - profile.cumulative(near[i] / w), 1e-6)
          << order;
      EXPECT_NEAR(etas[i], std::abs(double(near[i]) + double(far[i])) / (2 * w), 1e-5);
    }
  }
}

TEST(CrossSection, OfManyCellsIsOne) {
  const CrossSection section(beam::SpotProfile(2));
  std::vector<float> near, far, shares(60), etas(60);
  for (int i = 0; i < 60; ++i) {
    near.push_back(static_cast<float>(i - 30) * 10e-6f);
    far.push_back(static_cast<float>(i - 29) * 10e-6f);
  }
  const std::vector<float> inverse_radius(60, 1 / 50e-6f), inverse_width(60, 1 / 10e-6f);
  section.shares({near, far, inverse_radius, inverse_width}, shares, etas);
  double sum = 0;
  for (const float share : shares) sum += share * 10e-6;
  EXPECT_NEAR(sum, 1, 1e-6);
}

// A beam that misses the part there has no radius: inverse 0.
TEST(CrossSection, OfNoBeamIsNone) {
  const CrossSection section(beam::SpotProfile(2));
  const std::vector<float> near{-1e-5f}, far{1e-5f}, inverse_radius{0.0f}, inverse_width{5e4f};
  std::vector<float> shares(1), etas(1);
  section.shares({near, far, inverse_radius, inverse_width}, shares, etas);
  EXPECT_EQ(shares[0], 0);
}

}  // namespace
}  // namespace circumfluence::exposure
