// Draws of what is left open, on the model itself.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "calibration/fit.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kFreedom = 7;          // of the t distribution
constexpr double kReach = 1.15;      // [1] of its scale over what is believed
constexpr double kKnown = 0.8;       // [1] of a variance below which an axis counts as known
constexpr double kSmallShare = 0.3;  // [1] of proposals that are small steps
constexpr int kBlock = 10;           // steps between reports

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : bits_(seed) {}
  double share() { return (double(bits_() >> 12) + 0.5) * 0x1p-52; }
  double normal() { return std::sqrt(-2 * std::log(share())) * std::cos(2 * std::numbers::pi * share()); }
  VectorXd normals(long count) {
    return VectorXd::NullaryExpr(count, [this] { return normal(); });
  }

 private:
  std::mt19937_64 bits_;
};

// c = mean + axes diag(spread) x; of known axes x is t distributed together, of the others normal.
class Proposal {
 public:
  explicit Proposal(const Moments& about) : mean_(about.mean) {
    const Principal parts = principal(about.covariance);
    axes_ = parts.along;
    spread_ = parts.squares.cwiseMax(1e-12).cwiseSqrt();
    for (long i = 0; i < spread_.size(); ++i)
      if (spread_[i] < std::sqrt(kKnown)) spread_[i] *= kReach, ++known_;
  }
  VectorXd draw(Dice& dice) const {
    double sum = 0;
    for (int i = 0; i < kFreedom; ++i) sum += std::pow(dice.normal(), 2);
    VectorXd x = dice.normals(spread_.size());
    x.head(known_) *= std::sqrt(kFreedom / sum);
    return mean_ + axes_ * spread_.cwiseProduct(x);
  }
  double log(const VectorXd& c) const {
    const VectorXd x = (axes_.transpose() * (c - mean_)).cwiseQuotient(spread_);
    return -(kFreedom + double(known_)) / 2 * std::log1p(x.head(known_).squaredNorm() / kFreedom) -
           x.tail(x.size() - known_).squaredNorm() / 2;
  }
  VectorXd step(Dice& dice) const {
    const double scale = 1.2 / std::sqrt(std::max<double>(1, double(spread_.size())));
    return axes_ * spread_.cwiseProduct(dice.normals(spread_.size())) * scale;
  }

 private:
  VectorXd mean_, spread_;
  MatrixXd axes_;
  long known_ = 0;  // axes, in the order of rising spread
};

class Chain {
 public:
  Chain(const Evidence& evidence, const Coordinates& where, const Proposal& proposal, std::uint64_t seed)
      : evidence_(evidence), where_(where), proposal_(proposal), dice_(seed) {
    c_ = proposal_.draw(dice_);
    log_ = height(c_);
  }
  void step() {
    const bool small = dice_.share() < kSmallShare;
    const VectorXd c = small ? VectorXd(c_ + proposal_.step(dice_)) : proposal_.draw(dice_);
    const double log = height(c);
    const double odds = log - log_ + (small ? 0 : proposal_.log(c_) - proposal_.log(c));
    ++steps_;
    if (!(std::log(dice_.share()) < odds)) return;
    c_ = c, log_ = log, ++kept_;
  }
  // What results say nothing of is drawn anew.
  VectorXd deviates() {
    return where_.mean + where_.active * c_ + where_.idle * dice_.normals(where_.idle.cols());
  }
  double accepted() const { return steps_ == 0 ? 0 : double(kept_) / steps_; }

 private:
  double height(const VectorXd& c) const {
    return evidence_.log(evidence_.outputs(where_.mean + where_.active * c)) - c.squaredNorm() / 2;
  }

  const Evidence& evidence_;
  const Coordinates& where_;
  const Proposal& proposal_;
  Dice dice_;
  VectorXd c_;
  double log_ = 0;
  int steps_ = 0, kept_ = 0;
};

double mean_of(std::span<const double> x) {
  double sum = 0;
  for (const double v : x) sum += v;
  return sum / double(x.size());
}

