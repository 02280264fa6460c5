// The way to the best fit: the model near a point, the coordinates that results depend on, and the climb.
#include <nlopt.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "calibration/fit.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double kStep = 0.5;    // [1] deviates, of differences
constexpr double kSame = 1e-9;   // [1] of outputs that do not differ
constexpr double kJump = 1;      // [1] of an output on one side only: it has an end there, or none
constexpr double kClose = 0.02;  // [1] a step that is no more
constexpr double kNear = 0.3;    // the same with errors taken wider
constexpr double kGain = 0.05;   // [1] of ln density, that is not worth a step
constexpr double kWider = 4;     // [1]
constexpr int kMostSteps = 25, kMostLocals = 5, kMostHalvings = 6, kMostLooks = 400;

// ln prior + ln likelihood, but for a constant, of the model near a point, for the optimiser.
struct Hill {
  const Evidence& evidence;
  const Local& near;
  const Coordinates& where;
  double wider;

  double operator()(const VectorXd& c, VectorXd* slope) const {
    const VectorXd z = where.mean + where.active * c;
    VectorXd by_output;
    const double log = evidence.log(near(z), wider, by_output);
    if (slope != nullptr) {
      const VectorXd off = z - near.at;
      const VectorXd by_unknown =
          near.slope.transpose() * by_output + off.cwiseProduct(near.bend.transpose() * by_output);
      *slope = where.active.transpose() * by_unknown - c;
    }
    return log - c.squaredNorm() / 2;
  }
};

double look(unsigned count, const double* at, double* slope, void* data) {
  const Hill& hill = *static_cast<const Hill*>(data);
  const VectorXd c = Eigen::Map<const VectorXd>(at, long(count));
  VectorXd found;
  const double height = hill(c, slope != nullptr ? &found : nullptr);
  if (slope != nullptr) std::copy_n(found.data(), count, slope);
  return height;
}

VectorXd top_of(const Hill& hill, const VectorXd& from) {
  if (from.size() == 0) return from;
  const std::unique_ptr<nlopt_opt_s, decltype(&nlopt_destroy)> search(
      nlopt_create(NLOPT_LD_SLSQP, unsigned(from.size())), nlopt_destroy);
  nlopt_set_max_objective(search.get(), look, const_cast<Hill*>(&hill));
  nlopt_set_xtol_abs1(search.get(), 1e-4);
  nlopt_set_maxeval(search.get(), kMostLooks);
  // No reach for what the model near a point knows nothing of.
  nlopt_set_lower_bounds1(search.get(), -8);
  nlopt_set_upper_bounds1(search.get(), 8);
  VectorXd top = from.cwiseMax(-8).cwiseMin(8);
  double height = 0;
  const nlopt_result result = nlopt_optimize(search.get(), top.data(), &height);
  const bool stopped = result < 0 && result != NLOPT_ROUNDOFF_LIMITED;
  return stopped || !top.allFinite() || hill(top, nullptr) < hill(from, nullptr) ? from : top;
}

// Broyden's rule: the model near the new point has the outputs found there, and gives those of the last one.
void move_to(const VectorXd& at, const VectorXd& outputs, Local& near) {
  const VectorXd step = at - near.at;
  const VectorXd off = outputs - near(at);
  near.slope += near.bend * step.asDiagonal();
  if (step.squaredNorm() > 0) near.slope += off * step.transpose() / step.squaredNorm();
  near.at = at, near.outputs = outputs;
}

class Climb {
 public:
  Climb(const Evidence& evidence, const Prior& prior, const FitRequest& request, Coordinates& where)
      : evidence_(evidence), prior_(prior), request_(request), where_(where) {
    c_ = VectorXd::Zero(0);
    solve(prior.mean);
    c_ = VectorXd::Zero(where_.active.cols());
  }

  // Whether the last step was a small one.
  bool go(double wider, double close, bool to_the_last) {
    locals_ = 0;
    for (int step = 0; step < kMostSteps; ++step) {
      const VectorXd target = top_of({evidence_, near_, where_, wider}, c_);
      const double moves = c_.size() == 0 ? 0 : (where_.active * (target - c_)).cwiseAbs().maxCoeff();
      if (moves < close && (fresh_ || !to_the_last)) return true;
      const bool rose = moves >= close && rise(target, wider);
      // Where the model is not as smooth as its slopes have it, hardly anything is to be gained.
      if (!rose && fresh_) return gain(target, wider) < kGain;
      if (!rose || halved_) {
        if (++locals_ > kMostLocals) return false;
        solve(near_.at);
      }
    }
    return false;
  }

  Peak peak(bool settled) && { return {std::move(near_), std::move(c_), settled}; }

 private:
  void heed() {
    done_ += (1 - done_) / 8;
    if (request_.progress && !request_.progress(done_)) throw quantity::Interrupted();
  }

