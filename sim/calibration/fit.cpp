#include "calibration/fit.h"

#include <fmt/format.h>

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "window/sobol.h"

namespace circumfluence::calibration {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;
using quantity::ValidityError;
using window::Unknown;

constexpr double kLopsided = 0.5;  // [1] skewness worth a word
constexpr double kPoor = 0.02;     // [1] share of draws that count, below which they hardly do

// What one fit settled together before is not independent now.
Prior prior_of(const mark::Scene& scene, const std::vector<Unknown>& unknowns) {
  const long n = long(unknowns.size());
  const std::vector<double> factor = window::settled_factor(scene, unknowns);
  if (factor.empty()) return {VectorXd::Zero(n), MatrixXd::Identity(n, n)};
  const Eigen::Map<const Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>> root(
      factor.data(), n, n);
  return {VectorXd::Zero(n), root * root.transpose()};
}

Prior prior_of(const std::vector<Unknown>& unknowns, const Fit& earlier) {
  const auto same = [](const Unknown& a, const Unknown& b) {
    return a.name == b.name && a.value == b.value && a.spread == b.spread;
  };
  if (!std::ranges::equal(unknowns, earlier.unknowns, same) || earlier.best.size() != long(unknowns.size()))
    throw ValidityError(
        "fit: the earlier fit is of other unknowns (its deviates mean nothing here; expected one of this "
        "job, with the "
        "same records). Fit both reports anew, or use the record that the earlier one left");
  return {earlier.best, earlier.covariance};
}

std::string names_of(const std::vector<int>& numbers) {
  std::string out;
  for (size_t i = 0; i < std::min<size_t>(numbers.size(), kMostNamed); ++i)
    out += (i == 0 ? "" : ", ") + std::to_string(numbers[i]);
  return numbers.size() <= kMostNamed ? out : fmt::format("{} and {} more", out, numbers.size() - kMostNamed);
}

std::vector<int> odd_of(const Fit& fit, const Report& report) {
  std::vector<int> out;
  for (size_t i = 0; i < fit.surprise.size(); ++i)
    if (fit.surprise[i] > kSurprising) out.push_back(report.results[i].number);
  return out;
}

bool at_odds(const Fit& fit, const Report& report) {
  const size_t odd = odd_of(fit, report).size();
  return odd > 1 && double(odd) > kAtOdds * double(report.results.size());
}

void note_results(const Coupon& coupon, const Report& report, size_t widthless, Fit& fit) {
  fit.notes = doubts(coupon, report);
  if (const std::vector<int> odd = odd_of(fit, report); !odd.empty())
    fit.notes.push_back(
        fmt::format("Patch{} {}: what came out has a chance below {:.1f} % even at the best fit. Look again "
                    "whether {} told right.",
                    odd.size() > 1 ? "es" : "", names_of(odd), 100 * std::exp(-kSurprising),
                    odd.size() > 1 ? "they were" : "it was"));
  if (widthless > 0)
    fit.notes.push_back(
        fmt::format("{} of lines burnt more than once {} left aside: the model has none for them.",
                    widthless > 1 ? "Widths" : "The width", widthless > 1 ? "were" : "was"));
}

void note_unknowns(const Moments& moments, Fit& fit) {
  for (size_t i = 0; i < fit.unknowns.size(); ++i)
    if (std::abs(fit.best[long(i)]) > kForeign)
      fit.notes.push_back(fmt::format(
          "{} would have to lie {:.1f} of its spreads {} what is on record: the record may be of another "
          "material, or a "
          "setting is not what it was said to be.",
          fit.unknowns[i].words, std::abs(fit.best[long(i)]), fit.best[long(i)] > 0 ? "above" : "below"));
  if (fit.unknowns.empty() || fit.learnt().maxCoeff() < 0.2)
    fit.notes.push_back("No unknown by itself is known much better than before.");
  if (std::abs(moments.lopsided) > kLopsided)
    fit.notes.push_back(
        "The results set a bound on one side more than on the other: intervals are those of a lopsided "
        "density's mean and "
        "spread. A patch beyond the bound would tell more.");
  if (moments.effective < kPoor)
    fit.notes.push_back(
        "What is left open is far from a normal distribution: take the intervals as rough, or ask for "
        "chains.");
}

// What results say nothing of comes from its own distribution.
MatrixXd draws_with(const Coordinates& where, const MatrixXd& active) {
  if (active.cols() == 0) return {};
  const int idle = static_cast<int>(where.idle.cols()), count = static_cast<int>(active.cols());
  MatrixXd out = (where.active * active).colwise() + where.mean;
  if (idle > 0) {
    const std::vector<double> points = window::normal_points(idle, count, 2);
    out += where.idle * Eigen::Map<const MatrixXd>(points.data(), idle, count);
  }
  return out.transpose();
}

void from_draws(Sampling sampling, Fit& fit) {
  const MatrixXd& draws = sampling.draws;
  fit.best = draws.colwise().mean();
  const MatrixXd off = draws.rowwise() - fit.best.transpose();
  fit.covariance = off.transpose() * off / double(draws.rows() - 1);
  if (!(sampling.rhat <= 1.05))
    fit.notes.push_back(
        fmt::format("The chains don't agree yet: R-hat is {:.2f} (expected at most 1.05). Draw more of them.",
                    sampling.rhat));
  fit.draws = draws;
  fit.sampling = std::move(sampling);
}

Prior prior_for(const Trials& trials, const FitRequest& request) {
  return request.earlier ? prior_of(trials.unknowns(), *request.earlier)
                         : prior_of(trials.scene(), trials.unknowns());
}

// With errors and stray so many times as wide as stated.
Fit fit_once(const Trials& trials, const Coupon& coupon, const Report& report, const FitRequest& request,
             double wider) {
  Report wide = report;
  wide.width_error *= wider, wide.depth_error *= wider;
  const Evidence evidence(trials, coupon, wide, wider * request.stray);
  if (evidence.none())
    throw ValidityError(
        "fit: nothing was told of any patch (no class, and no width or depth that the model knows; expected "
        "one patch at "
        "least). Fill in the coupon's table");
  Fit out;
  out.unknowns = trials.unknowns();
  out.strays = wider;
  const Prior prior = prior_for(trials, request);
  Coordinates where;
  const Peak peak = climb(evidence, prior, request, where);
  const Moments found = moments(evidence, where, peak, request.threads);
  out.best = where.mean + where.active * found.mean;
  out.covariance =
      where.active * found.covariance * where.active.transpose() + where.idle * where.idle.transpose();
  out.draws = draws_with(where, found.draws);
  out.log_evidence = found.log_evidence;
  // A climb may end on the flat that slips leave, from which the draws find away.
  const VectorXd middle = evidence.outputs(out.best);
  const bool better = evidence.log(middle) > evidence.log(peak.near.outputs);
  out.surprise = evidence.surprise(better ? middle : peak.near.outputs);
  note_results(coupon, report, evidence.widthless(), out);
  if (wider > 1)
    out.notes.push_back(fmt::format(
        "What came out strays {:.0f} times as much as was stated: it is taken so, and tells less.", wider));
  if (!peak.settled)
    out.notes.push_back("The best fit was not found to the last: the model has a step there.");
  if (request.chains) from_draws(sample(evidence, where, found, request), out);
  note_unknowns(found, out);
  return out;
}

// What is known where a report fits nothing.
Fit unlearnt(const Trials& trials, const Coupon& coupon, const Report& report, const FitRequest& request,
             const Fit& odd) {
  Fit out;
  out.unknowns = trials.unknowns();
  const Prior prior = prior_for(trials, request);
  out.best = prior.mean, out.covariance = prior.covariance;
  if (request.earlier) out.draws = request.earlier->draws;
  out.log_evidence = odd.log_evidence, out.surprise = odd.surprise;
  out.strays = quantity::kInfinity;
  note_results(coupon, report, 0, out);
  out.notes.push_back(fmt::format(
      "{} of {} results are at odds with the others or with what is on record: nothing was learnt of them, "
      "and all "
      "stands as before. Look again, strike out what was told wrong, or burn those patches again.",
      odd_of(odd, report).size(), report.results.size()));
  return out;
}

Fit reconciled(const Trials& trials, const Coupon& coupon, const Report& report, const FitRequest& request,
               const Fit& odd) {
  for (const double wider : {2.0, 4.0}) {
    Fit wide = fit_once(trials, coupon, report, request, wider);
    if (!at_odds(wide, report) && wide.log_evidence > odd.log_evidence) return wide;
  }
  return unlearnt(trials, coupon, report, request, odd);
}

}  // namespace

