// Truth: pairs of coupons simulated for a known change of the power that arrives.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "calibration/fitted.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using mark::Scene;
using mark::SmallJob;
using testing::Contains;
using testing::HasSubstr;

SmallJob stated() {
  SmallJob small;
  small.with("laser.power_spread", "10 %")
      .with("laser.spot_spread", "10 %")
      .with("workpiece.coat_spread", "10 %");
  small.with("mount.height_spread", "0.3 mm").with("scan.speed", "1500 mm/min");
  return small;
}

// Powers in even steps of ln about what marks, at two speeds.
Coupon ladder(const Scene& scene) {
  Coupon out;
  out.width = 0.1, out.height = 0.1;
  const double speed = scene.job.scan.speed;
  for (int i = 0; i < 12; ++i)
    out.slots.push_back(
        {.number = i + 1,
         .patch = {.power = 1.2 * std::exp(0.18 * i), .speed = i % 2 ? speed : 0.7 * speed, .spacing = 1e-4},
         .place = {5e-3 + 6e-3 * i, 1e-2, 4e-3, 4e-3}});
  return out;
}

std::vector<Patch> patches_of(const Coupon& coupon) {
  std::vector<Patch> out;
  for (const Slot& slot : coupon.slots) out.push_back(slot.patch);
  return out;
}

struct Pair {
  Report then, now;
};

// A truth drawn from the priors, the same piece and laser twice, but for the height of the focus and what
// arrives.
Pair simulated_pair(const Scene& scene, const Coupon& coupon, double ratio, std::uint64_t seed) {
  std::vector<window::Unknown> unknowns = fitted_unknowns(scene);
  std::mt19937_64 dice(seed);
  std::normal_distribution<double> normal;
  std::vector<double> truth(unknowns.size());
  for (double& z : truth) z = normal(dice);
  Pair out;
  out.then = simulated(Trials(with_threshold(scene), patches_of(coupon), unknowns), coupon, truth, 2 * seed);
  for (size_t i = 0; i < unknowns.size(); ++i) {
    if (unknowns[i].of == window::Unknown::Of::height) truth[i] = normal(dice);
    if (unknowns[i].of == window::Unknown::Of::power) truth[i] += std::log(ratio) / unknowns[i].spread;
  }
  out.now =
      simulated(Trials(with_threshold(scene), patches_of(coupon), unknowns), coupon, truth, 2 * seed + 1);
  return out;
}

TEST(Drift, IntervalHoldsTheTruth) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Coupon coupon = ladder(scene);
  int held = 0, count = 0;
  double off = 0, wide = 0;
  for (const double ratio : {1.0, 0.75, 0.55})
    for (std::uint64_t seed = 1; seed <= 6; ++seed, ++count) {
      const Pair pair = simulated_pair(scene, coupon, ratio, seed);
      const Drift found = drift(scene, {coupon, pair.then}, {coupon, pair.now});
      held += found.ratio.low <= ratio && ratio <= found.ratio.high;
      off += std::log(found.ratio.middle / ratio) / 18,
          wide += std::log(found.ratio.high / found.ratio.low) / 18;
      EXPECT_TRUE(ratio > 0.6 || found.chance_lower > 0.95) << seed;
    }
  RecordProperty("held", held), RecordProperty("width", std::to_string(wide)),
      RecordProperty("off", std::to_string(off));
  EXPECT_GE(held, 13);  // of 18 with 90 % each: fewer have a chance of 1 %
  EXPECT_NEAR(off, 0, 0.05);
  EXPECT_LT(wide, std::log(1.8));
}

TEST(Drift, SaysNoChangeWhereThereIsNone) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Coupon coupon = ladder(scene);
  const std::vector<window::Unknown> unknowns = fitted_unknowns(scene);
  const Trials trials(with_threshold(scene), patches_of(coupon), unknowns);
  const std::vector<double> truth(unknowns.size(), 0.3);
  const Report report = simulated(trials, coupon, truth, 4);
  const Drift found = drift(scene, {coupon, report}, {coupon, report});
  EXPECT_NEAR(found.ratio.middle, 1, 0.05);
  EXPECT_NEAR(found.chance_lower, 0.5, 0.3);
  EXPECT_THAT(found.notes, Contains(HasSubstr("focus was set anew")));
  EXPECT_THAT(text(found),
              testing::MatchesRegex("drift      .* % of the power of then arrives now \\(.*\n(.|\n)*"));
}

TEST(Drift, RefusesCouponsThatSayNothing) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  const Coupon coupon = ladder(scene);
  const Report empty;
  EXPECT_THROW(drift(scene, {coupon, empty}, {coupon, empty}), std::runtime_error);
}

}  // namespace
}  // namespace circumfluence::calibration
