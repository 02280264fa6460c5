#include "beam/spot_profile.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"

namespace circumfluence::beam {
namespace {

constexpr int kSteps = 2048;
constexpr double kTail = 1e-7;

// Integral over [0, h] of a smooth function by the five-point Gauss-Legendre rule.
template <class Function>
double integral(double from, double h, const Function& f) {
  constexpr double x1 = 0.5384693101056831, x2 = 0.9061798459386640;
  constexpr double w0 = 128.0 / 225, w1 = 0.4786286704993665, w2 = 0.2369268850561891;
  const double m = from + h / 2, r = h / 2;
  return r * (w0 * f(m) + w1 * (f(m - r * x1) + f(m + r * x1)) + w2 * (f(m - r * x2) + f(m + r * x2)));
}

// Cubic through two values with their slopes, at share s of a step h.
double hermite(double s, double h, double y0, double y1, double d0, double d1) {
  const double a = 2 * (y0 - y1) + h * (d0 + d1), b = 3 * (y1 - y0) - h * (2 * d0 + d1);
  return ((a * s + b) * s + h * d0) * s + y0;
}

}  // namespace

SpotProfile::SpotProfile(double order) : order_(order) {
  if (!(order >= 2 && order <= 40))
    throw quantity::ValidityError(
        fmt::format("spot profile: order = {} (expected 2, Gaussian, to 40)", order));
  scale_ = 0.5 * std::sqrt(std::tgamma(1 / order) / std::tgamma(3 / order));
  norm_ = order / (2 * scale_ * std::tgamma(1 / order));
  // exp(-u) bounds the tail beyond t = scale u^(1/order) well enough; the table shows what is really left.
  const double far = scale_ * std::pow(-std::log(kTail * 1e-3), 1 / order);
  step_ = 2 * far / kSteps;
  reach_ = far;
  cumulative_.assign(kSteps + 1, 0.0);
  ramp_.assign(kSteps + 1, 0.0);
  const auto p = [this](double t) { return density(t); };
  for (int i = 1; i <= kSteps; ++i)
    cumulative_[i] = cumulative_[i - 1] + integral(-far + (i - 1) * step_, step_, p);
  for (double& c : cumulative_) c /= cumulative_.back();
  for (int i = 1; i <= kSteps; ++i) {
    const double t = -far + i * step_;
    ramp_[i] = ramp_[i - 1] + step_ / 2 * (cumulative_[i - 1] + cumulative_[i]) +
               step_ * step_ / 12 * (density(t - step_) - density(t));  // corrected trapezoid, fourth order
  }
  const auto inside = std::upper_bound(cumulative_.begin(), cumulative_.end(), kTail);
  reach_ = far - double(inside - cumulative_.begin() - 1) * step_;
}

double SpotProfile::density(double t) const {
  const double x = std::abs(t) / scale_;
  return norm_ * std::exp(-(order_ == 2 ? x * x : std::pow(x, order_)));
}

double SpotProfile::cumulative(double t) const {
  const double at = (t + step_ * kSteps / 2) / step_;
  if (at <= 0) return 0.0;
  if (at >= kSteps) return 1.0;
  const int i = static_cast<int>(at);
  const double t0 = (i - kSteps / 2) * step_;
  return hermite(at - i, step_, cumulative_[i], cumulative_[i + 1], density(t0), density(t0 + step_));
}

double SpotProfile::ramp(double t) const {
  const double far = step_ * kSteps / 2, at = (t + far) / step_;
  if (at <= 0) return 0.0;
  if (at >= kSteps) return ramp_.back() + (t - far);
  const int i = static_cast<int>(at);
  return hermite(at - i, step_, ramp_[i], ramp_[i + 1], cumulative_[i], cumulative_[i + 1]);
}

}  // namespace circumfluence::beam
