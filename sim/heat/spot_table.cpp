#include "heat/spot_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

#include "heat/spot_integral.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {

namespace {

constexpr double kLargestPeclet = 1e4;
constexpr double kLargestAspect = 50;
constexpr double kPecletSpacing = 0.2;   // [1] of states in ln(1 + (2 + 1/aspect) Pe)
constexpr double kAspectSpacing = 0.25;  // [1] of states in ln aspect

// Where along eta the crest is computed first.
constexpr double kKnots[] = {0, 0.6, 1.2, 1.8, 2.4, 3.1, 4.2, 5.7, 8.1};

void check(const SpotTable::Range& range, double low, double high, const char* key) {
  if (!(range.low >= low && range.high <= high && range.low <= range.high))
    throw quantity::ValidityError(
        fmt::format("heat: {} = {:g} to {:g} (the table of moving spots; expected within {:g} to {:g}, the "
                    "lower first). Use another speed or spot",
                    key, range.low, range.high, low, high));
}

// What a spot does depends on the longer of its radii: a short and broad one feels the motion at a lower Pe.
double scale(double aspect) {
  return 2 + 1 / aspect;
}
double stretched(double peclet, double aspect) {
  return std::log1p(scale(aspect) * peclet);
}

struct Knot {
  double eta;
  double value;  // ln of the crest
  double slope;  // its derivative
  double x;      // where the crest is
};

// The cubic through values and slopes. Slopes beyond three times the secant would make it overshoot (Fritsch
// & Carlson 1980).
double cubic(const Knot& a, const Knot& b, double eta) {
  const double width = b.eta - a.eta, t = (eta - a.eta) / width, s = 1 - t;
  const double steepest = 3 * (b.value - a.value) / width;
  const double left = std::max(a.slope, steepest), right = std::max(b.slope, steepest);
  return s * s * ((1 + 2 * t) * a.value + t * width * left) +
         t * t * ((1 + 2 * s) * b.value - s * width * right);
}

// The crest along eta, for one Pe and aspect; lengths in units of w_across.
class State {
 public:
  State(double peclet, double aspect) : integral_({aspect, 1.0, peclet / (4 * aspect)}, kQuick, false) {
    factor_ = std::sqrt(2 * aspect / quantity::kPi) / quantity::kPi;
    knots_.reserve(64);
    knots_.push_back(knot(0));
    for (size_t i = 1; i < std::size(kKnots); ++i) extend(knot(kKnots[i]), 6);
  }

  // ln of the nodes of a profile.
  void write(float* row) const {
    size_t k = 0;
    for (int i = 0; i < SpotTable::kNodes; ++i) {
      const double eta = double(i) / SpotTable::kStepsPerRadius;
      while (eta > knots_[k + 1].eta) ++k;
      row[i] = static_cast<float>(cubic(knots_[k], knots_[k + 1], eta));
    }
  }

 private:
  Knot knot(double eta) {
    const Crest crest = integral_.crest(eta, 0);
    return {eta, std::log(factor_ * crest.value), crest.slope_y / crest.value, crest.x};
  }

  // Adds a knot, the one half way before it, and more where the cubic misses that one or where the crest
  // jumps back along the track: there the skirt of the passing spot gives way to the heat that spreads from
  // the track, and the profile has a kink.
  void extend(const Knot& next, int depth) {
    const Knot last = knots_.back(), between = knot(0.5 * (last.eta + next.eta));
    const double peak = std::exp(knots_.front().value);
    const bool jump = next.x < 3 * last.x && std::exp(last.value) > kMiss * peak;
    const double miss = std::abs(std::exp(cubic(last, next, between.eta)) - std::exp(between.value));
    if (depth > 0 && (jump || miss > kMiss * peak)) {
      extend(between, depth - 1);
      extend(next, depth - 1);
      return;
    }
    knots_.push_back(between);
    knots_.push_back(next);
  }

