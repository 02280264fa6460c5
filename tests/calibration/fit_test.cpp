// Truth: closed forms of normal and truncated normal figures; densities summed over a grid; joined reports;
// limits.
#include "calibration/fit.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <cmath>
#include <numbers>
#include <random>

#include "calibration/trial_coupon.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;
using quantity::ValidityError;
using response::Outcome;
using testing::Contains;
using testing::HasSubstr;
using window::Unknown;

// Chains on the model are long; under sanitizers they are cut short and judged loosely.
#ifdef CIRCUMFLUENCE_WATCHED
constexpr int kShorter = 6;
constexpr double kLooser = 3;
#else
constexpr int kShorter = 1;
constexpr double kLooser = 1;
#endif

std::vector<double> zeros(const Trials& trials) {
  return std::vector<double>(trials.unknowns().size(), 0.0);
}

// Truth: central differences.
TEST(Evidence, KnowsItsSlopesAndBends) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  Report report = without_error(trials, coupon, zeros(trials));
  report.results[0].outcome = Outcome::under_marked, report.results[1].outcome = Outcome::over_burned;
  report.results[2].depth = 40e-6, report.results[3].depth = 60e-6;
  const Evidence evidence(trials, coupon, report);
  std::mt19937_64 dice(2);
  std::uniform_real_distribution<double> uniform(-0.1, 0.1);
  VectorXd y = evidence.outputs(VectorXd::Zero(long(trials.unknowns().size())));
  for (double& value : y)
    value = value == 0                                               ? 0
            : value > 0.3 && value < 8 && value != std::floor(value) ? value + uniform(dice)
                                                                     : uniform(dice);
  for (const double wider : {1.0, 4.0}) {
    VectorXd slope;
    EXPECT_NEAR(evidence.log(y, wider, slope), evidence.log(y, wider), 1e-9);
    for (long i = 0; i < y.size(); ++i) {
      VectorXd up = y, down = y;
      up[i] += 1e-6, down[i] -= 1e-6;
      const double expected = (evidence.log(up, wider) - evidence.log(down, wider)) / 2e-6;
      EXPECT_NEAR(slope[i], expected, 1e-4 * std::max(1.0, std::abs(expected))) << i << " " << wider;
    }
  }
  // Of classes bends are exact where the log likelihood bends downward in every direction.
  const std::vector<Evidence::Block> bends = evidence.bends(y);
  int checked = 0;
  for (size_t k = 0; k < bends.size(); ++k) {
    Eigen::Matrix3d found;
    for (int i = 0; i < 3; ++i) {
      VectorXd up = y, down = y, above, below;
      const long at = long(k) * Evidence::kOutputs + i;
      up[at] += 1e-6, down[at] -= 1e-6;
      evidence.log(up, 1, above), evidence.log(down, 1, below);
      found.col(i) = -(above - below).segment(long(k) * Evidence::kOutputs, 3) / 2e-6;
    }
    if (Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(found).eigenvalues()[0] < -1e-3) continue;
    EXPECT_LT((found - bends[k].topLeftCorner<3, 3>()).norm(), 1e-3 * (1 + found.norm())) << k;
    ++checked;
  }
  EXPECT_GT(checked, 5);
}

// Truth: direct sums over a grid of the density on the model itself, of two unknowns.
struct Grid {
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
  double log_evidence = 0;

  explicit Grid(const Evidence& evidence, double reach = 4, int steps = 48 / (kShorter > 1 ? 2 : 1)) {
    std::vector<Eigen::Vector2d> at;
    std::vector<double> weights;
    double sum = 0;
    for (int i = 0; i <= steps; ++i)
      for (int j = 0; j <= steps; ++j) {
        const Eigen::Vector2d z{reach * (2.0 * i / steps - 1), reach * (2.0 * j / steps - 1)};
        at.push_back(z);
        weights.push_back(std::exp(evidence.log(evidence.outputs(z)) - z.squaredNorm() / 2));
        sum += weights.back();
        mean += weights.back() * z;
      }
    mean /= sum;
    for (size_t i = 0; i < at.size(); ++i)
      covariance += weights[i] / sum * (at[i] - mean) * (at[i] - mean).transpose();
    const double cell = std::pow(2 * reach / steps, 2);
    log_evidence = std::log(sum * cell / (2 * std::numbers::pi));
  }
};

