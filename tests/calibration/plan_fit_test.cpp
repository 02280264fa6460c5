// Truth: reports simulated for truths drawn from the prior, and the fit's own answer to each.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "calibration/fit.h"
#include "calibration/plan.h"
#include "mark/small_job.h"
#include "window/sobol.h"

namespace circumfluence::calibration {
namespace {

#ifdef CIRCUMFLUENCE_WATCHED
constexpr int kReports = 4;
#else
constexpr int kReports = 24;
#endif

double entropy(std::span<const double> chances) {
  double out = 0;
  for (const double chance : chances) out -= chance > 0 ? chance * std::log2(chance) : 0;
  return out;
}

// What a plan expects to be left open is what reports leave open on average: by Bayes' rule over draws, and by the draws that
// a fit keeps.
TEST(PlanAndFit, ExpectTheSame) {
  mark::SmallJob job;
  job.with("laser.power_spread", "5 %")
      .with("laser.spot_spread", "10 %")
      .with("workpiece.coat_spread", "20 %");
  const mark::Scene scene = mark::prepare(job.job);
  PlanRequest request;
  request.wanted = {job_setting(scene)};
  request.patches = 8;
  const Planned made = plan(scene, request);
  ASSERT_EQ(made.entropies.size(), 8u);
  std::vector<Patch> patches;
  for (const Slot& slot : made.coupon.slots) patches.push_back(slot.patch);
  request.seed = 17;  // other draws than the plan's
  const Foreseen foreseen = foresee(scene, patches, request, 8192);
  const Trials trials(scene, patches);
  const size_t unknowns = trials.unknowns().size();
  const char* more = std::getenv("CIRCUMFLUENCE_REPORTS");
  const int reports = more != nullptr ? std::atoi(more) : kReports;
  const std::vector<double> truths = window::normal_points(int(unknowns), reports, 31);
  double by_weights = 0, by_fit = 0, squares = 0;
  for (int i = 0; i < reports; ++i) {
    const std::span<const double> truth(truths.data() + size_t(i) * unknowns, unknowns);
    const Report report = simulated(trials, made.coupon, truth, 100 + std::uint64_t(i));
    Eigen::VectorXd logs = Eigen::VectorXd::Zero(foreseen.candidates.rows());
    for (size_t k = 0; k < patches.size(); ++k) {
      const Eigen::Index column = 4 * Eigen::Index(k) + Eigen::Index(report.results[k].outcome.value());
      logs += foreseen.candidates.col(column).cast<double>().array().log().matrix();
    }
    const Eigen::VectorXd weights = (logs.array() - logs.maxCoeff()).exp();
    const Eigen::VectorXd chances = foreseen.wanted.cast<double>().transpose() * weights / weights.sum();
    const double left = entropy({chances.data(), 4});
    by_weights += left / reports, squares += left * left / reports;
    by_fit +=
        entropy(forecast(scene, fit(trials, made.coupon, report), request.wanted.front(), 128).chances) /
        reports;
  }
  const double error = std::sqrt((squares - by_weights * by_weights) / reports);
  RecordProperty("entropies",
                 fmt::format("{:.3f}, then {:.3f}; by weights {:.3f} +- {:.3f}, by fit {:.3f}",
                             made.entropy_before, made.entropies.back(), by_weights, error, by_fit));
  EXPECT_NEAR(by_weights, made.entropies.back(), 0.03 + 2.5 * error);
  EXPECT_NEAR(by_fit, by_weights, 0.1 + 2 * error);
}

}  // namespace
}  // namespace circumfluence::calibration
