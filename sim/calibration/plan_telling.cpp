// Mutual information over weighed draws.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calibration/plan.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

constexpr int kClasses = 4;
constexpr double kLeastVariance = 1e-10;  // of ln of an end: rounding

double bits(double chance) {
  return chance > 0 ? -chance * std::log2(chance) : 0.0;
}

// A well-mixed number (Steele, Lea & Flood 2014, SplitMix64) as a fraction.
double fraction(std::uint64_t& state) {
  std::uint64_t z = (state += 0x9E3779B97F4A7C15ull);
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
  return double((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

Foreseen rows(const Foreseen& of, Eigen::Index from, Eigen::Index count) {
  return {of.candidates.middleRows(from, count), of.wanted.middleRows(from, count),
          of.ends.middleRows(from, count)};
}

Eigen::MatrixXf base_of(const Foreseen& sample) {
  const Eigen::Index wanted = sample.wanted.cols();
  Eigen::MatrixXf out(sample.wanted.rows(), wanted + 4);
  const Eigen::MatrixXf ends = sample.ends.rowwise() - sample.ends.colwise().mean();
  out << sample.wanted, ends, ends.cwiseProduct(ends);
  return out;
}

// Of one truth: sums over draws by the candidate's class, [class][base].
struct Sums {
  const float* at;
  Eigen::Index stride, wanted;  // between classes' sums; columns of wanted classes

  double of(int y, Eigen::Index column) const { return at[(y * (wanted + 4) + column) * stride]; }
  double class_chance(int y) const { return of(y, 0) + of(y, 1) + of(y, 2) + of(y, 3); }
};

// H(y) + H(y*) - H(y, y*), for each wanted setting.
double told_of_outcome(const Sums& sums) {
  double out = 0;
  for (Eigen::Index first = 0; first < sums.wanted; first += kClasses) {
    double own[kClasses] = {}, other[kClasses] = {}, whole = 0, joint = 0;
    for (int y = 0; y < kClasses; ++y)
      for (int star = 0; star < kClasses; ++star) {
        const double chance = sums.of(y, first + star);
        own[y] += chance, other[star] += chance, whole += chance;
        joint += bits(chance);
      }
    double apart = 0;
    for (int y = 0; y < kClasses; ++y) apart += bits(own[y]) + bits(other[y]);
    out += apart - joint + whole * std::log2(whole);  // of sums that are 1 but for rounding
  }
  return std::max(0.0, out);
}

// Half log2 of how far the variance of each end falls on average.
double told_of_ends(const Sums& sums) {
  double out = 0;
  for (Eigen::Index end = 0; end < 2; ++end) {
    double mean = 0, square = 0, after = 0;
    for (int y = 0; y < kClasses; ++y) {
      const double chance = sums.class_chance(y), first = sums.of(y, sums.wanted + end),
                   second = sums.of(y, sums.wanted + 2 + end);
      mean += first, square += second;
      if (chance > 1e-12) after += std::max(0.0, second - first * first / chance);
    }
    const double before = square - mean * mean;
    if (before > kLeastVariance) out += 0.5 * std::log2(before / std::clamp(after, kLeastVariance, before));
  }
  return out;
}

}  // namespace

Telling::Telling(Foreseen foreseen, size_t truths, std::uint64_t seed) : state_(seed) {
  const Eigen::Index all = foreseen.candidates.rows(), last = Eigen::Index(truths);
  if (last < 1 || last >= all || foreseen.wanted.rows() != all || foreseen.ends.rows() != all)
    throw quantity::ValidityError(
        fmt::format("plan: {} truths of {} draws (expected some of them, and rows for each)", truths, all));
  sample_ = rows(foreseen, 0, all - last);
  truths_ = rows(foreseen, all - last, last);
  base_ = base_of(sample_);
  logs_ = Eigen::MatrixXf::Zero(1, all - last);
  weights_ = Eigen::MatrixXf::Constant(1, all - last, 1.0f / float(all - last));
}

double Telling::entropy() const {
  const Eigen::MatrixXf chances = weights_ * sample_.wanted;
  double sum = 0;
  for (Eigen::Index i = 0; i < chances.size(); ++i) sum += bits(chances.data()[i]);
  return std::max(0.0, sum / double(chances.rows()));  // of sums that are 1 but for rounding
}

Telling::Gain Telling::gain(size_t candidate) const {
  Eigen::MatrixXf terms(base_.rows(), kClasses * base_.cols());
  for (int y = 0; y < kClasses; ++y)
    terms.middleCols(y * base_.cols(), base_.cols()) =
        base_.array().colwise() * sample_.candidates.col(Eigen::Index(kClasses * candidate) + y).array();
  const Eigen::MatrixXf all = weights_ * terms;
  Gain out{};
  for (Eigen::Index truth = 0; truth < all.rows(); ++truth) {
    const Sums sums{all.data() + truth, all.rows(), sample_.wanted.cols()};
    out.outcome += told_of_outcome(sums), out.ends += told_of_ends(sums);
  }
  return {out.outcome / double(all.rows()), out.ends / double(all.rows())};
}

void Telling::take(size_t candidate) {
  const Eigen::Index first = Eigen::Index(kClasses * candidate), count = truths_.candidates.rows();
  if (logs_.rows() != count) logs_ = logs_.row(0).replicate(count, 1).eval();
  const Eigen::MatrixXf logs = sample_.candidates.middleCols(first, kClasses).array().max(1e-30f).log();
  weights_.resize(count, logs_.cols());
  for (Eigen::Index truth = 0; truth < count; ++truth) {
    double left = fraction(state_);
    int y = 0;
    for (; y + 1 < kClasses; ++y)
      if ((left -= truths_.candidates(truth, first + y)) < 0) break;
    logs_.row(truth) += logs.col(y).transpose();
    const Eigen::RowVectorXf weights = (logs_.row(truth).array() - logs_.row(truth).maxCoeff()).exp();
    weights_.row(truth) = weights / weights.sum();
  }
}

double Telling::effective() const {
  return weights_.rowwise().squaredNorm().cwiseInverse().mean();
}

std::vector<double> Telling::outcome(size_t wanted) const {
  const Eigen::RowVectorXf mean =
      sample_.wanted.middleCols(Eigen::Index(kClasses * wanted), kClasses).colwise().mean();
  return {mean.data(), mean.data() + mean.size()};
}

}  // namespace circumfluence::calibration
