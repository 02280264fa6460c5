// Truth: the fit itself, on simulated coupons. Its records and job must say what it says, and be as good a
// start for the next coupon as the fit.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "calibration/fitted.h"
#include "job/job_file.h"
#include "mark/small_job.h"

namespace circumfluence::calibration {
namespace {

using mark::Scene;
using mark::SmallJob;

SmallJob stated() {
  SmallJob small;
  small.with("laser.power_spread", "10 %")
      .with("laser.spot_spread", "10 %")
      .with("laser.shape_spread", "5 %");
  small.with("laser.depth_spread", "15 %")
      .with("workpiece.coat_spread", "20 %")
      .with("mount.height_spread", "0.3 mm");
  small.with("scan.speed", "1500 mm/min");
  return small;
}

// Powers in even steps of ln, at two speeds.
Coupon ladder(const Scene& scene, int count, double step) {
  Coupon out;
  out.width = out.height = 0.1;
  for (int i = 0; i < count; ++i)
    out.slots.push_back({.number = i + 1,
                         .patch = {.power = 1.2 * std::exp(step * i),
                                   .speed = (i % 2 ? 1 : 0.7) * scene.job.scan.speed,
                                   .spacing = 1e-4},
                         .place = {5e-3 + 6e-3 * i, 1e-2, 4e-3, 4e-3}});
  return out;
}

Report simulated_report(const Scene& scene, const Coupon& coupon, const std::vector<double>& truth,
                        std::uint64_t seed) {
  std::vector<Patch> patches;
  for (const Slot& slot : coupon.slots) patches.push_back(slot.patch);
  Report out = simulated(Trials(scene, patches), coupon, truth, seed);
  out.date = "2026-05-02", out.origin = "club.csv";
  return out;
}

double wide(const window::Interval& i) {
  return std::log(i.high / i.low);
}

// Within a share of the interval's width.
void expect_same(const window::Interval& a, const window::Interval& b, double share) {
  EXPECT_NEAR(std::log(a.low / b.low), 0, share * wide(b));
  EXPECT_NEAR(std::log(a.middle / b.middle), 0, share * wide(b));
  EXPECT_NEAR(std::log(a.high / b.high), 0, share * wide(b));
}

class Road : public testing::TestWithParam<int> {};

TEST_P(Road, RecordSaysWhatTheFitSays) {
  const SmallJob small = stated();
  const Scene scene = mark::prepare(small.job);
  std::mt19937_64 dice(static_cast<unsigned>(GetParam()));
  std::normal_distribution<double> normal;
  std::vector<double> truth(fitted_unknowns(scene).size());
  for (double& z : truth) z = normal(dice);
  const Coupon coupon = ladder(scene, 12, 0.2), second = ladder(scene, 8, 0.25);
  const Report report = simulated_report(scene, coupon, truth, 1),
               later = simulated_report(scene, second, truth, 2);
  Fit fit = calibration::fit(scene, coupon, report);
  fit.draws.resize(0, 0);  // a record holds the Gaussian, which has tails where the draws have edges
  const Scene after = fitted(scene, fit, report, "club").scene();

  const Patch set{.power = scene.power(), .speed = scene.job.scan.speed, .spacing = scene.job.scan.spacing};
  const Forecast told = forecast(scene, fit, set, 1024);
  const BeforeAfter both = compare(scene, after, {.count = 1024});
  expect_same(both.after.marks, told.marks, 0.12);
  expect_same(both.after.burns, told.burns, 0.12);
  EXPECT_LT(wide(both.after.marks), 0.5 * wide(both.before.marks));

  // Its record as the prior of the next coupon, against the fit itself as such.
  const Forecast from_fit =
      forecast(scene, calibration::fit(scene, second, later, {.earlier = &fit}), set, 1024);
  const Forecast from_record = forecast(after, calibration::fit(after, second, later), set, 1024);
  expect_same(from_record.marks, from_fit.marks, 0.15);
  expect_same(from_record.burns, from_fit.burns, 0.15);
}

INSTANTIATE_TEST_SUITE_P(Truths, Road, testing::Values(1, 4, 8, 11));

}  // namespace
}  // namespace circumfluence::calibration
