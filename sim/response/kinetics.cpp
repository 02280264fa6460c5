#include "response/kinetics.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

#include "quantity/error.h"
#include "quantity/lanes.h"

namespace circumfluence::response {

namespace {

constexpr double kLeast = 1e-36;          // doses below are not worth a number of single precision
constexpr double kNoRise = 1e-6;          // [1] of r / (r + start), in place of 0
constexpr double kLongestPiece = 0.06;    // [1] of the peak, for the quadrature
constexpr double kLeastConduction = 0.1;  // [1] of that at the start

// Gauss-Legendre, three points on (0, 1).
constexpr double kPoint[] = {0.1127016653792583, 0.5, 0.8872983346207417};
constexpr double kWeight[] = {5.0 / 18, 8.0 / 18, 5.0 / 18};

struct Moment {
  double time;   // [s] it stands for
  double share;  // [1] of the peak
};

void check(const Reaction& reaction, const Shape& shape, const Ground& ground, double greatest) {
  const bool reacts =
      reaction.rate > 0 && reaction.activation > 0 && std::isfinite(reaction.rate * reaction.activation);
  if (!reacts)
    throw quantity::ValidityError(
        fmt::format("kinetics: rate = {:g}, activation = {:g} K (expected positive numbers)", reaction.rate,
                    reaction.activation));
  bool runs = shape.times.size() >= 2 && shape.times.size() == shape.shares.size();
  double top = 0;
  for (size_t i = 0; runs && i < shape.times.size(); ++i) {
    runs = shape.shares[i] >= 0 && shape.shares[i] <= 1 && (i == 0 || shape.times[i] > shape.times[i - 1]);
    top = std::max(top, shape.shares[i]);
  }
  if (!runs || top < 0.999)
    throw quantity::ValidityError(
        "kinetics: the shape of the thermal cycle is none (expected ascending times, and shares from 0 to 1 "
        "of which "
        "one is 1)");
  if (!(ground.start > 0 && greatest > 0 && ground.conductivity.at_start > 0 && std::isfinite(greatest)))
    throw quantity::ValidityError(
        fmt::format("kinetics: start = {:g} K, greatest rise = {:g} K (expected positive numbers)",
                    ground.start, greatest));
}

std::vector<Moment> moments(const Shape& shape) {
  const Curve curve(shape.times, shape.shares);
  std::vector<Moment> found;
  for (size_t i = 0; i + 1 < shape.times.size(); ++i) {
    const double change = std::abs(shape.shares[i + 1] - shape.shares[i]);
    const int pieces = 1 + static_cast<int>(change / kLongestPiece);
    const double piece = (shape.times[i + 1] - shape.times[i]) / pieces;
    for (int j = 0; j < pieces; ++j)
      for (int g = 0; g < 3; ++g)
        found.push_back({kWeight[g] * piece, curve.at(shape.times[i] + (j + kPoint[g]) * piece)});
  }
  return found;
}

// 2^x for |x| up to 126, to 3e-7; plain arithmetic, so that it runs in lanes.
__attribute__((always_inline)) inline float power_of_two(float x) {
  const float power = std::min(std::max(x, -126.0f), 126.0f);
  const float whole = (power + 12582912.0f) - 12582912.0f;  // nearest whole number
  const float y = (power - whole) * 0.69314718f;
  const float series =
      1 + y * (1 + y * (0.5f + y * (1.0f / 6 + y * (1.0f / 24 + y * (1.0f / 120 + y / 720)))));
  return series * std::bit_cast<float>((static_cast<int32_t>(whole) + 127) << 23);
}

// e^x for -700 < x < 700, to 1e-14.
__attribute__((always_inline)) inline double exponential(double x) {
  const double whole = (x * 1.4426950408889634 + 6755399441055744.0) - 6755399441055744.0;
  const double y = (x - whole * 0.693147180369123816490) - whole * 1.90821492927058770002e-10;
  double series = 1.0 / 39916800;
  for (const double term : {1.0 / 3628800, 1.0 / 362880, 1.0 / 40320, 1.0 / 5040, 1.0 / 720, 1.0 / 120, 1.0 / 24, 1.0 / 6, 0.5, 1.0, 1.0})
    series = series * y + term;
  return series * std::bit_cast<double>((static_cast<std::int64_t>(whole) + 1023) << 52);
}

// Time above the start's own rate: sum of time (exp(-E / now) - exp(-E / start)) over the moments of a cycle whose peak
// is `rise`. In double precision the difference keeps ten digits at the smallest rise of a table.
struct Cycle {
  const double *times, *shares;
  int count;
};
struct Law {
  double start, bend, activation;  // [K], 2 k1 / k0 [1/K], [K]
};
CIRCUMFLUENCE_LANES double time_at_rate(const Cycle& given, const Law& law, double rise) {
  const Cycle cycle = given;
  const double start = law.start, bend = law.bend, activation = -law.activation;
  const double least = exponential(activation / start);
  double sums[8] = {};
  for (int i = 0; i < cycle.count; i += 8)  // filled up with moments of no time
    for (int k = 0; k < 8; ++k) {
      const double up = cycle.shares[i + k] * rise, inside = 1 + bend * up;
      const double now = start + 2 * up / (1 + std::sqrt(inside > 0 ? inside : 0.0));
      sums[k] += cycle.times[i + k] * (exponential(activation / now) - least);
    }
  double sum = 0;
  for (const double s : sums) sum += s;
  return sum;
}

struct Table {
  const float* pairs;
  float start, greatest, per_step;
};

__attribute__((always_inline)) inline float dose(const Table& table, float rise) {
  const float above = rise > 0.0f ? rise : 0.0f, up = above < table.greatest ? above : table.greatest;
  const float u = up / (up + table.start);
  const float along = u * table.per_step;
  const int32_t i = static_cast<int32_t>(along);
  const float part = along - static_cast<float>(i);
  return u * power_of_two(table.pairs[2 * i] + part * table.pairs[2 * i + 1]);
}

CIRCUMFLUENCE_LANES void add_cold(const Table& given, const float* rises, float* doses, int count) {
  const Table table = given;
#pragma GCC ivdep
  for (int i = 0; i < count; ++i) doses[i] += dose(table, rises[i]);
}

CIRCUMFLUENCE_LANES void add_warm(const Table& given, const float* rises, const float* backgrounds,
                                  float* doses, int count) {
  const Table table = given;
#pragma GCC ivdep
  for (int i = 0; i < count; ++i) {
    const float above = rises[i] > 0.0f ? rises[i] : 0.0f,
                both = above < table.greatest ? above : table.greatest;
    const float own = both - backgrounds[i], least = 0.01f * both;
    const float narrow = own > least ? own / both : 0.01f;
    doses[i] += dose(table, both) / std::sqrt(narrow < 1.0f ? narrow : 1.0f);
  }
}

}  // namespace

double oxide(double native, double dose) {
  return std::sqrt(native * native + dose);
}

double bleached(double dose) {
  return -std::expm1(-dose);
}

double temperature_of(const Reaction& reaction, double dwell) {
  const double turns = reaction.rate * dwell;
  if (!(turns > 1 && std::isfinite(turns) && reaction.activation > 0))
    throw quantity::ValidityError(fmt::format(
        "kinetics: rate = {:g} 1/s for {:g} s (no temperature converts anything in that time; expected "
        "a product above 1)",
        reaction.rate, dwell));
  return reaction.activation / std::log(turns);
}

// Slopes of the parabola through three neighbours, held within three times the lesser secant and level at
// extremes.
Curve::Curve(std::vector<double> x, std::vector<double> y)
    : x_(std::move(x)), y_(std::move(y)), slope_(x_.size()) {
  const size_t n = x_.size();
  const auto secant = [&](size_t i) { return (y_[i + 1] - y_[i]) / (x_[i + 1] - x_[i]); };
  const auto within = [](double slope, double limit) {
    return slope * limit <= 0 ? 0.0 : std::copysign(std::min(std::abs(slope), 3 * std::abs(limit)), limit);
  };
  for (size_t i = 1; i + 1 < n; ++i) {
    const double left = x_[i] - x_[i - 1], right = x_[i + 1] - x_[i];
    const double middle = (secant(i - 1) * right + secant(i) * left) / (left + right);
    slope_[i] = within(within(middle, secant(i - 1)), secant(i));
  }
  slope_[0] = n > 2 ? within(2 * secant(0) - slope_[1], secant(0)) : secant(0);
  slope_[n - 1] = n > 2 ? within(2 * secant(n - 2) - slope_[n - 2], secant(n - 2)) : secant(0);
}

double Curve::at(double x) const {
  if (!(x > x_.front())) return y_.front();
  if (!(x < x_.back())) return y_.back();
  const size_t i = static_cast<size_t>(std::upper_bound(x_.begin(), x_.end(), x) - x_.begin()) - 1;
  const double width = x_[i + 1] - x_[i], t = (x - x_[i]) / width, s = 1 - t;
  return s * s * ((1 + 2 * t) * y_[i] + t * width * slope_[i]) +
         t * t * ((1 + 2 * s) * y_[i + 1] - s * width * slope_[i + 1]);
}

Dose::Dose(const Reaction& reaction, const Shape& shape, const Ground& ground, double greatest) {
  check(reaction, shape, ground, greatest);
  const double bend = ground.conductivity.slope / ground.conductivity.at_start;
  const double root = (1 - kLeastConduction * kLeastConduction) / (-2 * bend);
  const double most = bend < 0 ? std::min(greatest, root) : greatest;
  const double last = most / (most + ground.start);
  start_ = static_cast<float>(ground.start);
  greatest_ = static_cast<float>(most);
  per_step_ = static_cast<float>(kSteps / last);

  std::vector<double> times, shares;
  for (const Moment& m : moments(shape)) times.push_back(m.time), shares.push_back(m.share);
  times.resize((times.size() + 7) / 8 * 8, 0.0);
  shares.resize(times.size(), 0.0);
  const Cycle cycle{times.data(), shares.data(), static_cast<int>(times.size())};
  const Law law{ground.start, 2 * bend, std::min(reaction.activation, 690 * ground.start)};
  for (int i = 0; i <= kSteps; ++i) {
    const double ratio = std::max(last * i / kSteps, kNoRise), rise = ground.start * ratio / (1 - ratio);
    const double sum = time_at_rate(cycle, law, rise);
    table_[2 * i] =
        static_cast<float>(std::log2(std::clamp(reaction.rate * sum / ratio, kLeast, 1 / kLeast)));
    if (i > 0) table_[2 * i - 1] = table_[2 * i] - table_[2 * i - 2];
  }
}

double Dose::of(double rise) const {
  const float at = static_cast<float>(rise);
  float found = 0;
  add({&at, 1}, {&found, 1});
  return found;
}

void Dose::add(std::span<const float> rises, std::span<float> doses) const {
  add_cold({table_.data(), start_, greatest_, per_step_}, rises.data(), doses.data(),
           static_cast<int>(doses.size()));
}

void Dose::add(std::span<const float> rises, std::span<const float> backgrounds,
               std::span<float> doses) const {
  add_warm({table_.data(), start_, greatest_, per_step_}, rises.data(), backgrounds.data(), doses.data(),
           static_cast<int>(doses.size()));
}

}  // namespace circumfluence::response
