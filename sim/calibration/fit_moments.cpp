// What is left open around the best fit: Laplace's Gaussian, and moments of the density itself by importance.
#include <algorithm>
#include <cmath>

#include "calibration/fit.h"
#include "window/sobol.h"

namespace circumfluence::calibration {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kMostRounds = 4, kLeastDraws = 512, kChunk = 64;
constexpr double kMostOutputs = 1e8;  // draws times outputs
constexpr double kEnough = 0.35;      // [1] share of draws that count
constexpr double kLeastEach = 20;     // draws that count, a dimension: a handful says little of a covariance
constexpr double kReach = 1.1;        // [1] of proposals, over what is believed
constexpr double kKnown = 0.85;       // [1] deviates, of an axis below which it counts as known
constexpr double kLeast = 0.3,
                 kMost = 1.3;  // [1] times what Laplace has, and deviates: bounds of a side's reach
// Some draws go further along all known axes together, so that no tail is left out.
constexpr double kFar = 2.2, kFarShare = 0.25;  // [1]

// c = centre + axes t, each t a side's reach times x ~ N(0, 1), the known ones with a tail. Geweke 1989,
// Econometrica 57, 1317 [from memory]: an importance function split along each axis.
struct Proposal {
  VectorXd centre;
  MatrixXd axes;
  VectorXd up, down;  // reach, in the order of rising spread
  long known = 0;

  // x: r + 1 normal deviates; ln of the density goes into `log`, but for a constant.
  VectorXd draw(const Eigen::Ref<const VectorXd>& x, double& log) const {
    const long r = up.size();
    VectorXd t = x.head(r);
    const bool far = x[r] > 0.6744897501960817;  // of which kFarShare are
    if (far) t.head(known) *= kFar;
    const double square = t.head(known).squaredNorm();
    log = -t.tail(r - known).squaredNorm() / 2 +
          std::log((1 - kFarShare) * std::exp(-square / 2) +
                   kFarShare * std::exp(-square / (2 * kFar * kFar)) / std::pow(kFar, double(known)));
    for (long i = 0; i < r; ++i) {
      const double reach = t[i] > 0 ? up[i] : down[i];
      t[i] *= reach, log -= std::log(reach);
    }
    return centre + axes * t;
  }
};

Proposal about(const VectorXd& mean, const MatrixXd& covariance) {
  const Principal parts = principal(covariance);
  const VectorXd spread = parts.squares.cwiseMax(1e-12).cwiseSqrt();
  const VectorXd reach = (kReach * spread).cwiseMin(spread.cwiseMax(1.0));
  return {mean, parts.along, reach, reach, (spread.array() < kKnown).count()};
}

// Each side of each axis as far as the density is seen to go there.
template <class Height>
Proposal split(const Moments& believed, const Height& height) {
  Proposal out = about(believed.mean, believed.covariance);
  const double top = height(out.centre);
  const auto reach = [&](long axis, double sign) {
    const double spread = out.up[axis];
    double most = kLeast * spread;
    for (const double off : {0.5 * spread, spread, 2 * spread, 3 * spread, 5 * spread, 0.5, 1.0, 2.0, 3.0}) {
      const double drop = top - height(out.centre + sign * off * out.axes.col(axis));
      most = std::max(most, drop > 0 ? off / std::sqrt(2 * drop) : kMost);
    }
    return std::min(kReach * most, kMost);
  };
  for (long i = 0; i < out.up.size(); ++i) out.up[i] = reach(i, 1), out.down[i] = reach(i, -1);
  return out;
}

// ln of importance, by draw: ln likelihood + ln prior - ln proposal.
VectorXd weigh(const Evidence& evidence, const Coordinates& where, const Local& near, const MatrixXd& draws,
               int threads) {
  VectorXd out(draws.cols());
  const MatrixXd into = near.slope * where.active;
  const VectorXd base = near.slope * (where.mean - near.at) + near.outputs;
  const auto work = [&](int from, int to, int) {
    for (int first = from * kChunk; first < std::min<long>(long(to) * kChunk, draws.cols());
         first += kChunk) {
      const long count = std::min<long>(kChunk, draws.cols() - first);
      const auto c = draws.middleCols(first, count);
      const MatrixXd off = (where.active * c).colwise() + (where.mean - near.at);
      const MatrixXd outputs = ((into * c).colwise() + base) + near.bend * off.cwiseAbs2() / 2;
      for (long i = 0; i < count; ++i)
        out[first + i] = evidence.log(outputs.col(i)) - c.col(i).squaredNorm() / 2;
    }
  };
  quantity::for_bands(
      {.count = static_cast<int>((draws.cols() + kChunk - 1) / kChunk), .band = 4, .threads = threads}, work);
  return out;
}

// As many of each as its weight says, to one more or less, in the order of the draws.
MatrixXd kept(const MatrixXd& draws, const VectorXd& weights) {
  MatrixXd out(draws.rows(), kKept);
  double sum = weights[0];
  for (long i = 0, from = 0; i < kKept; ++i) {
    while (sum < (double(i) + 0.5) / kKept && from + 1 < draws.cols()) sum += weights[++from];
    out.col(i) = draws.col(from);
  }
  return out;
}

Moments moments_of(const MatrixXd& draws, const VectorXd& logs) {
  const double most = logs.maxCoeff();
  VectorXd weights = (logs.array() - most).exp();
  const double sum = weights.sum();
  weights /= sum;
  Moments out{draws * weights,
              {},
              most + std::log(sum / double(logs.size())),
              1 / weights.squaredNorm() / double(logs.size()),
              0,
              kept(draws, weights)};
  const MatrixXd off = draws.colwise() - out.mean;
  out.covariance = off * weights.asDiagonal() * off.transpose();
  const Principal parts = principal(out.covariance);
  const VectorXd along = off.transpose() * parts.along.col(0);
  out.lopsided =
      weights.dot(along.array().cube().matrix()) / std::pow(std::max(parts.squares[0], 1e-300), 1.5);
  return out;
}

// Laplace's, with draws of it. x: [draw][r + 1] normal deviates.
Moments gaussian(Moments believed, const std::vector<double>& x) {
  const long r = believed.mean.size();
  const Eigen::Map<const MatrixXd> points(x.data(), r + 1, long(x.size()) / (r + 1));
  believed.draws = (root_of(believed.covariance) * points.topRows(r)).colwise() + believed.mean;
  believed.effective = 0;
  return believed;
}

}  // namespace

