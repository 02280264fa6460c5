#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "heat/layered_spot.h"
#include "heat/spot_table.h"
#include "quantity/bands.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

constexpr int kNodes = SpotTable::kNodes;
constexpr double kSpacing = 0.2;  // of ln(v + slow)
constexpr double kFloor = 1e-6;   // of the peak: less is not told from nothing

// [m/s] below which the motion hardly matters; 0 where there is no limit at rest.
double slow(const Stack& stack, std::span<const Spot> spots) {
  double least = HUGE_VAL, size = 0;
  for (const Layer& layer : stack.layers) {
    least = std::min(least, layer.conductivity / layer.capacity);
    if (std::isfinite(layer.thickness)) size = std::max(size, layer.thickness);
  }
  for (const Spot& spot : spots) size = std::max({size, spot.along, spot.across});
  return std::isinf(stack.layers.back().thickness) ? 0.2 * least / size : 0.0;
}

void check(const LayeredTable::Range& speed, size_t spots) {
  if (spots == 0) throw quantity::ValidityError("heat: a table of no spots (expected at least one)");
  if (!(speed.low >= 0 && speed.low <= speed.high && std::isfinite(speed.high)))
    throw quantity::ValidityError(
        fmt::format("heat: speeds of a table = {:g} to {:g} m/s (expected a range that rises from 0 or more)",
                    speed.low, speed.high));
}

}  // namespace

LayeredTable::LayeredTable(const Stack& stack, std::span<const Spot> spots, const Range& speed, double z,
                           const Orders& orders) {
  heat::check(stack);
  check(speed, spots.size());
  slow_ = speed.low > 0 && speed.low == speed.high ? 0 : slow(stack, spots);
  low_ = std::log(speed.low + slow_);
  const double span = std::log(speed.high + slow_) - low_;
  if (!std::isfinite(span) || std::isinf(low_)) LayeredSpot(stack, spots[0], z, orders);
  speeds_ = span > 0 ? std::max(4, static_cast<int>(std::ceil(span / kSpacing)) + 1) : 1;
  step_ = speeds_ > 1 ? span / (speeds_ - 1) : 0;
  rows_.resize(spots.size() * speeds_ * kNodes);
  const auto fill = [&](int first, int last, int) {
    for (int i = first; i < last; ++i) {
      Spot spot = spots[size_t(i / speeds_)];
      const int n = i % speeds_;
      spot.speed = n == 0 ? speed.low : std::exp(low_ + n * step_) - slow_;
      const std::span<float> row(&rows_[size_t(i) * kNodes], kNodes);
      LayeredSpot(stack, spot, z, orders).profile(row);
      const float floor = static_cast<float>(kFloor) * row[0];
      for (float& value : row) value = std::log(std::max(value, floor));
    }
  };
  quantity::for_bands({.count = static_cast<int>(spots.size()) * speeds_, .band = 1}, fill);
}

void LayeredTable::profile(int spot, double speed, std::span<float> out) const {
  const double place =
      step_ > 0 ? std::clamp((std::log(speed + slow_) - low_) / step_, 0.0, speeds_ - 1.0) : 0.0;
  const int count = std::min(4, speeds_), first = std::clamp(static_cast<int>(place) - 1, 0, speeds_ - count);
  std::array<float, 4> weight{};
  for (int i = 0; i < count; ++i) {
    double w = 1;
    for (int j = 0; j < count; ++j)
      if (j != i) w *= (place - first - j) / (i - j);
    weight[i] = static_cast<float>(w);
  }
  const float* rows = &rows_[(size_t(spot) * speeds_ + first) * kNodes];
  for (int n = 0; n < kNodes; ++n) {
    float sum = 0;
    for (int i = 0; i < count; ++i) sum += weight[i] * rows[i * kNodes + n];
    out[n] = std::exp(sum);
  }
}

}  // namespace circumfluence::heat
