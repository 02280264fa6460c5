// Truth: the wish itself, looked at again with other draws; whole numbers of a search done by hand.
#include "window/recommend.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;
using testing::HasSubstr;

SmallJob doubtful() {
  SmallJob small;
  small.with("laser.power_spread", "5 %").with("laser.spot_spread", "10 %").with("workpiece.coat_spread", "20 %");
  return small;
}

Recommendation advised(const Doubt& doubt, const Window& made, const Wish& wish = {}) {
  return recommend(doubt, made, outlooks(doubt, made), wish);
}

struct Found {
  explicit Found(const SmallJob& small, const Wish& wish = {})
      : scene(mark::prepare(small.job)), doubt(scene), made(window(scene, axes_of(scene.job, 2, 24))), result(advised(doubt, made, wish)) {}
  mark::Scene scene;
  Doubt doubt;
  Window made;
  Recommendation result;
};

TEST(Recommend, MeetsTheWishAndNothingFasterDoes) {
  const Found found(doubtful());
  ASSERT_TRUE(found.result.fastest);
  const Setting& s = *found.result.fastest;
  EXPECT_GE(s.chances.marks, 0.95);
  EXPECT_LE(1 - s.chances.spares, 0.05);
  EXPECT_LE(s.power, found.scene.job.laser.rated_power * (1 + 1e-9));
  EXPECT_GE(s.power, s.power_low);
  EXPECT_LE(s.power, s.power_high);
  const Doubt other(found.scene, {.count = 512, .seed = 99});
  const double faster = 1.05 * s.speed;
  const Place place = place_of(found.scene, s.fill);
  EXPECT_NEAR(other.over(place, {&s.speed, 1}).front().at(s.power).marks, s.chances.marks, 0.03);
  const Outlook beyond = found.doubt.over(place, {&faster, 1}).front();
  EXPECT_GT(beyond.least(0.95), std::min(beyond.greatest(0.95), found.scene.job.laser.rated_power));
  EXPECT_LT(s.least_factor.low, s.least_factor.middle);
  EXPECT_LT(s.least_factor.high, 1.001);  // the 95th percentile of what marks is no more than what is set
}

TEST(Recommend, TradesTimeForSafety) {
  const Found found(doubtful());
  ASSERT_GT(found.result.trade.size(), 5u);
  for (size_t i = 1; i < found.result.trade.size(); ++i) {
    EXPECT_GT(found.result.trade[i].duration, found.result.trade[i - 1].duration);
    EXPECT_GT(found.result.trade[i].chances.good, found.result.trade[i - 1].chances.good);
  }
}

TEST(Recommend, TakesTheFasterOfTwoFills) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  Axes axes = axes_of(scene.job, 2, 24);
  axes.spacing = {50e-6, 80e-6};
  const Doubt doubt(scene);
  const Recommendation both = advised(doubt, window(scene, axes));
  ASSERT_TRUE(both.fastest);
  for (const double spacing : axes.spacing) {
    Axes one = axes;
    one.spacing = {spacing};
    const Recommendation alone = advised(doubt, window(scene, one));
    if (alone.fastest) {
      EXPECT_GE(alone.fastest->duration, both.fastest->duration - 1e-9);
    }
  }
}

// Each relaxation, followed, is enough.
TEST(Recommend, SaysWhichLimitWouldHaveToGiveWay) {
  SmallJob weak = doubtful();
  weak.with("laser.rated_power", "2 W").with("scan.speed", "6000 mm/min");
  const Found found(weak);
  ASSERT_FALSE(found.result.fastest);
  ASSERT_FALSE(found.result.relaxations.empty());
  bool power = false, speed = false, spacing = false;
  for (const Relaxation& relax : found.result.relaxations) {
    SCOPED_TRACE(relax.what);
    SmallJob again = doubtful();
    again.with("laser.rated_power", "2 W").with("scan.speed", "6000 mm/min");
    Wish wish;
    if (relax.what == "laser.rated_power") {
      power = true;
      again.job.laser.rated_power = 1.001 * relax.to;
    } else if (relax.what == "chance of marking") {
      wish.marks = relax.to - 1e-6;
    } else if (relax.what == "scan.speed") {
      speed = true;
      EXPECT_LT(relax.to, relax.from);
      again.job.scan.speed = relax.to;
    } else if (relax.what == "scan.spacing") {
      spacing = true;
      again.job.scan.spacing = relax.to;
    } else if (relax.what == "scan.passes") {
      again.job.scan.passes = int(relax.to);
    }
    EXPECT_TRUE(Found(again, wish).result.fastest);
  }
  EXPECT_TRUE(power && speed && spacing);
  EXPECT_THAT(text(found.scene, found.result, {}), HasSubstr("relax      laser.rated_power"));
}

TEST(Recommend, SpeaksInWordsAndForScripts) {
  const Found found(doubtful());
  const std::string words = text(found.scene, found.result, {});
  EXPECT_THAT(words, HasSubstr("settings"));
  EXPECT_THAT(words, HasSubstr("mm/min"));
  EXPECT_THAT(json(found.result, {}), HasSubstr("\"fastest\": {\"power\""));
}

TEST(Recommend, RefusesChancesThatAreNone) {
  const mark::Scene scene = mark::prepare(SmallJob().job);
  const Doubt doubt(scene, {.count = 8});
  const Window made = window(scene, axes_of(scene.job, 2, 2));
  EXPECT_THROW(advised(doubt, made, {.marks = 1.2}), quantity::ValidityError);
  EXPECT_THROW(advised(doubt, made, {.burns = -0.1}), quantity::ValidityError);
  EXPECT_THROW(advised(doubt, made, {.burns = std::nan("")}), quantity::ValidityError);
  EXPECT_THROW(recommend(doubt, made, {}), quantity::ValidityError);  // an outlook for each solution
}

}  // namespace
}  // namespace circumfluence::window