void agree(const Fit& found, const Grid& grid, double means, double spreads) {
  for (int i = 0; i < 2; ++i) {
    const double spread = std::sqrt(grid.covariance(i, i));
    EXPECT_NEAR(found.best[i], grid.mean[i], means * spread) << i;
    EXPECT_NEAR(std::sqrt(found.covariance(i, i)), spread, spreads * spread) << i;
  }
  const double product = std::sqrt(grid.covariance(0, 0) * grid.covariance(1, 1));
  EXPECT_NEAR(found.covariance(0, 1) / product, grid.covariance(0, 1) / product, 2 * spreads);
}

TEST(Fit, IsTheDensityOverAGrid) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  Coupon coupon;
  for (const double power : {3.0, 4.0, 6.0, 9.0})
    coupon.slots.push_back(
        {int(coupon.slots.size()) + 1, {.power = power, .speed = 2500 / 60e3, .spacing = 0.1e-3}, {}});
  coupon.slots.push_back({5, {.power = 7, .speed = 2500 / 60e3, .spacing = 0}, {}});
  using Names = std::vector<std::string>;
  for (const Names& names : {Names{"laser.spot", "removal_energy"}, Names{"laser.power", "coat_thickness"}}) {
    const Trials trials(with_threshold(scene), patches_of(coupon), only(fitted_unknowns(scene), names));
    for (const std::vector<double>& truth : {std::vector<double>{0.4, -0.9}, {-1.2, 1.6}}) {
      SCOPED_TRACE(names[0]);
      const Report report = simulated(trials, coupon, truth, 5);
      const Evidence evidence(trials, coupon, report);
      const Grid grid(evidence);
      const Fit found = fit(trials, coupon, report);
      agree(found, grid, 0.12, 0.1);
      EXPECT_NEAR(found.log_evidence, grid.log_evidence, 0.15);
      // Chains walk on the model itself.
      const Fit drawn = fit(trials, coupon, report, {.chains = Chains{.count = 4, .draws = 1200 / kShorter}});
      agree(drawn, grid, 0.1 * kLooser, 0.07 * kLooser);
      EXPECT_LT(drawn.sampling->rhat, 1 + 0.02 * kLooser);
      EXPECT_GT(drawn.sampling->effective, 600 / (kShorter * kLooser));
    }
  }
}

// Truth: the normal distribution, cut off by a probit of the stray: summed over a line.
TEST(Fit, OfABoundIsThePriorCutOff) {
  mark::SmallJob small = doubtful_bottle();
  small.with("laser.power_spread", "30 %");
  const mark::Scene scene = mark::prepare(small.job);
  const std::vector<Unknown> unknowns = only(fitted_unknowns(scene), {"laser.power"});
  Coupon coupon;
  coupon.slots.push_back({1, {.power = 7, .speed = 2500 / 60e3, .spacing = 0.1e-3}, {}});
  const Trials trials(with_threshold(scene), patches_of(coupon), unknowns);
  const double spread = unknowns[0].spread;
  const LogEnds ends = trials.ends(std::vector<double>{0.0})[0];
  for (const Outcome outcome : {Outcome::under_marked, Outcome::marked}) {
    double sum = 0, mean = 0, square = 0;
    for (double z = -6; z < 6; z += 1e-3) {
      const LogEnds moved{ends.begins - spread * z, ends.marks - spread * z, ends.burns - spread * z};
      const double density = std::exp(-z * z / 2) * chances(moved, 7)[size_t(outcome)];
      sum += density, mean += z * density, square += z * z * density;
    }
    mean /= sum, square = square / sum - mean * mean;
    Report report;
    report.results = {came_out(1, outcome)};
    const Fit found = fit(trials, coupon, report);
    EXPECT_NEAR(found.best[0], mean, 0.02);
    EXPECT_NEAR(found.covariance(0, 0), square, 0.02);
    EXPECT_NEAR(found.log_evidence, std::log(sum * 1e-3 / std::sqrt(2 * std::numbers::pi)), 0.02);
    EXPECT_THAT(found.notes, Contains(HasSubstr("single patch")));
    // Under-marked, it is bounded on both sides.
    EXPECT_EQ(outcome == Outcome::marked, testing::Value(found.notes, Contains(HasSubstr("lopsided"))));
  }
}

