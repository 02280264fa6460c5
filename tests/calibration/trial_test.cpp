// Truth: window::ends at the same settings; closed forms of lognormal figures and of the normal distribution.
#include "calibration/trial.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "mark/small_job.h"
#include "quantity/error.h"
#include "response/threshold.h"

namespace circumfluence::calibration {
namespace {

using mark::SmallJob;
using quantity::ValidityError;
using window::Unknown;

SmallJob doubtful() {
  SmallJob small;
  small.with("laser.power_spread", "5 %")
      .with("laser.spot_spread", "10 %")
      .with("mount.height_spread", "0.3 mm");
  small.with("workpiece.coat_spread", "20 %");
  return small;
}

double phi(double x) {
  return 0.5 * std::erfc(-x / std::sqrt(2.0));
}

size_t index_of(const std::vector<Unknown>& unknowns, Unknown::Of of,
                quantity::Figure workpiece::Material::*figure = nullptr) {
  for (size_t i = 0; i < unknowns.size(); ++i)
    if (unknowns[i].of == of && unknowns[i].figure == figure) return i;
  return unknowns.size();
}

std::vector<Patch> some_patches() {
  return {{.power = 3, .speed = 0.02, .spacing = 0.1e-3},
          {.power = 6, .speed = 0.02, .spacing = 0.1e-3},
          {.power = 6, .speed = 0.04, .spacing = 0.06e-3, .passes = 2},
          {.power = 6, .speed = 0.04, .spacing = 0.1e-3, .focus_offset = 1e-3},
          {.power = 6, .speed = 0.04, .spacing = 0},
          {.power = 9, .speed = 0.04, .spacing = 0, .direction = motion::Direction::around}};
}

TEST(Trials, HasTheEndsOfTheWindow) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  const Trials trials(scene, some_patches());
  const mark::Scene own = with_threshold(scene);
  std::mt19937_64 dice(3);
  std::normal_distribution<double> normal;
  std::vector<double> z(trials.unknowns().size());
  for (int draw = 0; draw < 3; ++draw) {
    for (double& deviate : z) deviate = draw == 0 ? 0 : normal(dice);
    const mark::Scene drawn = window::drawn(own, trials.unknowns(), z);
    const std::vector<LogEnds> found = trials.ends(z);
    const double arrives = std::log(drawn.power() / own.power());
    for (size_t i = 0; i < 4; ++i) {
      const Patch& patch = trials.patches()[i];
      const double height = -patch.focus_offset - (drawn.job.scan.focus_offset - own.job.scan.focus_offset);
      const window::Place place{{.height = height}, {patch.spacing, patch.focus_offset, patch.passes}};
      const window::Ends ends = window::ends(drawn, place, std::vector<double>{patch.speed}).front();
      EXPECT_NEAR(found[i].begins, std::log(ends.begins) - arrives, 2e-4);
      EXPECT_NEAR(found[i].marks, std::log(ends.marks) - arrives, 2e-4);
      EXPECT_NEAR(found[i].burns, std::log(ends.burns) - arrives, 2e-4);
    }
  }
}

TEST(Trials, HasTheVeryEndsOfTheWindowWherePowerIsAsSet) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  const Trials trials(scene, some_patches());
  std::vector<double> z(trials.unknowns().size(), 0.7);
  z[index_of(trials.unknowns(), Unknown::Of::power)] = 0;
  z[index_of(trials.unknowns(), Unknown::Of::height)] = 0;
  const mark::Scene drawn = window::drawn(with_threshold(scene), trials.unknowns(), z);
  const std::vector<LogEnds> found = trials.ends(z);
  for (size_t i = 0; i < 4; ++i) {
    const Patch& patch = trials.patches()[i];
    const window::Place place = window::place_of(drawn, {patch.spacing, patch.focus_offset, patch.passes});
    const window::Ends ends = window::ends(drawn, place, std::vector<double>{patch.speed}).front();
    EXPECT_NEAR(found[i].begins, std::log(ends.begins), 1e-6);
    EXPECT_NEAR(found[i].marks, std::log(ends.marks), 1e-6);
    EXPECT_NEAR(found[i].burns, std::log(ends.burns), 1e-6);
  }
}

