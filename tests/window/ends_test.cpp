// Truth: each speed solved by itself; a whole prediction's own figures.
#include "window/ends.h"

#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;

std::vector<double> speeds(double from, double to, int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back(from * std::pow(to / from, double(i) / (count - 1)));
  return out;
}

SmallJob part(const std::string& base) {
  SmallJob small;
  if (base == "dyed")
    small.with("workpiece.coat", "anodic_layer_dyed_black").with("workpiece.coat_thickness", "10 um");
  else if (!base.empty())
    small.bare(base.c_str());
  return small;
}

void expect_near(double found, double truth, double share) {
  if (std::isinf(truth))
    EXPECT_TRUE(std::isinf(found));
  else
    EXPECT_NEAR(found, truth, share * truth);
}

TEST(Ends, BetweenSolvedSpeedsLieOnTheCurve) {
  for (const char* base : {"", "dyed", "aisi_304", "cardboard"}) {
    const mark::Scene scene = mark::prepare(part(base).job);
    const Place place = place_of(scene, {40e-6, 0, 1});
    const std::vector<double> all = speeds(2e-3, 0.2, 97);
    const std::vector<Ends> found = ends(scene, place, all);
    for (size_t i = 5; i < all.size(); i += 13) {
      const Ends own = Look(scene, place, all[i]).ends();
      SCOPED_TRACE(std::string(base) + " at " + std::to_string(all[i]));
      expect_near(found[i].begins, own.begins, 5e-3);
      expect_near(found[i].centre, own.centre, 5e-3);
      expect_near(found[i].marks, own.marks, 5e-3);
      expect_near(found[i].burns, own.burns, 5e-3);
    }
  }
}

TEST(Ends, AreTheSameInAnyOrderAndOnAnyThreads) {
  const mark::Scene scene = mark::prepare(part("aisi_304").job);
  const Place place = place_of(scene, fill_of(scene.job));
  const std::vector<double> rising = speeds(5e-3, 50e-3, 9), falling(rising.rbegin(), rising.rend());
  const std::vector<Ends> one = ends(scene, place, rising, {}, 1), two = ends(scene, place, falling, {}, 3);
  for (size_t i = 0; i < rising.size(); ++i) {
    EXPECT_EQ(one[i].marks, two[rising.size() - 1 - i].marks);
    EXPECT_EQ(one[i].burns, two[rising.size() - 1 - i].burns);
  }
  EXPECT_TRUE(ends(scene, place, {}).empty());
}

// An end is a power: the job's own doesn't come into it.
TEST(Ends, DoNotDependOnTheJobsPower) {
  for (const char* base : {"", "aisi_304"}) {
    SmallJob weak = part(base), strong = part(base);
    weak.with("scan.power", "10 %"), strong.with("scan.power", "100 %");
    const std::vector<double> at{20e-3};
    const auto of = [&](const SmallJob& small) {
      const mark::Scene scene = mark::prepare(small.job);
      return ends(scene, place_of(scene, {40e-6, 0, 1}), at).front();
    };
    EXPECT_NEAR(of(weak).marks, of(strong).marks, 1e-3 * of(strong).marks);
    EXPECT_NEAR(of(weak).burns, of(strong).burns, 1e-3 * of(strong).burns);
  }
}

// Both go through the same laws: the verdict's own fill.
TEST(Ends, GiveTheVerdictItsLeastFactorWhereTheFillLimits) {
  SmallJob small;
  small.with("scan.spacing", "0.12 mm");
  const mark::MarkMap map = small.on_a_cold_wall();
  ASSERT_TRUE(map.verdict.fill_limits);
  const mark::Scene scene = mark::prepare(small.job);
  const double speed = scene.job.scan.speed;
  EXPECT_NEAR(ends(scene, place_of(scene, fill_of(scene.job)), {&speed, 1}).front().marks, map.verdict.least_factor * scene.power(),
              1e-3 * scene.power());
}

// A bare metal burns where its own rise and the wall's reach the limit: limit / burns = own + wall, a watt.
TEST(Ends, FallOnAWallThatIsWarm) {
  SmallJob small;
  const mark::Scene scene = mark::prepare(small.bare("aisi_304", "0.4 mm").job);
  const double speed = 10e-3;
  const Place place = place_of(scene, fill_of(scene.job));
  const WallRise warm{10, 20};
  Look look(scene, place, speed);
  const double limit = look.model().limit_rise(), cold = look.ends().burns;
  EXPECT_NEAR(limit / look.ends(warm).burns, limit / cold + 20, 1e-3 * limit / cold);
}

TEST(WallRise, IsThatOfTheWholePrediction) {
  SmallJob small;
  small.bare("aisi_304", "0.3 mm").with("scan.speed", "600 mm/min");
  const mark::Scene scene = mark::prepare(small.job);
  const double speed = scene.job.scan.speed;
  const WallRise found = wall_rises(scene, fill_of(scene.job), {&speed, 1}).front();
  const mark::Verdict verdict = small.predicted().verdict;
  const response::Model model = mark::respond(scene, {{40e-6, 40e-6, speed}});
  ASSERT_GT(verdict.warmest_wall - model.start, 20);
  EXPECT_NEAR(found.greatest * scene.power(), heat::linear_rise(model.conductivity, verdict.warmest_wall - model.start), 1e-3);
  EXPECT_LT(found.mean, found.greatest);
}

TEST(Durations, AreThoseOfThePlan) {
  SmallJob small;
  small.with("scan.speed", "1000 mm/min").with("scan.passes", "2");
  const mark::Scene scene = mark::prepare(small.job);
  const double speed = scene.job.scan.speed;
  EXPECT_EQ(durations(scene, fill_of(scene.job), {&speed, 1}).front(), mark::plan(scene).duration);
}

}  // namespace
}  // namespace circumfluence::window
