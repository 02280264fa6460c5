// Truth: plain Monte Carlo; closed forms of lognormal figures; whole predictions of drawn scenes.
#include "window/chance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "mark/small_job.h"
#include "mark/traverse.h"
#include "quantity/error.h"
#include "window/width.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;
using testing::Each;

SmallJob doubtful() {
  SmallJob small;
  small.with("laser.power_spread", "8 %").with("laser.spot_spread", "10 %").with("mount.height_spread", "0.4 mm");
  small.with("workpiece.coat_spread", "20 %").with("scan.speed", "1500 mm/min");
  return small;
}

double phi(double x) {
  return 0.5 * std::erfc(-x / std::sqrt(2.0));
}

TEST(Outlook, IsTheClosedFormOfEachDraw) {
  const Outlook one({std::log(2.0)}, {std::log(8.0)}, 0.2);
  for (const double power : {1.0, 2.0, 3.0, 9.0}) {
    const Chances c = one.at(power);
    EXPECT_NEAR(c.marks, phi(std::log(power / 2) / 0.2), 1e-12);
    EXPECT_NEAR(c.spares, phi(std::log(8 / power) / 0.2), 1e-12);
    EXPECT_NEAR(c.good, phi(std::log(power / 2) / 0.2) - phi(std::log(power / 8) / 0.2), 1e-12);
  }
  EXPECT_NEAR(one.least(0.95), 2 * std::exp(0.2 * 1.6448536), 1e-6);
  EXPECT_NEAR(one.greatest(0.95), 8 * std::exp(-0.2 * 1.6448536), 1e-6);
}

TEST(Outlook, CountsWhereThePowerIsKnown) {
  const Outlook four({0, 1, 2, 3}, {4, 4, 1.5, 9}, 0);
  EXPECT_EQ(four.at(std::exp(1.6)).marks, 0.5);
  EXPECT_EQ(four.at(std::exp(1.6)).spares, 0.75);
  EXPECT_EQ(four.at(std::exp(3.5)).good, 0.75);
  EXPECT_NEAR(four.least(0.75), std::exp(2), 1e-6);
}

TEST(Outlook, FindsThePowersOfAChance) {
  const Outlook some({0.1, 0.5, 0.9, 1.3}, {2, 2.2, 2.1, 1.9}, 0.1);
  for (const double chance : {0.05, 0.5, 0.95}) {
    EXPECT_NEAR(some.at(some.least(chance)).marks, chance, 1e-6);
    EXPECT_NEAR(some.at(some.greatest(chance)).spares, chance, 1e-6);
  }
  const double best = some.best(100);
  for (const double factor : {0.8, 0.9, 1.1, 1.25}) EXPECT_LE(some.at(best * factor).good, some.at(best).good + 2e-3);
  EXPECT_LE(some.best(2.5), 2.5);
  EXPECT_TRUE(std::isinf(Outlook({1e4, 1e4}, {1e4, 1e4}, 0.1).least(0.5)));
  EXPECT_TRUE(std::isinf(Outlook({0, 0}, {1e4, 1e4}, 0.1).greatest(0.5)));
}

TEST(Interval, IsThatOfPercentiles) {
  std::vector<double> hundred;
  for (int i = 100; i >= 0; --i) hundred.push_back(i);
  const Interval found = interval(hundred);
  EXPECT_EQ(found.low, 5);
  EXPECT_EQ(found.middle, 50);
  EXPECT_EQ(found.high, 95);
}

TEST(Doubt, AgreesWithPlainMonteCarlo) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  const Place place = place_of(scene, fill_of(scene.job));
  const std::vector<double> speed{scene.job.scan.speed};
  const Outlook outlook = Doubt(scene).over(place, speed).front();

  std::mt19937_64 dice(7);
  std::normal_distribution<double> normal;
  const std::vector<Unknown> all = unknowns(scene);
  const double powers[] = {3, 5, 7, 9};
  constexpr int kDraws = 4000;
  std::array<int, 4> good{};
  std::vector<double> deviates(all.size());
  for (int i = 0; i < kDraws; ++i) {
    for (double& z : deviates) z = normal(dice);
    const mark::Scene one = drawn(scene, all, deviates);
    const Ends ends = Look(one, place_of(one, fill_of(one.job)), speed[0]).ends();
    for (size_t k = 0; k < good.size(); ++k) {
      const double arrives = powers[k] * one.power() / scene.power();
      good[k] += arrives >= ends.marks && arrives < ends.burns;
    }
  }
  for (size_t k = 0; k < good.size(); ++k) EXPECT_NEAR(outlook.at(powers[k]).good, double(good[k]) / kDraws, 0.025) << powers[k];
}