TEST(Fit, FindsATruth) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  std::vector<double> truth = zeros(trials);
  truth[index_of(trials.unknowns(), "removal_energy")] = 1.5;
  truth[index_of(trials.unknowns(), "laser.spot")] = -1.2;
  const Fit found = fit(scene, coupon, without_error(trials, coupon, truth));
  for (size_t i = 0; i < truth.size(); ++i) {
    const double spread = std::sqrt(found.covariance(long(i), long(i)));
    EXPECT_LT(std::abs(found.best[long(i)] - truth[i]), 1.645 * spread) << trials.unknowns()[i].name;
    EXPECT_LE(found.interval(i).low, trials.unknowns()[i].at(truth[i]));
    EXPECT_GE(found.interval(i).high, trials.unknowns()[i].at(truth[i]));
  }
  EXPECT_THAT(found.notes, testing::Not(Contains(HasSubstr("chance below"))));
  // What no patch feels stays as it was, exactly.
  const size_t idle = index_of(found.unknowns, "polyester_powder_black.emissivity");
  EXPECT_EQ(found.best[long(idle)], 0);
  for (size_t i = 0; i < truth.size(); ++i)
    EXPECT_EQ(found.covariance(long(idle), long(i)), i == idle ? 1 : 0);
  EXPECT_EQ(found.learnt()[long(idle)], 0);
}

// Truth: of n equal measurements the information is n times that of one.
TEST(Fit, LearnsTwiceAsMuchFromTwiceTheData) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const std::vector<Unknown> unknowns = only(fitted_unknowns(scene), {"laser.spot", "removal_energy"});
  Coupon coupon;
  for (int i = 0; i < 24; ++i)
    coupon.slots.push_back({i + 1, {.power = 4.0 + i % 6, .speed = 2500 / 60e3, .spacing = 0}, {}});
  const Trials trials(with_threshold(scene), patches_of(coupon), unknowns);
  const std::vector<double> widths = trials.widths(std::vector<double>{0.5, -0.5});
  const auto of = [&](size_t count) {
    Report report;
    for (size_t i = 0; i < count; ++i) report.results.push_back(as_wide(int(i) + 1, widths[i]));
    return fit(trials, coupon, report);
  };
  const Fit half = of(12), whole = of(24);
  const MatrixXd once = half.covariance.inverse() - MatrixXd::Identity(2, 2);
  const MatrixXd twice = whole.covariance.inverse() - MatrixXd::Identity(2, 2);
  EXPECT_LT((twice - 2 * once).norm(), 0.1 * twice.norm());
  const auto least = [](const Fit& f) {
    return Eigen::SelfAdjointEigenSolver<MatrixXd>(f.covariance).eigenvalues()[0];
  };
  EXPECT_NEAR(least(whole), least(half) / 2, 0.05 * least(half));
}

TEST(Fit, OfAFitIsThatOfBothReports) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  std::vector<double> truth = zeros(trials);
  truth[index_of(trials.unknowns(), "removal_energy")] = 1;
  const Report all = simulated(trials, coupon, truth, 4);
  Report first = all, second = all;
  first.results.clear(), second.results.clear();
  for (size_t i = 0; i < all.results.size(); ++i)
    (i % 2 == 0 ? first : second).results.push_back(all.results[i]);
  const Fit one = fit(scene, coupon, first), two = fit(scene, coupon, second, {.earlier = &one}),
            both = fit(scene, coupon, all);
  for (long i = 0; i < both.best.size(); ++i) {
    // Above and below the focus are alike: a normal stand-in between loses what tells of the distance.
    if (both.unknowns[size_t(i)].name == "mount.height") continue;
    EXPECT_NEAR(two.best[i], both.best[i], 0.25 * std::sqrt(both.covariance(i, i)))
        << both.unknowns[size_t(i)].name;
    EXPECT_NEAR(two.covariance(i, i), both.covariance(i, i), 0.15 * both.covariance(i, i))
        << both.unknowns[size_t(i)].name;
  }
  const size_t idle = index_of(both.unknowns, "polyester_powder_black.emissivity");
  EXPECT_NEAR(two.covariance(long(idle), long(idle)), 1, 1e-9);
  mark::SmallJob other = doubtful_bottle();
  other.with("laser.spot_spread", "20 %");
  EXPECT_THROW(fit(mark::prepare(other.job), coupon, second, {.earlier = &one}), ValidityError);
}

