// Truth: draws by hand, value exp(spread z); the caustic's own radii.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "beam/caustic.h"
#include "mark/small_job.h"
#include "quantity/constants.h"
#include "window/ends.h"
#include "window/unknown.h"

namespace circumfluence::window {
namespace {

using mark::Scene;
using mark::SmallJob;

constexpr double kNear = 1e-12;  // relative

SmallJob stated() {
  SmallJob small;
  small.with("laser.spot_axial", "120 um")
      .with("laser.shape_spread", "20 %")
      .with("laser.depth_spread", "30 %");
  return small;
}

SmallJob with_m2(const char* axial, const char* around) {
  SmallJob small;
  small.job.laser.focus_depth = quantity::kUnset;
  small.job.laser.m2_axial = 1.5;
  small.with("laser.m2_around", around).with("laser.m2_axial", axial).with("laser.depth_spread", "30 %");
  return small;
}

Unknown named(const Scene& scene, std::string_view name) {
  const std::vector<Unknown> all = unknowns(scene);
  const auto found = std::ranges::find(all, name, &Unknown::name);
  if (found == all.end()) throw std::out_of_range(std::string(name));
  return *found;
}

Scene with(const Scene& scene, std::string_view name, double deviate) {
  return drawn(scene, std::vector{named(scene, name)}, std::vector{deviate});
}

TEST(UnknownBeam, ShapeIsDrawnAtTheSameSize) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Unknown shape = named(scene, "laser.shape");
  EXPECT_DOUBLE_EQ(shape.value, 1.5);
  EXPECT_DOUBLE_EQ(shape.spread, 0.2);
  EXPECT_TRUE(shape.relative);
  for (const double z : {-2.0, 0.5, 1.0}) {
    const beam::Laser laser = with(scene, "laser.shape", z).job.laser;
    EXPECT_NEAR(laser.spot_axial / laser.spot_around, 1.5 * std::exp(0.2 * z), kNear);
    EXPECT_NEAR(laser.spot_axial * laser.spot_around, 120e-6 * 80e-6, kNear * 1e-8);
  }
}

TEST(UnknownBeam, DepthIsDrawnAsItIsGiven) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Unknown depth = named(scene, "laser.depth");
  EXPECT_NEAR(depth.value, 4e-3, kNear);
  EXPECT_STREQ(depth.unit, "mm");
  EXPECT_NEAR(with(scene, "laser.depth", 1).job.laser.focus_depth, 4e-3 * std::exp(0.3), kNear);
  EXPECT_NEAR(beam::caustic(with(scene, "laser.depth", 1).job.laser).around.rayleigh, 2e-3 * std::exp(0.3),
              kNear);
}

// A deeper focus at the same spot is a lesser M2, down to the 1 of light itself.
TEST(UnknownBeam, DepthOfAnM2IsItsInverse) {
  const SmallJob small = with_m2("4", "2");
  const Scene scene = mark::prepare(small.job);
  const double rayleigh = quantity::kPi * 40e-6 * 40e-6 / 450e-9;
  EXPECT_NEAR(named(scene, "laser.depth").value, 2 * rayleigh / std::sqrt(8.0), kNear);
  const beam::Laser deeper = with(scene, "laser.depth", 1).job.laser;
  EXPECT_NEAR(deeper.m2_axial, 4 * std::exp(-0.3), kNear);
  EXPECT_NEAR(deeper.m2_around, 2 * std::exp(-0.3), kNear);
  EXPECT_DOUBLE_EQ(deeper.spot_axial, 80e-6);
  const beam::Laser deepest = with(scene, "laser.depth", 4).job.laser;
  EXPECT_NEAR(deepest.m2_axial, 4 * std::exp(-1.2), kNear);
  EXPECT_EQ(deepest.m2_around, 1.0);
}

TEST(UnknownBeam, StaysASpotThatLightCanMake) {
  SmallJob small = with_m2("60", "60");
  const Scene scene = mark::prepare(small.with("laser.shape_spread", "100 %").job);
  const double least = 2 * 60 * 450e-9 / quantity::kPi;
  const beam::Laser laser = with(scene, "laser.shape", 6).job.laser;
  EXPECT_NEAR(laser.spot_around, least, kNear * least);
  EXPECT_GT(laser.spot_axial, 80e-6);
  EXPECT_NO_THROW(beam::check(laser));
}

// In focus its depth does nothing; out of focus a line of a deeper one is narrower and marks at less power.
TEST(UnknownBeam, DepthShowsOutOfFocusOnly) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const auto centre = [&](const Scene& one, double focus_offset) {
    const Fill fill{100e-6, focus_offset, 1};
    return Look(one, place_of(one, fill), one.job.scan.speed).ends().centre;
  };
  const Scene deeper = with(scene, "laser.depth", 1);
  EXPECT_NEAR(centre(deeper, 0) / centre(scene, 0), 1, 1e-6);
  EXPECT_LT(centre(deeper, 3e-3), 0.9 * centre(scene, 3e-3));
}

}  // namespace
}  // namespace circumfluence::window