  static constexpr double kMiss = 2e-4;  // [1] of the peak; the knot half way then leaves far less
  SpotIntegral integral_;
  double factor_;
  std::vector<Knot> knots_;
};

// 2^n times a polynomial on [-1/2, 1/2] whose error (2e-7) is that of a float; plain arithmetic, so that it
// runs in lanes.
CIRCUMFLUENCE_LANES void exponential(float* values, int count) {
  for (int i = 0; i < count; ++i) {
    const float power = std::min(std::max(values[i] * 1.44269504f, -120.0f), 120.0f);
    const float whole = (power + 12582912.0f) - 12582912.0f;  // nearest whole number
    const float x = (power - whole) * 0.69314718f;
    const float series =
        1 + x * (1 + x * (0.5f + x * (1.0f / 6 + x * (1.0f / 24 + x * (1.0f / 120 + x / 720)))));
    values[i] = series * std::bit_cast<float>((static_cast<int32_t>(whole) + 127) << 23);
  }
}

CIRCUMFLUENCE_LANES void add(float weight, const float* row, float* sum, int count) {
  for (int i = 0; i < count; ++i) sum[i] += weight * row[i];
}

}  // namespace

SpotTable::Axis::Axis(double from, double to, double spacing) : low(from), step(0), count(1) {
  const double width = to - from;
  if (!(width > 0)) return;
  count = width < 0.2 * spacing ? 2 : std::max(width < spacing ? 3 : 4, 1 + int(std::ceil(width / spacing)));
  step = width / (count - 1);
}

SpotTable::Axis::Place SpotTable::Axis::place(double x) const {
  Place place{0, std::min(count, 4), {1, 0, 0, 0}};
  if (count == 1) return place;
  const double along = std::clamp((x - low) / step, 0.0, double(count - 1));
  place.first = std::clamp(static_cast<int>(along) - 1, 0, count - place.count);
  const double t = along - place.first;
  for (int i = 0; i < place.count; ++i) {
    place.weight[i] = 1;
    for (int j = 0; j < place.count; ++j)
      if (j != i) place.weight[i] *= (t - j) / (i - j);
  }
  return place;
}

SpotTable::SpotTable(Range peclet, Range aspect)
    : range_((check(peclet, 0, kLargestPeclet, "Peclet number"),
              check(aspect, 1 / kLargestAspect, kLargestAspect, "aspect of the spot"), peclet)),
      peclet_(0, peclet.high > peclet.low ? 1 : 0,
              kPecletSpacing / (stretched(peclet.high, aspect.low) - stretched(peclet.low, aspect.low))),
      aspect_(std::log(aspect.low), std::log(aspect.high), kAspectSpacing),
      rows_(static_cast<size_t>(peclet_.count * aspect_.count * kNodes)) {
  float* row = rows_.data();
  for (int i = 0; i < peclet_.count; ++i)
    for (int j = 0; j < aspect_.count; ++j, row += kNodes) {
      const double a = std::exp(aspect_.low + j * aspect_.step);
      const double from = stretched(range_.low, a), to = stretched(range_.high, a);
      State(std::expm1(from + i * peclet_.step * (to - from)) / scale(a), a).write(row);
    }
}

double SpotTable::share(double peclet, double aspect) const {
  if (peclet_.count == 1) return 0;
  const double from = stretched(range_.low, aspect), to = stretched(range_.high, aspect);
  return (stretched(std::max(peclet, 0.0), aspect) - from) / (to - from);
}

// Nodes from `node` on.
void SpotTable::blend(double peclet, double aspect, int node, std::span<float> out) const {
  const double highest = aspect_.low + aspect_.step * (aspect_.count - 1);
  const double log_aspect = std::clamp(std::log(aspect), aspect_.low, highest);
  const Axis::Place a = aspect_.place(log_aspect), p = peclet_.place(share(peclet, std::exp(log_aspect)));
  const int count = std::min(kNodes - node, static_cast<int>(out.size()));
  std::fill_n(out.begin(), count, 0.0f);
  for (int i = 0; i < p.count; ++i)
    for (int j = 0; j < a.count; ++j) {
      const size_t state = size_t(p.first + i) * size_t(aspect_.count) + size_t(a.first + j);
      add(static_cast<float>(p.weight[i] * a.weight[j]), &rows_[state * kNodes + size_t(node)], out.data(),
          count);
    }
  exponential(out.data(), count);
}

void SpotTable::profile(double peclet, double aspect, std::span<float> out) const {
  blend(peclet, aspect, 0, out);
}

double SpotTable::at(double peclet, double aspect, double eta) const {
  const double inside = std::min(std::abs(eta), kReach);
  const int node = static_cast<int>(inside * kStepsPerRadius);
  float two[2];
  blend(peclet, aspect, node, two);
  const double share = inside * kStepsPerRadius - node;
  const double value = (1 - share) * double(two[0]) + share * double(two[1]);
  return std::abs(eta) > kReach ? value * kReach / std::abs(eta) : value;
}

}  // namespace circumfluence::heat
