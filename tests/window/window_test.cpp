// Truth: settings looked at one by one.
#include "window/window.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::window {
namespace {

using mark::Ruling;
using mark::SmallJob;
using testing::HasSubstr;
using testing::ThrowsMessage;

TEST(Window, HasEveryFillInTheOrderOfItsAxes) {
  const mark::Scene scene = mark::prepare(SmallJob().job);
  Axes axes = axes_of(scene.job, 3, 4);
  axes.spacing = {40e-6, 80e-6};
  axes.focus_offset = {-1e-3, 0, 1e-3};
  axes.passes = {1, 2};
  const Window found = window(scene, axes);
  ASSERT_EQ(found.ends.size(), 48u);
  ASSERT_EQ(found.duration.size(), 48u);
  const double speed = axes.speed[2];
  const Ends own = Look(scene, place_of(scene, {80e-6, -1e-3, 2}), speed).ends();
  const size_t at = axes.index(1, 0, 1, 2);
  EXPECT_NEAR(found.ends[at].marks, own.marks, 1e-6 * own.marks);
  EXPECT_EQ(found.duration[at], durations(scene, {80e-6, -1e-3, 2}, {&speed, 1}).front());
  // A round beam is as wide above its focus as below.
  EXPECT_NEAR(found.ends[axes.index(0, 0, 0, 1)].marks, found.ends[axes.index(0, 2, 0, 1)].marks, 1e-9);
}

TEST(Window, DefaultsStayWithinTheMachine) {
  const job::Job job = SmallJob().with("scan.top_speed", "6000 mm/min").job;  // looks at no file
  const Axes axes = axes_of(job);
  EXPECT_EQ(axes.power.size(), 60u);
  EXPECT_EQ(axes.power.back(), job.laser.rated_power);
  EXPECT_NEAR(axes.speed.back(), 0.1, 1e-12);
  EXPECT_NEAR(axes.speed.front(), job.scan.speed / 5, 1e-12);
  check(axes, false);
}

TEST(Window, RulesByTheEnds) {
  const Ends ends{1, 2, 3, 5};
  EXPECT_EQ(ruling(ends, 0.5), Ruling::leaves_no_mark);
  EXPECT_EQ(ruling(ends, 2.5), Ruling::under_marks);
  EXPECT_EQ(ruling(ends, 3), Ruling::marks);
  EXPECT_EQ(ruling(ends, 5), Ruling::over_burns);
  EXPECT_EQ(ruling({1, 2, 7, 5}, 6), Ruling::over_burns);  // burnt before it is marked
}

TEST(Window, CountsTheWarmWallWhenAsked) {
  const mark::Scene scene = mark::prepare(SmallJob().bare("aisi_304", "0.3 mm").job);
  const Axes axes = axes_of(scene.job, 2, 3);
  const Window cold = window(scene, axes), warm = window(scene, axes, {.warming = true});
  ASSERT_EQ(warm.walls.size(), warm.ends.size());
  EXPECT_TRUE(cold.walls.empty());
  EXPECT_LT(warm.ends[0].burns, cold.ends[0].burns);
}

TEST(Window, RefusesAxesThatAreNone) {
  const Axes good = axes_of(SmallJob().job, 3, 3);
  const auto problem = [](const Axes& axes, const char* words) {
    EXPECT_THAT([&] { check(axes, false); }, ThrowsMessage<quantity::ValidityError>(HasSubstr(words)));
  };
  Axes axes = good;
  axes.power.clear();
  problem(axes, "window.power is empty");
  axes = good, std::swap(axes.speed[0], axes.speed[2]);
  problem(axes, "window.speed goes from");
  axes = good, axes.spacing = {0};
  problem(axes, "window.spacing has 0 mm at place 0");
  axes = good, axes.focus_offset = {std::numeric_limits<double>::quiet_NaN()};
  problem(axes, "window.focus_offset");
  axes = good, axes.passes = {2, 2};
  problem(axes, "window.passes goes from 2 to 2");
  EXPECT_THAT([] { axes_of(SmallJob().job, 0, 3); }, ThrowsMessage<quantity::ValidityError>(HasSubstr("0 powers")));
}

TEST(Window, SaysItsSizeBeforeItIsMany) {
  Axes axes = axes_of(SmallJob().job, 1100, 1000);
  EXPECT_THAT([&] { check(axes, false); }, ThrowsMessage<quantity::ValidityError>(HasSubstr("1100000 settings")));
  check(axes, true);
}

TEST(Window, CanBeStopped) {
  const mark::Scene scene = mark::prepare(SmallJob().job);
  EXPECT_THROW(window(scene, axes_of(scene.job, 2, 2), {.progress = [](double) { return false; }}), quantity::Interrupted);
  EXPECT_THROW(outlooks(Doubt(scene), window(scene, axes_of(scene.job, 2, 2)), [](double) { return false; }), quantity::Interrupted);
}

}  // namespace
}  // namespace circumfluence::window
