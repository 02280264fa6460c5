// Truth: the state of an index against the radii and the speed it stands for.
#include "exposure/light.h"

#include <gtest/gtest.h>

#include <cmath>

#include "exposure/slow_beam.h"

namespace circumfluence::exposure {
namespace {

Light light() {
  const slow::Trial t = slow::rod();
  return Light(beam::caustic(t.laser), workpiece::Profile(t.part), t.mount, t.mount.focus_at, 0);
}

TEST(States, AreOneWhereNothingVaries) {
  const States states(light(), motion::Direction::axial, {0.1e-3, 0.1e-3}, {0.05, 0.05});
  ASSERT_EQ(states.list().size(), 1u);
  EXPECT_NEAR(states.list()[0].speed, 0.05, 1e-15);
  EXPECT_DOUBLE_EQ(states.list()[0].along, light().radii(0.1e-3).axial);
  EXPECT_DOUBLE_EQ(states.list()[0].across, light().radii(0.1e-3).around);
  EXPECT_EQ(states.index(5, 5), 0);
}

TEST(States, OfLinesAroundSwapTheRadii) {
  const States states(light(), motion::Direction::around, {0.1e-3, 0.1e-3}, {0.05, 0.05});
  EXPECT_DOUBLE_EQ(states.list()[0].along, light().radii(0.1e-3).around);
  EXPECT_DOUBLE_EQ(states.list()[0].across, light().radii(0.1e-3).axial);
}

// Two millimetres of height and a factor of two in speed, alone and together.
TEST(States, AreWithinOnePerCent) {
  struct Case {
    States::Range height, speed;
  };
  for (const Case& c : {Case{{-1.5e-3, 0.5e-3}, {0.05, 0.05}}, Case{{0, 0}, {0.025, 0.05}},
                        Case{{-1.5e-3, 0.5e-3}, {0.025, 0.05}}}) {
    const States states(light(), motion::Direction::axial, c.height, c.speed);
    EXPECT_LE(states.list().size(), 4096u);
    for (int i = 0; i <= 50; ++i)
      for (int j = 0; j <= 50; ++j) {
        const double z = c.height.low + (c.height.high - c.height.low) * i / 50;
        const double v = c.speed.low + (c.speed.high - c.speed.low) * j / 50;
        const SpotState& state = states.list()[states.index(z, v)];
        EXPECT_NEAR(state.along / light().radii(z).axial, 1, 0.01);
        EXPECT_NEAR(state.across / light().radii(z).around, 1, 0.01);
        EXPECT_NEAR(state.speed / v, 1, 0.01);
      }
  }
}

TEST(States, BeyondTheirRangesAreTheOutermost) {
  const States states(light(), motion::Direction::axial, {-1e-3, 0}, {0.01, 0.1});
  EXPECT_EQ(states.index(-5e-3, 1e-3), states.index(-1e-3, 0.01));
  EXPECT_EQ(states.index(5e-3, 7), states.index(0, 0.1));
}

}  // namespace
}  // namespace circumfluence::exposure