TEST(Trials, TakesPowerAsAFactorHoweverManySuchThereAre) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  std::vector<Unknown> unknowns = fitted_unknowns(scene);
  const size_t power = index_of(unknowns, Unknown::Of::power);
  unknowns.push_back(unknowns[power]);
  unknowns.back().spread = 0.4;
  const Trials trials(with_threshold(scene), some_patches(), unknowns);
  std::vector<double> z(unknowns.size(), 0.0);
  const std::vector<LogEnds> still = trials.ends(z);
  z[power] = 1.3, z.back() = -0.8;
  const std::vector<LogEnds> moved = trials.ends(z);
  const double arrives = 0.05 * 1.3 - 0.4 * 0.8;
  for (size_t i = 0; i < still.size(); ++i) {
    EXPECT_NEAR(moved[i].begins, still[i].begins - arrives, 1e-12);
    EXPECT_NEAR(moved[i].marks, still[i].marks - arrives, 1e-12);
    EXPECT_NEAR(moved[i].burns, still[i].burns - arrives, 1e-12);
  }
  // A line's width at that power is that of so much more power set.
  std::vector<Patch> patches = some_patches();
  for (Patch& patch : patches) patch.power *= std::exp(arrives);
  const std::vector<double> widths = trials.widths(z), depths = trials.depths(z);
  const Trials more(with_threshold(scene), patches, unknowns);
  const std::vector<double> none(unknowns.size(), 0.0);
  for (size_t i = 0; i < patches.size(); ++i) {
    if (i >= 4) {
      EXPECT_NEAR(widths[i], more.widths(none)[i], 1e-9);
    }
    if (i < 4) {
      EXPECT_NEAR(depths[i], more.depths(none)[i], 1e-9);
    }
    EXPECT_EQ(std::isnan(widths[i]), i < 4);
    EXPECT_EQ(std::isnan(depths[i]), i >= 4);
  }
}

TEST(Trials, KnowsSpacingsAndSpeedsOfTheSurface) {
  SmallJob small = doubtful();
  small.with("mount.drive_diameter", "50 mm");
  const Trials fed(mark::prepare(small.job), some_patches()),
      plain(mark::prepare(doubtful().job), some_patches());
  const std::vector<double> z(plain.unknowns().size(), 0.0);
  for (size_t i = 0; i < some_patches().size(); ++i)
    EXPECT_NEAR(fed.ends(z)[i].marks, plain.ends(z)[i].marks, 1e-9);
}

// A Gaussian line over a threshold: D^2 = 2 w^2 ln(P / P_th), which the model's line over a coat that it has
// to go through obeys wherever the middle's fluence is what counts.
TEST(Trials, SquaredWidthsGoOnBelowTheThreshold) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  std::vector<Patch> lines;
  for (int i = -10; i <= 10; ++i) lines.push_back({.power = 1, .speed = 0.04, .spacing = 0});
  const std::vector<double> z(fitted_unknowns(scene).size(), 0.0);
  const double marks = std::exp(Trials(scene, lines).ends(z).front().marks);
  for (int i = -10; i <= 10; ++i) lines[size_t(i + 10)].power = marks * std::exp(0.05 * i);
  const std::vector<double> squares = Trials(scene, lines).expected(z).squares;
  for (int i = -10; i <= 10; ++i)
    EXPECT_NEAR(squares[size_t(i + 10)] / (2 * 40e-6 * 40e-6), 0.05 * i, 0.012) << i;
}

TEST(Trials, RefusesWhatHasNoPlace) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  EXPECT_THROW(Trials(scene, {{.power = 3, .speed = 0.02}}), ValidityError);
  EXPECT_THROW(Trials(scene, {{.power = 0, .speed = 0.02, .spacing = 1e-4}}), ValidityError);
  EXPECT_THROW(Trials(scene, {{.power = 3, .speed = 0.02, .spacing = 1e-4, .passes = 0}}), ValidityError);
  EXPECT_THROW(Trials(scene, some_patches()).ends(std::vector<double>{0.0}), ValidityError);
}

TEST(Threshold, StandsInForWhatItComesFrom) {
  const mark::Scene scene = mark::prepare(doubtful().job), own = with_threshold(scene);
  const mark::Line line = mark::line_of(scene);
  EXPECT_DOUBLE_EQ(own.coat->threshold.value,
                   response::threshold(*scene.coat, 293.15, line.along / line.speed));
  // Against draws of what it comes from.
  std::mt19937_64 dice(5);
  std::normal_distribution<double> normal;
  double sum = 0, squares = 0;
  constexpr int kDraws = 20000;
  for (int i = 0; i < kDraws; ++i) {
    workpiece::Material coat = *scene.coat;
    for (auto figure : {&workpiece::Material::removal_temperature, &workpiece::Material::conductivity,
                        &workpiece::Material::density, &workpiece::Material::heat_capacity})
      (coat.*figure).value *= std::exp((coat.*figure).spread * normal(dice));
    const double log = std::log(response::threshold(coat, 293.15, 1.0));
    sum += log / kDraws, squares += log * log / kDraws;
  }
  EXPECT_NEAR(own.coat->threshold.spread, std::sqrt(squares - sum * sum), 0.03 * own.coat->threshold.spread);
  // The same ends at the job's own setting, and the figure is among what is fitted.
  const std::vector<Unknown> fitted = fitted_unknowns(scene);
  EXPECT_LT(index_of(fitted, Unknown::Of::coat, &workpiece::Material::threshold), fitted.size());
  EXPECT_EQ(index_of(fitted, Unknown::Of::coat, &workpiece::Material::conductivity), fitted.size());
  const window::Place place = window::place_of(scene, window::fill_of(scene.job));
  const std::vector<double> speed{scene.job.scan.speed};
  EXPECT_NEAR(window::ends(own, place, speed)[0].marks, window::ends(scene, place, speed)[0].marks, 1e-6);
}

