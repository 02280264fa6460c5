// Truth: the circle, height sqrt(r^2 - y^2), and ISO 11146-1 for the radii at that height.
#include "exposure/light.h"

#include <gtest/gtest.h>

#include <cmath>

#include "exposure/slow_beam.h"
#include "quantity/error.h"

namespace circumfluence::exposure {
namespace {

Light light(const slow::Trial& t) {
  return Light(beam::caustic(t.laser), workpiece::Profile(t.part), t.mount, t.mount.focus_at,
               t.scan.focus_offset);
}

TEST(Light, IsInFocusWhereTheFocusWasSet) {
  slow::Trial t = slow::rod();
  t.mount.beam_offset = 3e-3;
  const Light turning = light(t);
  EXPECT_NEAR(turning.focus_height(), 4e-3, 1e-15);
  const motion::Pose pose = motion::pose(t.mount, 5e-3, 1e-3);
  EXPECT_NEAR(turning.height(5e-3, pose.azimuth_under_beam(5e-3), pose), 0, 1e-15);
  EXPECT_NEAR(turning.radii(0).axial, 45e-6, 1e-18);
  EXPECT_NEAR(turning.radii(0).around, 65e-6, 1e-18);
  t.mount.hold = motion::Hold::standing;
  EXPECT_NEAR(light(t).focus_height(), 5e-3, 1e-15);
}

TEST(Light, AFocusAboveTheSurfaceLeavesItBelow) {
  slow::Trial t = slow::rod();
  t.scan.focus_offset = 0.5e-3;
  EXPECT_NEAR(light(t).height(5e-3, 0, motion::pose(t.mount, 5e-3, 0)), -0.5e-3, 1e-15);
}

TEST(Light, FallsByTheSagittaOnAStandingPart) {
  slow::Trial t = slow::rod();
  t.mount.hold = motion::Hold::standing;
  const motion::Pose pose = motion::pose(t.mount, 5e-3, 2e-3);
  const double z = light(t).height(5e-3, pose.azimuth_under_beam(5e-3), pose);
  EXPECT_NEAR(z, -workpiece::sagitta(5e-3, 2e-3), 1e-15);
  const double rayleigh = quantity::kPi * 45e-6 * 45e-6 / (4 * 450e-9);
  EXPECT_NEAR(light(t).radii(z).axial, 45e-6 * std::hypot(1, z / rayleigh), 1e-15);
}

TEST(Light, RefusesABeamBesideThePart) {
  slow::Trial t = slow::rod();
  t.mount.beam_offset = 5e-3;
  EXPECT_THROW(light(t), quantity::JobError);
  t.mount.beam_offset = NAN;
  EXPECT_THROW(light(t), quantity::JobError);
}

}  // namespace
}  // namespace circumfluence::exposure
