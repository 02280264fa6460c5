#include "heat/spot_integral.h"

#include <algorithm>
#include <cmath>

namespace circumfluence::heat {

namespace {

// Where the heat of a line laid down at once is highest at (y, z): the largest s = u^2 at which
// exp(-2y^2/(w^2+s) - 2z^2/s) / sqrt(s (w^2+s)) turns from rising to falling; 0 when it only falls.
double late_maximum(double across, double y, double z) {
  const double top = 4 * (y * y + z * z);
  const auto rising = [&](double s) {
    const double sy = 1 / (across * across + s);
    return (2 * y * y * sy - 0.5) * sy + (2 * z * z / s - 0.5) / s > 0;
  };
  double low = top;
  while (low > 1e-3 * top && !rising(low)) low *= 0.8;
  return low > 1e-3 * top ? 1.1 * low : 0.0;
}

}  // namespace

SpotIntegral::SpotIntegral(const Shape& shape, const Precision& precision, bool deep)
    : shape_(shape),
      precision_(precision),
      bend_(deep ? 0.0 : std::min({shape.along, shape.across, 0.7 * std::sqrt(shape.along / shape.drift)})) {}

// The trapezoidal variable n(u), one node per whole number; odd in u when z = 0, as the even integrand asks.
double SpotIntegral::number(double u) const {
  const double u2 = u * u, b2 = bend_ * bend_;
  const double even = bend_ > 0 ? std::asinh(u / bend_) : std::log(u / shape_.along);
  const double spot = u * std::sqrt((u2 + b2) / (u2 + 4 * shape_.along * shape_.along));
  return precision_.steps * even + 4 * precision_.spot_steps * shape_.drift * spot;
}

// dn/du
double SpotIntegral::density(double u) const {
  const double u2 = u * u, b2 = bend_ * bend_, d2 = u2 + 4 * shape_.along * shape_.along;
  const double root = std::sqrt(u2 + b2);
  const double spot = (b2 + 2 * u2 - u2 * (u2 + b2) / d2) / std::sqrt(d2);
  return (precision_.steps + 4 * precision_.spot_steps * shape_.drift * spot) / root;
}

// The nodes that matter: 2 (x + c u^2)^2 / Sx < cut, a quadratic in u^2.
SpotIntegral::Window SpotIntegral::window(const Point& point) const {
  const double k2 = precision_.cut / 2, w2 = shape_.along * shape_.along;
  const double c = shape_.drift, behind = -point.x;
  const double discriminant = k2 * (c * behind + k2 / 4 + c * c * w2);
  if (discriminant < 0) return {0, 0, 0};
  const double larger = c * behind + k2 / 2 + std::sqrt(discriminant);  // c^2 times the larger root
  if (larger <= 0) return {0, 0, 0};
  const double size = std::max({shape_.along, shape_.across, std::abs(point.x), std::abs(point.y), point.z});
  const double tail = size * std::exp(precision_.cut / 2);  // what lies beyond is size / tail of the whole
  const double high = c > 0 ? std::min(std::sqrt(larger) / c, tail) : tail;
  double low = std::sqrt(std::max(0.0, (behind * behind - k2 * w2) / larger));
  if (bend_ == 0) {
    const double least = std::min(shape_.along, shape_.across) * std::exp(-precision_.cut / 2);
    low = std::max({low, point.z * std::sqrt(2 / precision_.cut), least});
  }
  if (!(high > low)) return {0, 0, 0};
  return {static_cast<long>(std::floor(number(low))), static_cast<long>(std::ceil(number(high))) + 1, low};
}

// Makes the nodes of the window, keeping those at hand when it begins among them.
void SpotIntegral::cover(const Window& window) {
  const long have = static_cast<long>(nodes_.size());
  if (window.first < base_ || window.first > base_ + have || have == 0) {
    nodes_.clear();
    base_ = window.first;
    end_ = window.start;
  }
  const double ax2 = shape_.along * shape_.along, ay2 = shape_.across * shape_.across;
  double u = end_;
  for (long n = base_ + static_cast<long>(nodes_.size()); n < window.last; ++n) {
    double slope = density(u);
    if (!nodes_.empty()) u += 1 / slope;
    if (bend_ > 0 && n == 0) u = 0;  // n(0) = 0
    for (int turn = 0; turn < 40; ++turn) {
      slope = density(u);
      double step = (static_cast<double>(n) - number(u)) / slope;
      step = std::max(step, -0.9 * u);
      u += step;
      if (std::abs(step) <= 1e-7 * u) break;
    }
    const double u2 = u * u, sx = 1 / (ax2 + u2), sy = 1 / (ay2 + u2);
    const double half = bend_ > 0 && n == 0 ? 0.5 : 1.0;  // the integrand is even in u when z = 0
    nodes_.push_back({u2, sx, sy, half * std::sqrt(sx * sy) / density(u)});
    end_ = u;
  }
}

Slopes SpotIntegral::at(const Point& point) {
  const Window w = window(point);
  Slopes sum;
  if (w.first >= w.last) return sum;
  cover(w);
  const double y2 = point.y * point.y, z2 = point.z * point.z;
  for (long n = w.first; n < w.last; ++n) {
    const Node& node = nodes_[static_cast<size_t>(n - base_)];
    const double distance = point.x + shape_.drift * node.u2;
    double exponent = distance * distance * node.sx + y2 * node.sy;
    if (z2 > 0) exponent += z2 / node.u2;
    const double term = node.weight * std::exp(-2 * exponent);
    const double tilt = -4 * distance * node.sx;
    sum.value += term;
    sum.x += term * tilt;
    sum.xx += term * (tilt * tilt - 4 * node.sx);
    sum.y += term * node.sy;
  }
  sum.y *= -4 * point.y;
  return sum;
}

// Newton's method on d(ln I)/dx, kept inside a bracket that moves outward by factors of two until it closes.
Crest SpotIntegral::climb(double x, double y, double z) {
  double low = -HUGE_VAL, high = 0;  // the slope is positive at low and negative at high
  for (int turn = 0;; ++turn) {
    const Slopes here = at({x, y, z});
    // Nothing at all means that the heat has not arrived at this depth: look further back.
    const double slope = here.value > 0 ? here.x / here.value : -1.0;
    const double bend = here.value > 0 ? here.xx / here.value - slope * slope : 0.0;
    (slope > 0 ? low : high) = x;
    double step = bend < 0 ? -slope / bend : 0.0;
    const bool small = bend < 0 && 0.5 * slope * step < precision_.improvement;
    if (small || turn == 100) return {here.value * (1 + 0.5 * slope * step), x + step, here.y};
    if (bend >= 0 || x + step < 2 * x || x + step > x / 2) step = slope > 0 ? -x / 2 : x;
    if (x + step <= low || x + step >= high) step = (high < 0 ? -std::sqrt(low * high) : low / 2) - x;
    x += step;
  }
}

Crest SpotIntegral::crest(double y, double z) {
  const double c = shape_.drift;
  if (c == 0) {
    const Slopes centre = at({0, y, z});
    return {centre.value, 0, centre.y};
  }
  const double direct = c * shape_.along * shape_.along / (1 + 2.6 * c * shape_.along);
  const double late = direct + c * late_maximum(shape_.across, y, z);
  if (late < 3 * direct || c * std::max(shape_.along, shape_.across) < 0.002) return climb(-late, y, z);
  // The skirt while the spot passes, unless it is certain to be nothing.
  const double spread = 4 * direct / c;
  if (2 * y * y > 40 * (shape_.across * shape_.across + spread)) return climb(-late, y, z);
  const Crest first = climb(-direct, y, z);
  const Crest second = climb(-late, y, z);
  return second.value > first.value ? second : first;
}

}  // namespace circumfluence::heat
