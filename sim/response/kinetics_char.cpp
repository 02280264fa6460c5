// In this file lengths count in sqrt(a t1), times in t1 and temperatures as shares of (surface - start), t1
// being the dwell for s <= 1, else dwell / s^2, when the surface reaches its highest. Then every s has the
// same past.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/lanes.h"
#include "response/kinetics.h"

namespace circumfluence::response {

namespace {

const double kRootPi = std::sqrt(quantity::kPi);
const double kFlux = kRootPi / 2;  // [1] absorbed
const double kSlope = 1 / kFlux;   // [1] length of the constant-flux profile, from its slope, at time 1
constexpr double kQuarter = quantity::kPi / 4;  // [1] heat in that profile over its length
// Rate at which the profile of constant flux turns exponential, see Recession.
const double kTurn = (1 - 2 / quantity::kPi) / (1 - kQuarter) / (kSlope * kSlope);

double ierfc(double x) {
  return std::exp(-x * x) / kRootPi - x * std::erfc(x);
}

// exp(x^2) erfc(x) for x >= 0
double scaled_erfc(double x) {
  if (x < 8) return std::exp(x * x) * std::erfc(x);
  const double y = 1 / (2 * x * x);
  return (1 - y * (1 - 3 * y * (1 - 5 * y))) / (x * kRootPi);
}

// Constant flux from time 0; 1 at the surface at time 1.
double heated(double z, double t) {
  return t > 0 ? kRootPi * std::sqrt(t) * ierfc(z / (2 * std::sqrt(t))) : 0;
}

// exp(-z / length), left alone for the time t under an insulated surface.
double spread_out(double z, double t, double length) {
  if (!(t > 0)) return std::exp(-z / length);
  const double root = std::sqrt(t), far = z / (2 * root), ahead = root / length + far,
               behind = root / length - far;
  const double bell = std::exp(-far * far);
  const double first = behind > 0 ? bell * scaled_erfc(behind)
                                  : std::exp(t / (length * length) - z / length) * std::erfc(behind);
  return 0.5 * (first + bell * scaled_erfc(ahead));
}

// The body while it is removed: depth gone, length of the profile at the surface, and how far the profile has
// turned from that of constant flux (0) into the exponential of steady recession (1).
struct Front {
  double gone, length, turned;
};

// What is left of the body at a depth z under the front.
double profile(const Front& front, double z) {
  const double stretch = front.length / kSlope;
  return (1 - front.turned) * heated(z / stretch, 1) + front.turned * std::exp(-z / front.length);
}

double cooled(const Front& front, double z, double t) {
  const double stretch = front.length / kSlope, whole = stretch * stretch + t;
  const double early = (heated(z, whole) - heated(z, t)) / stretch;
  return (1 - front.turned) * early + front.turned * spread_out(z, t, front.length);
}

// The front from time 1 on. With sigma the sensible share of the removal energy, h = (1 - sigma) / sigma and
// L [1] the length by slope:
//   at the surface  q = 1/L + u h              (u recession)
//   in the body     d(L e)/dt = q - u / sigma,  e = pi/4 + (1 - pi/4) turned
// For h = 0 L stays, and at a surface of constant temperature u = -T_zz / T_z; then turned = 1 - exp(-kTurn
// (t - 1)), which is used for every h.
class Recession {
 public:
  explicit Recession(double sensible) : sigma_(std::clamp(sensible, 0.02, 1.0)) {
    const double h = (1 - sigma_) / sigma_;
    fronts_.push_back({0, kSlope, 0});
    double last = 0, heat = kSlope * kQuarter;
    for (int i = 1; i <= kCount; ++i) {
      const double after = kFirst * std::expm1(i * kGrowth), step = after - last;
      const double turned = -std::expm1(-kTurn * after), e = kQuarter + (1 - kQuarter) * turned;
      // An implicit step: h e L^2 + (q step - h heat) L - step (1 + h) = 0.
      const double b = kFlux * step - h * heat, c = step * (1 + h);
      const double root = std::sqrt(b * b + 4 * h * e * c);
      const double length = b > 0 ? 2 * c / (b + root) : (root - b) / (2 * h * e);
      heat = length * e;
      fronts_.push_back({sigma_ * (kFlux * after - (heat - kSlope * kQuarter)), length, turned});
      last = after;
    }
  }

  Front at(double after) const {  // time since the front began to move
    const double along = std::log1p(after / kFirst) / kGrowth;
    Front front = fronts_.back();
    if (along >= kCount) {
      front.gone += kFlux * sigma_ * (after - kFirst * std::expm1(kCount * kGrowth));
      return front;
    }
    const size_t i = static_cast<size_t>(along);
    const double part = along - static_cast<double>(i);
    const Front &a = fronts_[i], &b = fronts_[i + 1];
    return {a.gone + part * (b.gone - a.gone), a.length + part * (b.length - a.length),
            a.turned + part * (b.turned - a.turned)};
  }

 private:
  static constexpr double kFirst = 0.02, kGrowth = 0.02;
  static constexpr int kCount = 400;  // to 60 t1
  double sigma_;
  std::vector<Front> fronts_;
};

// Gauss-Legendre, three points on (0, 1).
constexpr double kPoint[] = {0.1127016653792583, 0.5, 0.8872983346207417};
constexpr double kWeight[] = {5.0 / 18, 8.0 / 18, 5.0 / 18};

// Panels that grow away from the moment at which the beam leaves.
constexpr double kPanels[] = {0, 0.004, 0.015, 0.05, 0.15, 0.4, 1, 2.5, 6, 15, 40};
constexpr double kHottest = 1e4;  // [K] beyond all sense
constexpr double kFaint = 0.25;   // [1] share below which nothing reacts beside what does at the surface

// The dose at a depth under the surface that is left, of one strength.
class Charring {
 public:
  Charring(const Reaction& reaction, const CharBody& body, const Recession& recession, double strength)
      : reaction_(reaction), body_(body), recession_(recession), peak_(std::min(strength, 1.0)) {
    unit_ = strength > 1 ? body.dwell / (strength * strength) : body.dwell;
    ablating_ = std::max(strength * strength - 1, 0.0);
    end_ = recession.at(ablating_);
  }