TEST(Doubt, IsRepeatableOnAnyThreads) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  const Place place = place_of(scene, fill_of(scene.job));
  const std::vector<double> speeds{10e-3, 20e-3};
  const auto marks = [&](const Draws& draws) { return Doubt(scene, draws).over(place, speeds)[1].marks(); };
  EXPECT_EQ(marks({.count = 16, .seed = 5, .threads = 1}), marks({.count = 16, .seed = 5, .threads = 3}));
  EXPECT_NE(marks({.count = 16, .seed = 5}), marks({.count = 16, .seed = 6}));
}

TEST(Doubt, IsOneDrawWhereNothingButThePowerIsOpen) {
  SmallJob small = doubtful();
  mark::Scene scene = mark::prepare(small.job);
  for (const auto& field : workpiece::material_fields())
    if (const auto* figure = std::get_if<quantity::Figure workpiece::Material::*>(&field.member)) {
      (scene.base.**figure).spread = 0;
      (*scene.coat.*(*figure)).spread = 0;
    }
  for (auto* material : {&scene.base, &*scene.coat})
    for (auto& optics : material->optics) optics.absorptivity.spread = 0;
  scene.job.laser.spot_spread = scene.job.workpiece.coat_spread = scene.job.mount.height_spread = quantity::kUnset;
  const Doubt doubt(scene);
  EXPECT_EQ(doubt.count(), 1);
  EXPECT_EQ(doubt.power_spread(), 0.08);
}

TEST(Doubt, RefusesACountThatIsNone) {
  const mark::Scene scene = mark::prepare(SmallJob().job);
  EXPECT_THROW(Doubt(scene, {.count = 1}), quantity::ValidityError);
  EXPECT_THROW(Doubt(scene, {.count = 2000000}), quantity::ValidityError);
}

// Curves over speed of each draw against its own solution.
TEST(Doubt, KeepsItsChancesBetweenNodes) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  const Place place = place_of(scene, fill_of(scene.job));
  std::vector<double> many;
  for (int i = 0; i < 40; ++i) many.push_back(8e-3 * std::pow(10.0, i / 39.0));
  const Doubt doubt(scene, {.count = 32});
  const std::vector<Outlook> found = doubt.over(place, many);
  for (const size_t i : {3u, 17u, 30u}) {
    const Outlook own = doubt.over(place, {&many[i], 1}).front();
    EXPECT_NEAR(found[i].least(0.5), own.least(0.5), 0.01 * own.least(0.5));
    EXPECT_NEAR(found[i].greatest(0.5), own.greatest(0.5), 0.01 * own.greatest(0.5));
  }
}

// ln(marks) of a scene whose only unknowns are the power and one figure that it is in proportion to.
TEST(Rank, SharesTheVarianceAsItShould) {
  mark::Scene scene = mark::prepare(doubtful().job);
  const Ranking found = rank(scene, place_of(scene, fill_of(scene.job)), {.count = 256});
  ASSERT_GE(found.ranks.size(), 6u);
  double first = 0;
  for (const Rank& r : found.ranks) {
    first += r.marks_first;
    if (r.unknown.of == Unknown::Of::power) {
      EXPECT_NEAR(r.marks_total, 0.08 * 0.08 / (found.marks_spread * found.marks_spread), 0.03);
    }
    EXPECT_GT(r.marks_total, r.marks_first - 0.05);
  }
  EXPECT_NEAR(first, 1, 0.15);
  EXPECT_EQ(found.ranks.front().unknown.name, "al_6061.absorptivity");  // 40 % of spread, and it sets the burns
}

