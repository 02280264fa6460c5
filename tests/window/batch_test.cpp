// Truth: binomial sums term by term and plays of the game; energies by hand, power times time.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <random>

#include "mark/small_job.h"
#include "quantity/error.h"
#include "window/chance.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;
using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

// P(binomial(blanks, p) >= parts), the terms added up from the least.
double enough(int parts, int blanks, double p) {
  double sum = 0;
  for (int good = blanks; good >= parts; --good)
    sum += std::exp(std::lgamma(blanks + 1.0) - std::lgamma(good + 1.0) - std::lgamma(blanks - good + 1.0) +
                    good * std::log(p) + (blanks - good) * std::log1p(-p));
  return sum;
}

RC_GTEST_PROP(Supply, IsTheFewestBlanksThatDo, ()) {
  const int parts = *rc::gen::inRange(1, 60);
  const double p = *rc::gen::inRange(5, 100) * 0.01, confidence = *rc::gen::inRange(1, 1000) * 1e-3;
  const int blanks = supply({.parts = parts, .chance_good = p, .confidence = confidence}).blanks;
  RC_ASSERT(enough(parts, blanks, p) >= confidence - 1e-9);
  RC_ASSERT(blanks == parts || enough(parts, blanks - 1, p) < confidence + 1e-9);
}

TEST(Supply, ByHand) {
  const Supply one = supply({.parts = 1, .chance_good = 0.9, .confidence = 0.95});  // 1 - 0.1^2 = 99 %
  EXPECT_EQ(one.blanks, 2);
  EXPECT_EQ(one.spares, 1);
  EXPECT_EQ(supply({.parts = 1, .chance_good = 0.5, .confidence = 0.99}).blanks, 7);  // 1 - 2^-7 = 99.2 %
  EXPECT_EQ(supply({.parts = 2, .chance_good = 0.5, .confidence = 0.5}).blanks, 3);   // 4 of 8 ways
  const Supply sure = supply({.parts = 40, .chance_good = 1, .confidence = 1});
  EXPECT_EQ(sure.blanks, 40);
  EXPECT_EQ(sure.spares, 0);
}

// 20 blanks are tried till 12 are good, or none is left.
TEST(Supply, ByPlayingIt) {
  const Batch batch{.parts = 12, .chance_good = 0.8, .confidence = 0.9};
  const Supply found = supply(batch);
  std::mt19937_64 dice(3);
  std::bernoulli_distribution good(batch.chance_good);
  const int kPlays = 100'000;
  double tries = 0;
  int lasted = 0, fewer = 0;
  for (int play = 0; play < kPlays; ++play) {
    int tried = 0;
    for (int made = 0; made < batch.parts; ++tried) made += good(dice);
    tries += tried, lasted += tried <= found.blanks, fewer += tried <= found.blanks - 1;
  }
  EXPECT_GE(double(lasted) / kPlays, 0.9 - 0.003);
  EXPECT_LT(double(fewer) / kPlays, 0.9 + 0.003);
  EXPECT_NEAR(tries / kPlays, found.tries, 0.03);
  EXPECT_NEAR(found.expected_good, 9.6, 1e-12);
}

TEST(Supply, TimeAndEnergyAreThoseOfTheTries) {
  const Supply found = supply({.parts = 10,
                               .chance_good = 0.8,
                               .confidence = 0.95,
                               .duration = 600,
                               .energy = 3000,
                               .handling = 30,
                               .mains_power = 60});
  EXPECT_DOUBLE_EQ(found.tries, 12.5);
  EXPECT_DOUBLE_EQ(found.time, 12.5 * 630);
  EXPECT_DOUBLE_EQ(found.energy, 37500);
  EXPECT_DOUBLE_EQ(found.mains_energy, 12.5 * 630 * 60);
}