TEST(Threshold, IsLeftAsItIsWhereKnownOrWhereNothingIsRemoved) {
  mark::Scene known = mark::prepare(doubtful().job);
  known.coat->threshold = {5e4, 0.1, "measured"};
  known.coat->threshold_dwell = {1e-3, 0.0, "measured"};
  EXPECT_EQ(with_threshold(known).coat->threshold.value, 5e4);
  const mark::Scene bare = mark::prepare(SmallJob().bare("aisi_304").job);
  EXPECT_FALSE(with_threshold(bare).base.threshold.known());
}

TEST(Chances, AddUpAndRiseWithPower) {
  for (const LogEnds& ends :
       {LogEnds{0, 0.5, 1}, LogEnds{0, 0.5, 0.3}, LogEnds{0, 0, 690}, LogEnds{0.2, 0.1, -0.3}}) {
    double last[3] = {0, 0, 0};
    for (double log = -1.5; log < 2; log += 0.01) {
      const std::array<double, 4> c = chances(ends, std::exp(log));
      EXPECT_NEAR(c[0] + c[1] + c[2] + c[3], 1, 1e-12);
      for (const double chance : c) EXPECT_GE(chance, kSlip / 4 - 1e-12);
      const double at_least[3] = {c[1] + c[2] + c[3], c[2] + c[3], c[3]};
      for (int i = 0; i < 3; ++i) {
        EXPECT_GE(at_least[i], last[i] - 1e-12);
        last[i] = at_least[i];
      }
    }
  }
  const std::array<double, 4> c = chances({0, 1, 2}, std::exp(1.03), 0.06, 0.01);
  EXPECT_NEAR(c[2], 0.99 * phi(0.5) + 0.0025, 1e-12);
  EXPECT_NEAR(chances({0, 1, 2}, std::exp(1.03), 0, 0)[2], 1, 1e-12);
  // Where it is seen between a far beginning and the mark is not known; where they lie close, or there is no
  // mark, it is.
  EXPECT_NEAR(chances({-4, 1, 2}, std::exp(-4), 0.06, 0)[0], phi(2), 1e-12);
  EXPECT_NEAR(chances({-4, 1, 2}, std::exp(-1.5), 0.06, 0)[0], 0.5, 1e-12);
  EXPECT_NEAR(chances({-4, 1, 2}, std::exp(1), 0.06, 0)[0], phi(-2), 1e-12);
  EXPECT_NEAR(chances({0.9, 1, 2}, std::exp(0.98), 0.06, 0)[0], phi(-0.5), 1e-9);
  EXPECT_NEAR(chances({1, 690, 690}, std::exp(1.06), 0.06, 0)[0], phi(-1), 1e-12);
}

TEST(Simulated, StraysAsTheLikelihoodHasIt) {
  const mark::Scene scene = mark::prepare(doubtful().job);
  Coupon coupon;
  for (int i = 0; i < 4000; ++i)
    coupon.slots.push_back({i + 1, {.power = 5, .speed = 0.04, .spacing = 0}, {}});
  std::vector<Patch> patches;
  const std::vector<double> z(fitted_unknowns(scene).size(), 0.0);
  const double marks = std::exp(Trials(scene, {coupon.slots[0].patch}).ends(z)[0].marks);
  for (Slot& slot : coupon.slots) slot.patch.power = marks * 1.05, patches.push_back(slot.patch);
  const Trials trials(scene, patches);
  const Report report = simulated(trials, coupon, z, 8), again = simulated(trials, coupon, z, 8);
  const std::array<double, 4> expected = chances(trials.ends(z)[0], marks * 1.05);
  const double width = trials.widths(z)[0];
  std::array<double, 4> counts{};
  double sum = 0, squares = 0, amiss = 0;
  for (size_t i = 0; i < report.results.size(); ++i) {
    counts[size_t(*report.results[i].outcome)] += 1.0 / 4000;
    EXPECT_EQ(report.results[i].width, again.results[i].width);
    const double log = std::log(report.results[i].width / width);
    const bool far = !(std::abs(log) < 5 * 0.05);
    amiss += far;
    if (!far) sum += log / 4000, squares += log * log / 4000;
  }
  for (size_t c = 0; c < 4; ++c) EXPECT_NEAR(counts[c], expected[c], 0.03);
  EXPECT_NEAR(sum, 0, 0.005);
  EXPECT_NEAR(std::sqrt(squares), 0.05, 0.005);
  EXPECT_NEAR(amiss / 4000, 0.8 * kSlip, 0.005);
  EXPECT_THROW(simulated(trials, Coupon{}, z, 1), ValidityError);
}

}  // namespace
}  // namespace circumfluence::calibration