// The mean of products of what is `lag` apart, about the mean.
double product(std::span<const double> x, double mean, size_t lag) {
  double sum = 0;
  for (size_t i = lag; i < x.size(); ++i) sum += (x[i] - mean) * (x[i - lag] - mean);
  return sum / double(x.size());
}

// Of one unknown: halves of chains, each `length` long. R-hat, and effective draws by Geyer's initial
// positive pairs.
std::pair<double, double> mixing(const std::vector<std::span<const double>>& halves) {
  const double m = double(halves.size()), n = double(halves.front().size());
  std::vector<double> means;
  double within = 0;
  for (const auto& half : halves) {
    means.push_back(mean_of(half));
    within += product(half, means.back(), 0) * n / (n - 1) / m;
  }
  const double all = mean_of(means);
  double between = 0;
  for (const double mean : means) between += (mean - all) * (mean - all) / (m - 1);
  if (!(within > 0)) return {between > 0 ? quantity::kInfinity : 1, m * n};
  const double total = within * (n - 1) / n + between;
  const auto correlation = [&](size_t lag) {
    double sum = 0;
    for (size_t h = 0; h < halves.size(); ++h) sum += product(halves[h], means[h], lag) / m;
    return 1 - (within - sum) / total;
  };
  double sum = 0;
  for (size_t lag = 0; lag + 1 < halves.front().size(); lag += 2) {
    const double pair = (lag == 0 ? 1 : correlation(lag)) + correlation(lag + 1);
    if (pair < 0) break;
    sum += pair;
  }
  return {std::sqrt(total / within), std::min(m * n, m * n / std::max(2 * sum - 1, 1e-3))};
}

void judge(int chains, Sampling& out) {
  out.rhat = 1, out.effective = double(out.draws.rows());
  const size_t half = size_t(out.draws.rows()) / size_t(chains) / 2;
  if (half < 2) {
    out.rhat = quantity::kInfinity, out.effective = chains;
    return;
  }
  for (long unknown = 0; unknown < out.draws.cols(); ++unknown) {
    const double* const column = out.draws.data() + unknown * out.draws.rows();
    std::vector<std::span<const double>> halves;
    for (size_t h = 0; h < 2 * size_t(chains); ++h)
      halves.emplace_back(column + (h / 2) * size_t(out.draws.rows() / chains) + (h % 2) * half, half);
    const auto [rhat, effective] = mixing(halves);
    out.rhat = std::max(out.rhat, rhat), out.effective = std::min(out.effective, effective);
  }
}

}  // namespace

Sampling sample(const Evidence& evidence, const Coordinates& where, const Moments& about,
                const FitRequest& request) {
  const Chains& chains = request.chains.value();
  if (chains.count < 2 || chains.count > 1000 || chains.draws < 10 || chains.draws > 10'000'000)
    throw quantity::ValidityError("fit: chains (expected 2 to 1000 of 10 to 10000000 draws each)");
  const Proposal proposal(about);
  std::vector<Chain> running;
  for (int i = 0; i < chains.count; ++i)
    running.emplace_back(evidence, where, proposal, chains.seed * 1000003 + std::uint64_t(i));
  Sampling out;
  out.draws.resize(long(chains.count) * chains.draws, where.mean.size());
  const int before = chains.draws / 4, all = before + chains.draws;
  for (int from = 0; from < all; from += kBlock) {
    if (request.progress && !request.progress(double(from) / all)) throw quantity::Interrupted();
    const auto work = [&](int first, int last, int) {
      for (int i = first; i < last; ++i)
        for (int step = from; step < std::min(from + kBlock, all); ++step) {
          running[size_t(i)].step();
          if (step >= before)
            out.draws.row(long(i) * chains.draws + step - before) = running[size_t(i)].deviates().transpose();
        }
    };
    quantity::for_bands({.count = chains.count, .band = 1, .threads = request.threads}, work);
  }
  for (const Chain& chain : running) out.accepted += chain.accepted() / chains.count;
  judge(chains.count, out);
  return out;
}

}  // namespace circumfluence::calibration