// Truth: the regression of one normal figure on another.
TEST(Fit, MovesWhatWasSettledTogetherWithWhatItLearns) {
  mark::Scene scene = mark::prepare(doubtful_bottle().job);
  scene.coat->settled = {{scene.coat->name + ".removal_energy", "3.3 J/mm^3", "22 %", {}},
                         {scene.coat->name + ".softening", "340 K", "4 %", {0.6}}};
  const Fit before = nothing_learnt(scene);
  const auto energy = long(index_of(before.unknowns, "removal_energy"));
  const auto idle = long(index_of(before.unknowns, "softening"));
  EXPECT_NEAR(before.covariance(energy, idle), 0.6, 1e-9);
  EXPECT_NEAR(before.covariance(idle, idle), 1, 1e-9);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  std::vector<double> truth = zeros(trials);
  truth[size_t(energy)] = 2;
  const Fit found = fit(trials, coupon, without_error(trials, coupon, truth));
  EXPECT_GT(found.best[energy], 0.3);
  EXPECT_NEAR(found.best[idle], 0.6 * found.best[energy], 1e-6);
  EXPECT_NEAR(found.covariance(idle, idle), 1 - 0.36 * (1 - found.covariance(energy, energy)), 1e-6);
}

TEST(Fit, AgreesWithChainsOverAllUnknowns) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  std::vector<double> truth = zeros(trials);
  truth[index_of(trials.unknowns(), "removal_energy")] = -1;
  truth[index_of(trials.unknowns(), "laser.spot")] = 0.7;
  const Report report = simulated(trials, coupon, truth, 9);
  const Fit near = fit(trials, coupon, report),
            drawn = fit(trials, coupon, report, {.chains = Chains{.count = 4, .draws = 1000 / kShorter}});
  EXPECT_LT(drawn.sampling->rhat, 1 + 0.05 * kLooser);
  EXPECT_GT(drawn.sampling->effective, 300 / (kShorter * kLooser));
  for (long i = 0; i < near.best.size(); ++i) {
    const double spread = std::sqrt(drawn.covariance(i, i));
    EXPECT_NEAR(near.best[i], drawn.best[i], 0.2 * kLooser * spread) << near.unknowns[size_t(i)].name;
    EXPECT_NEAR(std::sqrt(near.covariance(i, i)), spread, 0.12 * kLooser * spread)
        << near.unknowns[size_t(i)].name;
  }
  EXPECT_THAT(text(drawn), HasSubstr("effective"));
}

TEST(Fit, SaysWhatDoesNotFit) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  Report report = without_error(trials, coupon, zeros(trials));
  EXPECT_EQ(fit(trials, coupon, report).surprise.size(), report.results.size());
  // Marked with little, untouched with much.
  report.results[8].outcome = Outcome::marked, report.results[3].outcome = Outcome::untouched;
  const Fit odd = fit(trials, coupon, report);
  EXPECT_THAT(odd.notes, Contains(HasSubstr("came out untouched")));
  EXPECT_THAT(odd.notes, Contains(AllOf(HasSubstr("Patches 4, 9"), HasSubstr("chance below 1.8 %"))));
  EXPECT_GT(odd.surprise[8], kSurprising);
  // The other patches hold: not much is believed of the two.
  EXPECT_LT(odd.best.cwiseAbs().maxCoeff(), 1.5);

  // A coat that takes four times the light.
  std::vector<double> far = zeros(trials);
  far[index_of(trials.unknowns(), "removal_energy")] = 6;
  const Fit foreign = fit(trials, coupon, without_error(trials, coupon, far));
  EXPECT_THAT(foreign.notes, Contains(HasSubstr("another material")));
}

TEST(Fit, OfPatchesAllAlikeDoesNotLookCertain) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  Coupon coupon;
  for (int i = 0; i < 9; ++i)
    coupon.slots.push_back({i + 1, {.power = 8.0 + i / 4.0, .speed = 0.03, .spacing = 0.1e-3}, {}});
  Report report;
  for (int i = 0; i < 9; ++i) report.results.push_back(came_out(i + 1, Outcome::marked));
  const Fit found = fit(scene, coupon, report);
  EXPECT_THAT(found.notes, Contains(HasSubstr("All 9 patches")));
  EXPECT_LT(found.learnt().maxCoeff(), 0.35);
}