  void solve(const VectorXd& at) {
    heed();
    near_ = local(evidence_, at, request_.threads);
    fresh_ = true;
    const Coordinates now = coordinates(prior_, near_);
    if (c_.size() > 0 && now.active.cols() == where_.active.cols()) return;
    // What did nothing at the prior's mean may do something here.
    where_ = now;
    c_ = least_squares(where_.active, at - where_.mean);
  }

  double gain(const VectorXd& target, double wider) const {
    const Hill hill{evidence_, near_, where_, wider};
    return hill(target, nullptr) - hill(c_, nullptr);
  }

  // A step toward the target that the model itself agrees to, by halves.
  bool rise(const VectorXd& target, double wider) {
    const auto height = [&](const VectorXd& outputs, const VectorXd& c) {
      return evidence_.log(outputs, wider) - c.squaredNorm() / 2;
    };
    const double now = height(near_.outputs, c_);
    double share = 1;
    halved_ = false;
    for (int half = 0; half < kMostHalvings; ++half, share /= 2) {
      heed();
      const VectorXd c = c_ + share * (target - c_), z = where_.mean + where_.active * c;
      const VectorXd outputs = evidence_.outputs(z);
      if (!(height(outputs, c) > now)) {
        halved_ = true;
        continue;
      }
      move_to(z, outputs, near_);
      c_ = c;
      fresh_ = false;
      return true;
    }
    return false;
  }

  const Evidence& evidence_;
  const Prior& prior_;
  const FitRequest& request_;
  Coordinates& where_;
  Local near_;
  VectorXd c_;
  bool fresh_ = false, halved_ = false;
  int locals_ = 0;
  double done_ = 0;
};

}  // namespace

VectorXd Local::operator()(const VectorXd& deviates) const {
  const VectorXd off = deviates - at;
  return outputs + slope * off + bend * off.cwiseAbs2() / 2;
}

Local local(const Evidence& evidence, const VectorXd& at, int threads) {
  const int n = static_cast<int>(at.size());
  std::vector<VectorXd> found(size_t(2 * n) + 1);
  const auto solve = [&](int from, int to, int) {
    for (int i = from; i < to; ++i) {
      VectorXd z = at;
      if (i > 0) z[(i - 1) / 2] += i % 2 == 1 ? kStep : -kStep;
      found[size_t(i)] = evidence.outputs(z);
    }
  };
  quantity::for_bands({.count = 2 * n + 1, .band = 1, .threads = threads}, solve);
  Local out{at, found[0], MatrixXd::Zero(found[0].size(), n), MatrixXd::Zero(found[0].size(), n)};
  for (int i = 0; i < n; ++i) {
    const VectorXd up = found[size_t(2 * i) + 1] - found[0], down = found[size_t(2 * i) + 2] - found[0];
    if (std::max(up.lpNorm<Eigen::Infinity>(), down.lpNorm<Eigen::Infinity>()) < kSame) continue;
    for (long k = 0; k < up.size(); ++k) {
      const bool jumps = std::abs(up[k] + down[k]) > kJump;
      const double less = std::abs(up[k]) < std::abs(down[k]) ? up[k] : -down[k];
      out.slope(k, i) = jumps ? less / kStep : (up[k] - down[k]) / (2 * kStep);
      out.bend(k, i) = jumps ? 0 : (up[k] + down[k]) / (kStep * kStep);
    }
  }
  return out;
}

Coordinates coordinates(const Prior& prior, const Local& near) {
  const long n = prior.mean.size();
  std::vector<long> active, idle;
  for (long i = 0; i < n; ++i)
    (near.slope.col(i).isZero(0) && near.bend.col(i).isZero(0) ? idle : active).push_back(i);
  const long r = long(active.size());
  MatrixXd basis = MatrixXd::Identity(n, n);
  MatrixXd factor = basis;
  MatrixXd ordered(n, n);  // columns of the unknowns that count, then of the others
  for (long i = 0; i < n; ++i) ordered.col(i) = basis.col(i < r ? active[size_t(i)] : idle[size_t(i - r)]);
  if (prior.covariance != basis) {
    factor = lower_root_of(prior.covariance);
    // Outputs depend on z_active = (factor u)_active: on u's part in the span of those rows.
    ordered = turned_to(factor.transpose() * ordered);
  }
  return {prior.mean, factor * ordered.leftCols(r), factor * ordered.rightCols(n - r)};
}

Peak climb(const Evidence& evidence, const Prior& prior, const FitRequest& request,
           Coordinates& coordinates) {
  Climb climb(evidence, prior, request, coordinates);
  climb.go(kWider, kNear, false);
  const bool settled = climb.go(1, kClose, true);
  return std::move(climb).peak(settled);
}

}  // namespace circumfluence::calibration