TEST(Supply, ManyParts) {
  // The normal limit: n p - z sqrt(n p (1 - p)) = parts - 1/2, z = 1.645 at 95 %.
  const Supply found = supply({.parts = 1'000'000, .chance_good = 0.9, .confidence = 0.95});
  const double n = found.blanks;
  EXPECT_NEAR((n * 0.9 - 999'999.5) / std::sqrt(n * 0.09), 1.6448536269514722, 5e-3);
}

TEST(Supply, RefusesWhatCannotBe) {
  const auto refuses = [](const Batch& batch, const char* words) {
    EXPECT_THAT([&] { supply(batch); }, ThrowsMessage<ValidityError>(HasSubstr(words)));
  };
  refuses({.parts = 1, .chance_good = 0, .confidence = 0.9},
          "batch.chance_good = 0 % (no blank comes out good");
  refuses({.parts = 1, .chance_good = 1e-12, .confidence = 0.9}, "batch.chance_good");
  refuses({.parts = 1, .chance_good = std::nan(""), .confidence = 0.9}, "batch.chance_good");
  refuses({.parts = 1, .chance_good = 1.01, .confidence = 0.9}, "expected at most 100 %");
  refuses({.parts = 1, .chance_good = 0.9, .confidence = 1}, "no number of blanks makes it certain");
  refuses({.parts = 0, .chance_good = 0.9, .confidence = 0.9}, "batch.parts = 0");
  refuses({.parts = 1, .chance_good = 0.9, .confidence = 0.9, .duration = -1}, "batch.duration");
}

// 4 mm along the axis, 3 mm around, black all over: 30 lines of 4 mm.
SmallJob black() {
  SmallJob small;
  small.with("grid.cell", "100 um");
  return small;
}

TEST(Effort, IsPowerTimesTheTimeOfTheLines) {
  for (const char* direction : {"axial", "around"}) {
    SmallJob small = black();
    small.with("scan.direction", direction).with("scan.run_up", "30 mm").with("scan.passes", "2");
    const Effort found = effort(mark::prepare(small.job));
    const double length = 30 * 4e-3;  // [m] a pass; around 40 lines of 3 mm
    EXPECT_NEAR(found.beam_on, 2 * length / (2.5 / 60), 1e-9) << direction;
    EXPECT_NEAR(found.energy, 7.5 * found.beam_on, 1e-6) << direction;
    EXPECT_EQ(found.duration, mark::plan(mark::prepare(small.job)).duration);
    EXPECT_GT(found.duration, found.beam_on);
  }
}

TEST(Effort, OfConstantPowerCountsTheRamps) {
  SmallJob small = black();
  small.with("scan.run_up", "0 mm").with("scan.power_habit", "constant");
  const Effort ramped = effort(mark::prepare(small.job));
  const double ramp = 2.5 / 60;                              // [s] to 2500 mm/min at 1 m/s^2
  const double line = 4e-3 / (2.5 / 60) + (2.5 / 60) / 1.0;  // [s] at speed, and what both ramps add
  ASSERT_LT(ramp * ramp, 4e-3);
  EXPECT_NEAR(ramped.beam_on, 30 * line, 1e-9);
  EXPECT_NEAR(ramped.energy, 7.5 * 30 * line, 1e-6);
  small.with("scan.power_habit", "follows_speed");
  const Effort follows = effort(mark::prepare(small.job));
  EXPECT_NEAR(follows.energy, 7.5 * 30 * 4e-3 / (2.5 / 60), 1e-6);
  EXPECT_NEAR(follows.beam_on, 30 * line, 1e-9);
}

TEST(Effort, CountsWhatTheArtWants) {
  SmallJob whole = black(), part(mark::island());
  part.with("grid.cell", "100 um");
  const double dots = 32 * 22 - 8 * 8;  // of 40 by 30
  EXPECT_NEAR(effort(mark::prepare(part.job)).energy / effort(mark::prepare(whole.job)).energy, dots / 1200,
              1e-6);
}

}  // namespace
}  // namespace circumfluence::window