TEST(Fit, SaysInWordsWhatWasLearnt) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  const Fit found = fit(trials, coupon, without_error(trials, coupon, zeros(trials)));
  const std::string words = identifiability(found);
  EXPECT_THAT(words, HasSubstr("Size of the spot"));
  EXPECT_THAT(words, HasSubstr("thickness of the coat"));
  EXPECT_THAT(words, HasSubstr("Not learnt by itself: "));
  EXPECT_THAT(text(found), AllOf(HasSubstr("80 um +- 10 %"), HasSubstr(words)));
  EXPECT_THAT(json(found), AllOf(HasSubstr("\"laser.spot\""), HasSubstr("\"identifiability\": \"Size")));
  // Two that are one.
  Fit made;
  made.unknowns = only(fitted_unknowns(scene), {"laser.spot", "threshold", "removal_energy"});
  made.best = VectorXd::Zero(3), made.covariance = MatrixXd::Identity(3, 3);
  made.covariance.topLeftCorner(2, 2) << 0.5, -0.48, -0.48, 0.5;
  EXPECT_THAT(identifiability(made), HasSubstr("are told only together"));
  made.covariance.topLeftCorner(2, 2) << 0.1, 0, 0, 0.2;
  EXPECT_THAT(identifiability(made),
              AllOf(HasSubstr("are told apart"), HasSubstr("Not learnt by itself: energy of removal")));
  made.covariance.setIdentity();
  made.covariance.bottomRightCorner(2, 2) << 0.9, -0.7, -0.7, 0.9;
  EXPECT_THAT(identifiability(made), HasSubstr("only a combination was learnt"));
}

// Truth: Doubt's draws of the same figures (window/chance.h), whose power is a factor in closed form.
TEST(Forecast, OfThePriorIsThatOfTheWindow) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  const Patch setting{.power = 7.5, .speed = 2500 / 60e3, .spacing = 0.1e-3};
  const Fit prior = nothing_learnt(scene);
  const Forecast found = forecast(scene, prior, setting, 1024);
  const window::Doubt doubt(with_threshold(scene), {.count = 1024});
  const window::Place place = window::place_of(scene, window::fill_of(scene.job));
  const window::Outlook outlook = doubt.over(place, std::vector<double>{setting.speed}).front();
  EXPECT_NEAR(std::log(found.marks.middle), std::log(outlook.least(0.5)), 0.06);
  EXPECT_NEAR(std::log(found.marks.high), std::log(outlook.least(0.95)), 0.1);
  EXPECT_NEAR(std::log(found.burns.low), std::log(outlook.greatest(0.95)), 0.1);
  EXPECT_NEAR(found.chances[2] + found.chances[3], outlook.at(setting.power).marks, 0.02);
  EXPECT_NEAR(found.chances[0] + found.chances[1] + found.chances[2] + found.chances[3], 1, 1e-9);
  // Draws of a Gaussian have its moments; a fit's own draws are its density's.
  const Coupon coupon = trial_coupon();
  const Trials trials = trials_of(scene, coupon);
  Fit after = fit(trials, coupon, without_error(trials, coupon, zeros(trials)));
  for (const bool own : {true, false}) {
    if (!own) after.draws.resize(0, 0);
    const MatrixXd draws = draws_of(after, 1024);
    const VectorXd mean = draws.colwise().mean();
    const MatrixXd off = draws.rowwise() - mean.transpose();
    EXPECT_LT((mean - after.best).norm(), 0.15);
    EXPECT_LT((off.transpose() * off / 1024 - after.covariance).cwiseAbs().maxCoeff(), 0.12);
  }
}

TEST(Fit, RefusesNothing) {
  const mark::Scene scene = mark::prepare(doubtful_bottle().job);
  EXPECT_THROW(fit(scene, trial_coupon(), Report{}), ValidityError);
  Report report;
  report.results = {came_out(99, Outcome::marked)};
  EXPECT_THROW(fit(scene, trial_coupon(), report), ValidityError);
  report.results = {came_out(1, Outcome::marked)};
  EXPECT_THROW(fit(scene, trial_coupon(), report, {.stray = 0}), ValidityError);
  EXPECT_THROW(fit(scene, trial_coupon(), report, {.progress = [](double) { return false; }}),
               quantity::Interrupted);
  EXPECT_THROW(fit(scene, trial_coupon(), report, {.chains = Chains{.count = 1}}), ValidityError);
}

}  // namespace
}  // namespace circumfluence::calibration
