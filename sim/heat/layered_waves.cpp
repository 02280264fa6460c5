// The waves of a layered spot: where they stand on both axes, and how much of each there is.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "heat/layered_spot.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::heat {
namespace {

constexpr double kTurn = 0.37;  // of kx off the real axis
constexpr double kCut = 11.5;   // exponent at which a Gaussian's waves end
constexpr double kFine = 0.2,
                 kCoarse = 0.9;    // steps of ln kx on the turned ray: where the wake is, and below it
constexpr double kEven = 0.5;      // step of ln k on the real axis, where it is not yet even in k
constexpr double kFarthest = 1e4;  // [radii] beside the line
constexpr double kRest = 1e-6;     // of the rise that may be left out at small kx

// The transform of a spot's profile along one axis, kappa = k w.
class Transform {
 public:
  explicit Transform(double order) : order_(order) {
    if (order == 2) return;
    const double a = 0.5 * std::sqrt(std::tgamma(1 / order) / std::tgamma(3 / order));
    step_ = a * std::pow(20.0, 1 / order) / kSamples;
    double sum = 0;
    for (int i = 0; i < kSamples; ++i) {
      samples_.push_back(std::exp(-std::pow(i * step_ / a, order)) * (i == 0 ? 1 : 2));
      sum += samples_.back();
    }
    for (double& s : samples_) s /= sum;
  }

  std::complex<double> at(std::complex<double> kappa) const {
    if (order_ == 2) return std::exp(-kappa * kappa / 8.0);
    // Sum of samples times cosines (Clenshaw's recurrence); the trapezoidal rule, for a profile that is even
    // and has come to nothing at its end.
    return kappa.imag() == 0 ? series(std::cos(kappa.real() * step_)) : series(std::cos(kappa * step_));
  }

  // kappa beyond which nothing shows.
  double end() const {
    if (order_ == 2) return std::sqrt(8 * kCut);
    double last = 6;
    for (double kappa = last; kappa < last + 8 && kappa < 400; kappa += 0.7)
      if (std::abs(at(kappa)) * 2 / kappa > 1e-5) last = kappa;
    return last + 1;
  }

 private:
  template <class Number>
  Number series(const Number& cosine) const {
    Number one = 0, two = 0;
    for (int i = kSamples - 1; i > 0; --i) {
      const Number next = 2.0 * cosine * one - two + samples_[size_t(i)];
      two = one;
      one = next;
    }
    return cosine * one - two + samples_[0];
  }

  static constexpr int kSamples = 128;
  double order_, step_ = 0;
  std::vector<double> samples_;
};

struct Nodes {
  std::vector<double> at, step;
};

// From `last` down to `least`: k = (even/step) ln(1 + e^(step n)), even steps at large k, steps of ln k
// below.
Nodes real_axis(double even, double last, double least) {
  const double scale = even / kEven;
  Nodes nodes;
  for (int n = static_cast<int>(std::ceil(last / even));; --n) {
    const double e = std::exp(-std::abs(kEven * n));
    const double k = scale * (std::max(kEven * n, 0.0) + std::log1p(e));
    if (k < least) return nodes;
    nodes.at.push_back(k);
    nodes.step.push_back(even * (n > 0 ? 1 : e) / (1 + e));
  }
}

// From `last` down to `least`: steps of ln k, fine above `bend` and coarse below.
Nodes turned_ray(double bend, double last, double least) {
  Nodes nodes;
  for (int n = static_cast<int>(std::log(last / bend) / kFine) + 3;; --n) {
    const double e = std::exp(-std::abs(n)), soft = std::max(-n, 0) + std::log1p(e);
    const double k = bend * std::exp(kFine * n - (kCoarse - kFine) * soft);
    if (k > last) continue;
    if (k < least) return nodes;
    nodes.at.push_back(k);
    nodes.step.push_back(k * (kFine + (kCoarse - kFine) * (n > 0 ? e : 1) / (1 + e)));
  }
}

// [1/m] the longest distance that matters: heat spreads in the layers until the base or the loss behind takes
// it, or until the spot has left.
double longest(const Stack& stack, double speed) {
  double conductance = 0, capacity = 0;
  for (const Layer& layer : stack.layers) {
    if (std::isinf(layer.thickness)) return conductance > 0 ? layer.conductivity / conductance : HUGE_VAL;
    conductance += layer.conductivity * layer.thickness;
    capacity += layer.capacity * layer.thickness;
  }
  const double loss = stack.back == Back::insulated ? 0 : std::sqrt(stack.back_transfer / conductance);
  return std::max(speed * capacity / conductance, loss);
}

// The waves of one kx after the other.
struct Rows {
  LayeredAnswer answer;
  double speed;
  const Nodes& ky;
  std::vector<double> real, imaginary;
  std::complex<double> total = 0;