  double length() const { return std::sqrt(body_.diffusivity * unit_); }

  double log_dose(double z) const {
    const double deep = z + end_.gone;
    double sum = integral(1, [&](double before) { return peak_ * heated(deep, 1 - before); });
    if (ablating_ > 0)
      sum += integral(ablating_, [&](double before) {
        const Front front = recession_.at(ablating_ - before);
        return profile(front, deep - front.gone);
      });
    sum += integral(40, [&](double after) {
      return ablating_ > 0 ? cooled(end_, z, after) : peak_ * (heated(z, 1 + after) - heated(z, after));
    });
    return std::log(std::max(reaction_.rate * unit_ * sum, 1e-300));
  }

  // Where the dose is 1, by secants: its logarithm is nearly straight.
  double depth() const {
    double low = 0, at_low = log_dose(0);
    if (!(at_low > 0)) return 0;
    double high = 0.1, at_high = log_dose(high);
    while (at_high > 0) {
      low = high, at_low = at_high;
      high *= 2, at_high = log_dose(high);
    }
    double before = high;
    for (int i = 0; i < 40; ++i) {
      const double z = low + (high - low) * at_low / (at_low - at_high), at = log_dose(z);
      if (std::abs(z - before) < 1e-4) return z;
      before = z;
      if (at > 0) {
        low = z, at_low = at;
        at_high /= 2;
      } else {
        high = z, at_high = at;
        at_low /= 2;
      }
    }
    return before;
  }

 private:
  template <class Share>
  double integral(double span, const Share& share) const {
    double sum = 0;
    for (size_t i = 0; i + 1 < std::size(kPanels) && kPanels[i] < span; ++i) {
      const double width = std::min(kPanels[i + 1], span) - kPanels[i];
      for (int g = 0; g < 3; ++g) {
        const double now = share(kPanels[i] + kPoint[g] * width);
        if (now > kFaint * peak_)
          sum += kWeight[g] * width *
                 std::exp(-reaction_.activation / (body_.start + (body_.surface - body_.start) * now));
      }
    }
    return sum;
  }

  const Reaction& reaction_;
  const CharBody& body_;
  const Recession& recession_;
  double peak_, unit_, ablating_;
  Front end_;
};

void check(const Reaction& reaction, const CharBody& body) {
  const bool sound =
      reaction.rate > 0 && reaction.activation > 0 && std::isfinite(reaction.rate * reaction.activation) &&
      body.start > 0 && body.surface > body.start && body.dwell > 0 && body.diffusivity > 0 &&
      body.sensible > 0 && std::isfinite(body.surface * body.dwell * body.diffusivity * body.sensible);
  if (!sound)
    throw quantity::ValidityError(fmt::format(
        "kinetics: char of a body at {:g} K, removed at {:g} K, dwell {:g} s, diffusivity {:g} m^2/s, "
        "sensible share {:g} (expected positive numbers, the start below the removal)",
        body.start, body.surface, body.dwell, body.diffusivity, body.sensible));
}

CIRCUMFLUENCE_LANES void raise_all(const float* table, float steps, const float* strengths, float* depths,
                                   int count) {
#pragma GCC ivdep
  for (int i = 0; i < count; ++i) {
    const float above = strengths[i] > 0.0f ? strengths[i] : 0.0f, s = above < 1e6f ? above : 1e6f;
    const float along = s / (1.0f + s) * steps;
    const int node = static_cast<int>(along);
    const float found = table[node] + (along - static_cast<float>(node)) * (table[node + 1] - table[node]);
    depths[i] = found > depths[i] ? found : depths[i];
  }
}

}  // namespace

double charring_surface(const Reaction& reaction, const CharBody& body) {
  CharBody at = body;
  at.surface = 2 * body.start;
  check(reaction, at);
  const Recession recession(body.sensible);
  double low = body.start, high = kHottest;
  while (high - low > 0.01) {
    at.surface = 0.5 * (low + high);
    (Charring(reaction, at, recession, 1).log_dose(0) < 0 ? low : high) = at.surface;
  }
  if (low > kHottest - 1)
    throw quantity::ValidityError(fmt::format(
        "kinetics: rate = {:g} 1/s, activation = {:g} K for {:g} s (no surface below {:g} K chars)",
        reaction.rate, reaction.activation, body.dwell, kHottest));
  return high;
}

CharDepth::CharDepth(const Reaction& reaction, const CharBody& body) {
  check(reaction, body);
  const Recession recession(body.sensible);
  for (int i = 1; i < kSteps; ++i) {
    const Charring charring(reaction, body, recession, double(i) / (kSteps - i));
    table_[i] = static_cast<float>(charring.length() * charring.depth());
  }
}

double CharDepth::of(double strength) const {
  const float s = static_cast<float>(strength);
  float found = 0;
  raise({&s, 1}, {&found, 1});
  return found;
}

void CharDepth::raise(std::span<const float> strengths, std::span<float> depths) const {
  raise_all(table_.data(), float(kSteps), strengths.data(), depths.data(), static_cast<int>(depths.size()));
}

}  // namespace circumfluence::response
