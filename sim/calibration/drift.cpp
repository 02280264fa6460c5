// Two coupons weeks apart: the factor between the powers that arrived.
//
// The first is fitted with the priors; what it leaves of all unknowns but the height of the focus is the
// second one's prior, as one Gaussian with its correlations, and the factor now / then is one unknown more,
// lognormal and within a factor of 3 with 90 %. It shifts all ends alike, as the power that arrives does, so
// that what tells it is the same patch coming out otherwise, not what the material is.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calibration/fitted.h"
#include "quantity/figure.h"

namespace circumfluence::calibration {
namespace {

using window::Unknown;

constexpr double kFivePercent = 1.6448536269514722;  // [1] deviate of the 95th percentile
constexpr double kWithin = 3.0;                      // factor, with 90 %

Unknown ratio_of(const mark::Scene& scene) {
  return {.name = "laser.power_now",
          .words = "power that arrives now, over that of then",
          .value = scene.power(),
          .spread = std::log(kWithin) / kFivePercent,
          .unit = "W",
          .relative = true,
          .of = Unknown::Of::power};
}

// The first fit as the second one's prior: the height was set anew, the ratio is open.
Fit prior_of(const Fit& then, const Unknown& ratio) {
  const auto n = static_cast<Eigen::Index>(then.unknowns.size());
  Fit out;
  out.unknowns = then.unknowns;
  out.unknowns.push_back(ratio);
  out.best = Eigen::VectorXd::Zero(n + 1);
  out.best.head(n) = then.best;
  out.covariance = Eigen::MatrixXd::Identity(n + 1, n + 1);
  out.covariance.topLeftCorner(n, n) = then.covariance;
  for (Eigen::Index i = 0; i < n; ++i) {
    if (then.unknowns[size_t(i)].of != Unknown::Of::height) continue;
    out.best(i) = 0;
    out.covariance.row(i).setZero(), out.covariance.col(i).setZero(), out.covariance(i, i) = 1;
  }
  return out;
}

std::vector<Patch> patches_of(const Coupon& coupon) {
  std::vector<Patch> out;
  for (const Slot& slot : coupon.slots) out.push_back(slot.patch);
  return out;
}

void say(Drift& drift, const mark::Scene& scene, const Fit& now, double spread) {
  if (std::ranges::any_of(now.unknowns, [](const Unknown& u) { return u.of == Unknown::Of::height; }))
    drift.notes.push_back(
        "The focus was set anew for the second coupon: its height is taken as independent of the first "
        "one's, and a "
        "coupon that lies out of focus looks like less power.");
  else if (std::isnan(scene.job.mount.height_spread))
    drift.notes.push_back(
        "The job states no mount.height_spread: a focus set otherwise than the first time is taken for a "
        "change of "
        "power.");
  if (spread > 0.5 * std::log(kWithin) / kFivePercent)
    drift.notes.push_back(
        "The second coupon hardly tells: repeat patches of the first one near where it just marks.");
  drift.notes.insert(drift.notes.end(), now.notes.begin(), now.notes.end());
}

}  // namespace

Drift drift(const mark::Scene& scene, const Coupons& then, const Coupons& now, const FitRequest& request) {
  FitRequest first = request;
  first.chains.reset();
  const Fit before = fit(scene, then.coupon, then.report, first);
  const Fit prior = prior_of(before, ratio_of(scene));
  FitRequest second = request;
  second.earlier = &prior;
  const Trials trials(with_threshold(scene), patches_of(now.coupon), prior.unknowns);
  const Fit after = fit(trials, now.coupon, now.report, second);
  const Eigen::Index last = after.best.size() - 1;
  const double s = prior.unknowns.back().spread, mean = s * after.best(last),
               spread = s * std::sqrt(after.covariance(last, last));
  Drift out;
  out.ratio = {std::exp(mean - kFivePercent * spread), std::exp(mean),
               std::exp(mean + kFivePercent * spread)};
  out.chance_lower = quantity::normal_below(-mean / spread);
  say(out, scene, after, spread);
  return out;
}

std::string text(const Drift& drift) {
  const auto share = [](double ratio) { return fmt::format("{:.0f} %", 100 * ratio); };
  std::string out = fmt::format(
      "drift      {} of the power of then arrives now ({} to {}, with 90 %); it has fallen with {:.0f} %\n",
      share(drift.ratio.middle), share(drift.ratio.low), share(drift.ratio.high), 100 * drift.chance_lower);
  for (const std::string& note : drift.notes) out += "note       " + note + "\n";
  return out;
}

}  // namespace circumfluence::calibration