  // Adds a row of this weight and says what part it has in the rise under the spot so far.
  double add(std::complex<double> kx, std::complex<double> weight) {
    double out[2 * LayeredAnswer::kMost];
    std::complex<double> row = 0;
    for (size_t from = 0; from < ky.at.size(); from += LayeredAnswer::kMost) {
      const size_t n = std::min<size_t>(LayeredAnswer::kMost, ky.at.size() - from);
      answer.at(kx, speed, {&ky.at[from], n}, out);
      for (size_t i = 0; i < n; ++i) {
        const double w = ky.step[from + i];
        const double re = w * (weight.real() * out[i] - weight.imag() * out[n + i]);
        const double im = w * (weight.real() * out[n + i] + weight.imag() * out[i]);
        real.push_back(re);
        imaginary.push_back(im);
        row += std::complex(re, im);
      }
    }
    total += row;
    return std::abs(row) / std::abs(total);
  }
};

}  // namespace

LayeredSpot::Waves LayeredSpot::waves(const Reach& reach) const {
  if (!(reach.y <= kFarthest * spot_.across))
    throw quantity::ValidityError(
        fmt::format("heat: y = {} (farther than {:g} radii beside the line nothing is left; expected less)",
                    quantity::format(reach.y, "mm"), kFarthest));
  const Transform along(orders_.along), across(orders_.across);
  const double smallest = 1e-6 * std::min({1 / spot_.along, 1 / spot_.across, longest(stack_, spot_.speed)});
  const double wide = std::max(reach.y, 2 * spot_.across);
  Nodes ky =
      real_axis(2 * quantity::kPi / (1.5 * wide + 4 * spot_.across), across.end() / spot_.across, smallest);
  for (; ky.at.size() % 8; ky.step.push_back(0)) ky.at.push_back(ky.at.back());
  for (size_t i = 0; i < ky.at.size(); ++i)
    ky.step[i] *= across.at(ky.at[i] * spot_.across).real() / (quantity::kPi * quantity::kPi);

  const double turn = reach.side * kTurn, far = std::max(reach.x, 4 * spot_.along);
  const std::complex<double> ray = std::polar(1.0, turn);
  double last = along.end() / spot_.along / (reach.side ? std::sqrt(std::cos(2 * turn)) : 1);
  if (reach.side && orders_.along != 2) last = kCut / (2 * std::sin(kTurn) * spot_.along);
  const double even = 2 * quantity::kPi / (1.5 * far + 4 * spot_.along), floor = 1e-6 * smallest;
  const Nodes kx = reach.side ? turned_ray(0.1 / far, last, floor) : real_axis(even, last, floor);

  Waves waves{{far, wide, reach.side}, {}, ky.at, {}};
  Rows rows{LayeredAnswer(stack_, z_), spot_.speed, ky, {}, {}};
  for (size_t i = 0; i < kx.at.size(); ++i) {
    const std::complex<double> k = kx.at[i] * ray;
    const double part = rows.add(k, kx.step[i] * ray * along.at(k * spot_.along));
    waves.along.push_back(k);
    if (kx.at[i] < 0.1 / far && part < kRest) break;
  }
  waves.share = std::move(rows.real);
  waves.share.insert(waves.share.end(), rows.imaginary.begin(), rows.imaginary.end());
  return waves;
}

}  // namespace circumfluence::heat