TEST(StandingChance, IsThatOfTheFillThere) {
  SmallJob small = doubtful();
  small.with("mount.hold", "standing").with("scan.power", "90 %");
  const mark::Scene scene = mark::prepare(small.job);
  const Chance chance = standing_chance(scene, {.growth = 1.5, .stretch = 1.3});
  const Doubt doubt(scene, {.count = 64});
  for (const double lateral : {0.0, 4e-3, 8e-3, 12e-3})
    for (const double offset : {0.0, -0.8e-3}) {
      const double azimuth = std::asin(lateral / 30e-3), height = 30e-3 * (std::cos(azimuth) - 1) - offset;
      const Place place{{.height = height, .azimuth = azimuth}, fill_of(scene.job)};
      const double speed = scene.job.scan.speed;
      EXPECT_NEAR(chance(20e-3, lateral, offset), doubt.over(place, {&speed, 1}).front().at(scene.power()).good, 0.02)
          << lateral << ' ' << offset;
    }
  EXPECT_FALSE(standing_chance(scene, {.chance = 0}));
}

// The whole road with a drawn scene in place of the job's own.
mark::Verdict predicted(const mark::Scene& scene) {
  const workpiece::Surface surface = mark::develop(scene);
  const motion::Raster raster = mark::plan(scene);
  const auto exposure = mark::expose(scene, surface, raster);
  const response::Model model = mark::respond(scene, *exposure);
  const heat::Warmth warmth(model.base, exposure->states());
  const exposure::Echo echo = mark::remember(scene, surface, model.base, *exposure);
  const mark::Background cold{};
  const mark::Maps none;
  const mark::Walk walk{scene, surface, *exposure, model, warmth, echo, cold, raster, none, nullptr};
  mark::Request request;
  request.threads = 1;
  return mark::judge({scene, surface, raster, model, mark::traverse(walk, request)});
}

TEST(Doubts, AgreeWithWholePredictionsOfDrawnScenes) {
  SmallJob small = doubtful();
  small.with("scan.power", "60 %").with("scan.spacing", "0.08 mm");
  put(small.folder.file("art.png"), mark::island());
  const mark::Scene scene = mark::prepare(small.job);
  const mark::MarkMap map = small.on_a_cold_wall();
  const Doubts found = doubts(Doubt(scene), map);

  const std::vector<Unknown> all = unknowns(scene);
  std::mt19937_64 dice(3);
  std::normal_distribution<double> normal;
  std::vector<double> deviates(all.size()), least, hottest, marked;
  constexpr int kDraws = 200;
  for (int i = 0; i < kDraws; ++i) {
    for (double& z : deviates) z = normal(dice);
    mark::Scene one = drawn(scene, all, deviates);
    one.image = scene.image;
    one.job.artwork = scene.job.artwork;
    const mark::Verdict v = predicted(one);
    least.push_back(v.least_factor);
    hottest.push_back(v.hottest);
    marked.push_back(v.wanted[2] + v.wanted[3]);
  }
  const auto close = [](const Doubtful& figure, const std::vector<double>& truth, double share) {
    const Interval own = interval(truth);
    EXPECT_NEAR(figure.interval.middle, own.middle, share * own.middle);
    EXPECT_NEAR(figure.interval.low, own.low, 2 * share * own.middle);
    EXPECT_NEAR(figure.interval.high, own.high, 2 * share * own.high);
  };
  close(found.least_factor, least, 0.12);
  close(found.marked, marked, 0.04);
  close(found.hottest, hottest, 0.06);
  const double truth = double(std::count_if(least.begin(), least.end(), [](double f) { return f <= 1; })) / kDraws;
  EXPECT_NEAR(found.chances.marks, truth, 0.1);
}

// A cell's chance is the share of draws within its margin.
TEST(ChanceMap, CountsTheDrawsWithinAMargin) {
  SmallJob small = doubtful();
  const mark::MarkMap map = small.on_a_cold_wall();
  const Doubts found = doubts(Doubt(mark::prepare(small.job), {.count = 32}), map);
  ASSERT_EQ(found.moves.size(), 32u);
  const quantity::Map<float> chances = chance_map(found, map);
  for (const auto& [row, column] : {std::pair{1, 1}, {20, 100}, {75, 30}}) {
    int within = 0;
    for (const double move : found.moves) within += map.maps.margin.row(row)[size_t(column)] * move <= 1;
    EXPECT_NEAR(chances.row(row)[size_t(column)], within / 32.0, 1.0 / 32);
  }
  EXPECT_THROW(chance_map(found, small.predicted(false)), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::window