Moments laplace(const Evidence& evidence, const Coordinates& where, const Peak& peak) {
  const long r = where.active.cols();
  const VectorXd off = where.mean + where.active * peak.c - peak.near.at;
  const MatrixXd slope = (peak.near.slope + peak.near.bend * off.asDiagonal()) * where.active;
  const std::vector<Evidence::Block> bends = evidence.bends(peak.near.outputs);
  MatrixXd hessian = MatrixXd::Identity(r, r);
  for (size_t i = 0; i < bends.size(); ++i) {
    const auto rows = slope.middleRows(long(i) * Evidence::kOutputs, Evidence::kOutputs);
    hessian += rows.transpose() * bends[i] * rows;
  }
  const Principal parts = principal(hessian);
  const double evidence_of_peak = evidence.log(peak.near.outputs) - peak.c.squaredNorm() / 2;
  return {peak.c,
          parts.along * parts.squares.cwiseInverse().asDiagonal() * parts.along.transpose(),
          evidence_of_peak - parts.squares.array().log().sum() / 2,
          1,
          0,
          {}};
}

Moments moments(const Evidence& evidence, const Coordinates& where, const Peak& peak, int threads) {
  const int r = static_cast<int>(where.active.cols());
  const Moments believed = laplace(evidence, where, peak);
  if (r == 0) return believed;
  Moments best = believed;
  const double rows = std::max<double>(1, double(peak.near.outputs.size()));
  const int count = std::clamp(static_cast<int>(kMostOutputs / rows), kLeastDraws, kDraws);
  const std::vector<double> points = window::normal_points(r + 1, count, 1);
  const Eigen::Map<const MatrixXd> x(points.data(), r + 1, count);
  Proposal proposal = split(believed, [&](const VectorXd& c) {
    return evidence.log(peak.near(where.mean + where.active * c)) - c.squaredNorm() / 2;
  });
  best.effective = 0;
  for (int round = 0; round < kMostRounds; ++round) {
    MatrixXd draws(r, count);
    VectorXd logs(count);
    for (int i = 0; i < count; ++i) draws.col(i) = proposal.draw(x.col(i), logs[i]);
    const Moments found = moments_of(draws, weigh(evidence, where, peak.near, draws, threads) - logs);
    if (found.effective > best.effective) best = found;
    if (best.effective > kEnough) break;
    if (found.effective * count < kLeastEach * r) break;
    proposal = about(found.mean, found.covariance);
  }
  return best.effective * count < kLeastEach * r ? gaussian(believed, points) : best;
}

}  // namespace circumfluence::calibration