VectorXd Fit::learnt() const {
  return (1 - covariance.diagonal().array()).max(0.0).min(1.0);
}

window::Interval Fit::interval(size_t unknown) const {
  const Unknown& u = unknowns.at(unknown);
  const bool share =
      u.optic == &workpiece::Optics::absorptivity || u.figure == &workpiece::Material::emissivity;
  const auto at = [&](double z) { return share ? std::min(u.at(z), 1.0) : u.at(z); };
  if (sampling) {
    const auto column = sampling->draws.col(long(unknown));
    const window::Interval z = window::interval({column.begin(), column.end()});
    return {at(z.low), at(z.middle), at(z.high)};
  }
  constexpr double kTail = 1.6448536269514722;
  const double mean = best[long(unknown)];
  const double off = kTail * std::sqrt(covariance(long(unknown), long(unknown)));
  return {at(mean - off), at(mean), at(mean + off)};
}

Fit nothing_learnt(const mark::Scene& scene) {
  Fit out;
  out.unknowns = fitted_unknowns(scene);
  const Prior prior = prior_of(with_threshold(scene), out.unknowns);
  out.best = prior.mean, out.covariance = prior.covariance;
  return out;
}

Fit fit(const mark::Scene& scene, const Coupon& coupon, const Report& report, const FitRequest& request) {
  std::vector<Patch> patches;
  Coupon told;
  for (const Slot& slot : coupon.slots)
    if (std::ranges::any_of(report.results, [&](const Result& r) { return r.number == slot.number; }))
      patches.push_back(slot.patch), told.slots.push_back(slot);
  return fit(Trials(scene, std::move(patches)), told, report, request);
}

Fit fit(const Trials& trials, const Coupon& coupon, const Report& report, const FitRequest& request) {
  FitRequest plain = request;
  plain.chains.reset();
  Fit out = fit_once(trials, coupon, report, plain, 1);
  if (at_odds(out, report)) out = reconciled(trials, coupon, report, plain, out);
  const bool again = request.chains && std::isfinite(out.strays);
  return again ? fit_once(trials, coupon, report, request, out.strays) : out;
}

}  // namespace circumfluence::calibration
