// Truth: the task's own limits. What contradicts itself or the records teaches nothing; what strays more than was stated
// teaches less; a single slip among many is outvoted. Stray: D^2 = 2 w^2 ln(P / P_th), so d(ln D) = (w / D)^2 d(ln P).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "calibration/fitted.h"
#include "calibration/plan.h"
#include "calibration/trial_coupon.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using response::Outcome;
using testing::Contains;
using testing::HasSubstr;

Coupon fills(std::initializer_list<std::pair<double, double>> settings) {  // [W], [mm/min]
  Coupon out;
  for (const auto& [power, speed] : settings)
    out.slots.push_back({int(out.slots.size()) + 1, {.power = power, .speed = speed / 60e3, .spacing = 0.1e-3}, {}});
  return out;
}

Report told(std::initializer_list<Outcome> outcomes) {
  Report out;
  for (const Outcome outcome : outcomes) out.results.push_back(came_out(int(out.results.size()) + 1, outcome));
  return out;
}

void expect_nothing_learnt(const mark::Scene& scene, const Fit& found) {
  EXPECT_TRUE(std::isinf(found.strays));
  EXPECT_EQ(found.learnt().maxCoeff(), 0);
  EXPECT_EQ(found.best.norm(), 0);
  EXPECT_THAT(found.notes, Contains(HasSubstr("nothing was learnt of them")));
  const Next after = next(scene, found, {.draws = 64});
  EXPECT_FALSE(after.stop);
  EXPECT_THAT(after.why, HasSubstr("Look again"));
  EXPECT_THROW(fitted(scene, found, {}, "mine"), quantity::ValidityError);
}

TEST(AtOdds, MarkedAtLessThanUntouchedTeachesNothing) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = fills({{7.5, 1250}, {2.8, 1770}, {3.7, 3540}, {10, 3540}});
  const Report report = told({Outcome::untouched, Outcome::marked, Outcome::marked, Outcome::untouched});
  const Fit found = fit(scene, coupon, report);
  EXPECT_THAT(found.notes, Contains(HasSubstr("came out untouched, patch 2 marked")));
  expect_nothing_learnt(scene, found);
}

TEST(AtOdds, WhatTheRecordsRuleOutTeachesNothing) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);  // over-burns from some 120 W
  const Coupon coupon = fills({{2.8, 2500}, {4, 2500}, {5.7, 2500}, {7.5, 2500}, {10, 2500}});
  expect_nothing_learnt(scene, fit(scene, coupon,
                                   told({Outcome::over_burned, Outcome::over_burned, Outcome::over_burned,
                                         Outcome::over_burned, Outcome::over_burned})));
}

TEST(AtOdds, ASlipAmongManyIsOutvoted) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  Report report = without_error(trials, coupon, std::vector<double>(trials.unknowns().size(), 0.0));
  report.results[3].outcome = Outcome::untouched;
  const Fit found = fit(trials, coupon, report);
  EXPECT_EQ(found.strays, 1);
  EXPECT_GT(found.learnt().maxCoeff(), 0.5);
}

TEST(AtOdds, WidthsThatStrayMoreThanStatedTellLess) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  Coupon coupon;
  for (int i = 0; i < 8; ++i)
    coupon.slots.push_back({i + 1, {.power = 4.0 + i / 2.0, .speed = 2500 / 60e3, .spacing = 0}, {}});
  const Trials trials = trials_of(scene, coupon);
  Report report = without_error(trials, coupon, std::vector<double>(trials.unknowns().size(), 0.0));
  for (Result& result : report.results) result.outcome.reset();
  const Fit as_stated = fit(trials, coupon, report);
  EXPECT_EQ(as_stated.strays, 1);
  for (size_t i = 0; i < 8; ++i) report.results[i].width *= i % 2 == 0 ? 1.18 : 1 / 1.18;  // 5 % was stated
  const Fit found = fit(trials, coupon, report);
  EXPECT_GE(found.strays, 2);
  EXPECT_TRUE(std::isfinite(found.strays));
  EXPECT_THAT(found.notes, Contains(HasSubstr("strays")));
  const long spot = long(index_of(trials.unknowns(), "laser.spot"));
  EXPECT_GT(found.covariance(spot, spot), 1.15 * as_stated.covariance(spot, spot));
}

TEST(AtOdds, AMarkThatBarelyShowsTellsNoMoreOfThePowerThanItsStray) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  Coupon coupon;
  coupon.slots.push_back({1, {.power = 5, .speed = 0.04, .spacing = 0}, {}});
  const std::vector<double> zeros(fitted_unknowns(scene).size(), 0.0);
  coupon.slots[0].patch.power = 1.03 * std::exp(trials_of(scene, coupon).ends(zeros)[0].marks);
  const Trials trials = trials_of(scene, coupon);
  Report report;
  report.results = {as_wide(1, trials.widths(zeros)[0])};
  const Evidence evidence(trials, coupon, report);
  const Eigen::VectorXd at = Eigen::VectorXd::Zero(long(zeros.size()));
  const double growth = 2 * 40e-6 * 40e-6 / 1e-9;  // of the squared width, by ln of the power
  EXPECT_LT(evidence.bends(evidence.outputs(at))[0](3, 3) * growth * growth, 1.1 / (kStray * kStray));
}

}  // namespace
}  // namespace circumfluence::calibration
