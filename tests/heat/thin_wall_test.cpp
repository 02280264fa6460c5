// Truth: a plate with insulated faces by mirror images of the half-space (exact), its published values
// computed by two independent methods (theta sum and Fourier), and limits.
#include "heat/thin_wall.h"

#include <gtest/gtest.h>

#include <cmath>

namespace circumfluence::heat {
namespace {

const Solid kSteel{16.2, 16.2 / (7900.0 * 500)};
const Solid kAluminium{167, 167 / (2700.0 * 896)};
constexpr double kRadius = 40e-6, kSpeed = 41.667e-3;

double plate(const Solid& solid, double wall, double speed) {
  return peak(solid, {kRadius, kRadius, speed}).rise + wall_excess(solid, wall, speed);
}

// The highest rise on the lit face: the spot itself and its images at depths 2 n h, twice each.
double by_images(const Solid& solid, double wall, double speed) {
  const Spot spot{kRadius, kRadius, speed};
  double most = 0;
  for (double x = -6 * kRadius; x <= 0; x += kRadius / 16) {
    double sum = rise(solid, spot, {x, 0, 0});
    for (int n = 1; n < 20000; ++n) {
      const double image = 2 * rise(solid, spot, {x, 0, 2 * n * wall});
      sum += image;
      if (image < 1e-7 * sum) break;
    }
    most = std::max(most, sum);
  }
  return most;
}

TEST(ThinWall, PublishedPlates) {
  EXPECT_NEAR(plate(kSteel, 0.5e-3, kSpeed) / 571.4130, 1, 0.01);
  EXPECT_NEAR(plate(kSteel, 0.2e-3, kSpeed) / 578.2384, 1, 0.01);
  EXPECT_NEAR(plate(kAluminium, 0.4e-3, kSpeed) / 63.1027, 1, 0.01);
  EXPECT_NEAR(plate(kAluminium, 0.1e-3, kSpeed) / 86.3688, 1, 0.01);
}

TEST(ThinWall, ImagesOfTheSpotItself) {
  for (const double wall : {0.16e-3, 0.3e-3, 0.8e-3})
    for (const double speed : {0.02, 0.1, 0.4}) {
      EXPECT_NEAR(plate(kAluminium, wall, speed) / by_images(kAluminium, wall, speed), 1, 0.01)
          << wall << " " << speed;
      EXPECT_NEAR(plate(kSteel, wall, speed) / by_images(kSteel, wall, speed), 1, 0.01)
          << wall << " " << speed;
    }
}

TEST(ThinWall, ThickWallAddsNothingAndRestHasNoSteadyState) {
  EXPECT_LT(wall_excess(kSteel, 20e-3, kSpeed), 1e-12);
  EXPECT_TRUE(std::isinf(wall_excess(kSteel, 0.5e-3, 0)));
}

TEST(ThinWall, GrowsAsTheWallThinsAndTheSpotSlows) {
  for (double wall = 2e-3; wall > 0.1e-3; wall *= 0.8) {
    EXPECT_GT(wall_excess(kAluminium, wall * 0.8, kSpeed), wall_excess(kAluminium, wall, kSpeed));
    EXPECT_GT(wall_excess(kAluminium, wall, kSpeed * 0.8), wall_excess(kAluminium, wall, kSpeed));
  }
}

}  // namespace
}  // namespace circumfluence::heat
