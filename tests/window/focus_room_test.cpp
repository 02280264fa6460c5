// Truth: an oval followed as it turns about an axis beside its own, circles and cones by school geometry, a
// fault whose ends are known.
#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"
#include "window/focus.h"
#include "workpiece/profile.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;

TEST(HeightRoom, OfAKnownFault) {
  const auto fault = [](double h) {
    return h < -1.234e-3 ? HeightFault::too_little
           : h > 0.5e-3  ? HeightFault::over_burns
                         : HeightFault::range;
  };
  const std::vector<double> steps{-2e-3, -1e-3, 0, 0.3e-3, 0.9e-3};
  const HeightRoom room = room_in_height(0.1e-3, steps, fault);
  EXPECT_NEAR(room.lowest.height, -1.234e-3, 1e-7);
  EXPECT_NEAR(room.highest.height, 0.5e-3, 1e-7);
  EXPECT_EQ(room.lowest.fault, HeightFault::too_little);
  EXPECT_EQ(room.highest.fault, HeightFault::over_burns);
  EXPECT_NEAR(used(room, {.down = 0.1e-3, .up = 0.3e-3}), 0.75, 1e-3);
  EXPECT_NEAR(used(room, {.down = 2.668e-3, .up = 0.3e-3}), 2, 1e-3);
  EXPECT_EQ(used(room, {}), 0);
  const HeightRoom alone = room_in_height(0.1e-3, {}, fault);
  EXPECT_TRUE(alone.holds);
  EXPECT_EQ(alone.up(), 0);
  EXPECT_TRUE(std::isinf(used(alone, {.up = 1e-6})));
  EXPECT_EQ(room_in_height(0.1e-3, {0.2e-3}, fault).highest.fault, HeightFault::range);
  EXPECT_FALSE(room_in_height(0.7e-3, steps, fault).holds);
}

// The surface over a vertical line beside the axis, as an oval turns about an axis beside its own: the
// highest point of radius r + (o/4) cos(2 (phi - phase)) about a centre R away from the turning axis, over
// many turns and phases.
Excursion turned(double radius, double aside, double runout, double ovality) {
  double lowest = 1, highest = -1;
  for (int p = 0; p < 24; ++p)
    for (int t = 0; t < 720; ++t) {
      const double phase = M_PI * p / 24, turn = 2 * M_PI * t / 720;
      const auto at = [&](double phi) { return radius + ovality / 4 * std::cos(2 * (phi - turn - phase)); };
      double low = -1, high = 1;  // azimuth from the top
      for (int i = 0; i < 50; ++i) {
        const double middle = (low + high) / 2;
        (at(middle) * std::sin(middle) + runout * std::sin(turn) < aside ? low : high) = middle;
      }
      const double height =
          at(low) * std::cos(low) + runout * std::cos(turn) - std::sqrt(radius * radius - aside * aside);
      lowest = std::min(lowest, height), highest = std::max(highest, height);
    }
  return {-lowest, highest};
}

TEST(Excursions, OfAnOvalThatTurnsBesideItsAxis) {
  for (const double aside : {0.0, 8e-3}) {
    SmallJob small;
    small.job.mount.runout = 0.3e-3, small.job.mount.beam_offset = aside;
    const Excursions found = excursions(mark::prepare(small.job), 0.8e-3, 0.1e-3);
    const Excursion runout = turned(30e-3, aside, 0.3e-3, 0), oval = turned(30e-3, aside, 0, 0.8e-3),
                    both = turned(30e-3, aside, 0.3e-3, 0.8e-3);
    EXPECT_EQ(found.form.up + found.form.down, 0);
    EXPECT_NEAR(found.runout.up, runout.up, 1e-8);
    EXPECT_NEAR(found.runout.down, runout.down, 1e-8);
    EXPECT_EQ(found.sag.up, 0.1e-3);
    for (const auto& [bound, seen] : {std::pair{found.ovality.up, oval.up},
                                      {found.ovality.down, oval.down},
                                      {found.total.up - 0.1e-3, both.up},
                                      {found.total.down - 0.1e-3, both.down}}) {
      EXPECT_GE(bound, seen - 1e-9);                               // never less than happens
      EXPECT_LE(bound, seen + (aside == 0 ? 1e-6 : 0.02 * seen));  // and hardly more
    }
  }
}

TEST(Excursions, OfStandingAndTaperedParts) {
  SmallJob small;
  small.job.mount.hold = motion::Hold::standing;  // art 3 mm across on 60 mm
  const Excursions curve = excursions(mark::prepare(small.job), 0, 0);
  EXPECT_EQ(curve.form.up, 0);
  EXPECT_NEAR(curve.form.down, workpiece::sagitta(30e-3, 1.5e-3), 1e-12);
  small.job.mount.runout = 0.2e-3;  // as it stands: a constant
  const Excursions lifted = excursions(mark::prepare(small.job), 0.4e-3, 0);
  EXPECT_NEAR(lifted.runout.up, 0.2e-3, 1e-12);
  EXPECT_EQ(lifted.runout.down, 0);
  EXPECT_NEAR(lifted.ovality.up, 0.1e-3, 1e-12);
  EXPECT_NEAR(lifted.total.up, 0.3e-3, 1e-12);
  SmallJob cone;
  cone.tapered(56e-3);  // 30 to 28 mm over 40 mm; art from 18 to 22 mm, focus in its middle
  const Excursions taper = excursions(mark::prepare(cone.job), 0, 0);
  EXPECT_NEAR(taper.form.up, 0.1e-3, 1e-12);
  EXPECT_NEAR(taper.form.down, 0.1e-3, 1e-11);
  cone.with("scan.focus_offset", "0.7 mm");  // the same about wherever the focus is
  EXPECT_NEAR(excursions(mark::prepare(cone.job), 0, 0).total.up, 0.1e-3, 1e-12);
}

}  // namespace
}  // namespace circumfluence::window
