#include "response/factors.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

namespace circumfluence::response {
namespace {

// A float's exponent and first six mantissa bits, as one number, count in steps of 2^(1/64) on average: no
// logarithm is needed. Bin 0 begins at 2^-32.
constexpr std::int32_t kShift = 17;
constexpr std::int32_t kFirst = (127 - 32) << 6;

int bin_of(float factor, int last) {
  const std::int32_t at = (std::bit_cast<std::int32_t>(factor) >> kShift) - kFirst;
  return at < 0 ? 0 : at >= last ? last : at;
}

double edge(int bin) { return std::bit_cast<float>((bin + kFirst) << kShift); }

}  // namespace

void Factors::add(std::span<const float> factors, std::span<const std::uint8_t> chosen) {
  if (chosen.empty()) {
    for (const float f : factors) ++bins_[bin_of(f, kBins)];
    cells_ += factors.size();
    return;
  }
  for (size_t i = 0; i < factors.size(); ++i) {
    bins_[bin_of(factors[i], kBins)] += chosen[i] != 0;
    cells_ += chosen[i] != 0;
  }
}

void Factors::add(const Factors& other) {
  for (size_t i = 0; i < bins_.size(); ++i) bins_[i] += other.bins_[i];
  cells_ += other.cells_;
}

double Factors::at_count(double count) const {
  double sum = 0;
  for (int i = 0; i < kBins; ++i) {
    const double next = sum + double(bins_[i]);
    if (next >= count && bins_[i] > 0) return edge(i) + (edge(i + 1) - edge(i)) * std::max(0.0, count - sum) / double(bins_[i]);
    sum = next;
  }
  return std::numeric_limits<double>::infinity();
}

}  // namespace circumfluence::response
