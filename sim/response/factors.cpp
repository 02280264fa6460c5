#include "response/factors.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include "quantity/lanes.h"

namespace circumfluence::response {
namespace {

// A float's exponent and first six mantissa bits, as one number, count in steps of 2^(1/64) on average: no
// logarithm is needed. Bin 0 begins at 2^-32.
constexpr std::int32_t kShift = 17;
constexpr std::int32_t kFirst = (127 - 32) << 6;

constexpr int kPiece = 2048;  // cells sorted at a time, in the innermost cache
constexpr int kGroup = 8;     // cells looked at together

double edge(int bin) {
  return std::bit_cast<float>((bin + kFirst) << kShift);
}

CIRCUMFLUENCE_LANES void bins_of(const float* factors, std::int32_t last, std::uint16_t* bins, int n) {
  for (int i = 0; i < n; ++i) {
    const std::int32_t at = (std::bit_cast<std::int32_t>(factors[i]) >> kShift) - kFirst;
    const std::int32_t inside = at < last ? at : last;
    bins[i] = static_cast<std::uint16_t>(inside > 0 ? inside : 0);
  }
}

CIRCUMFLUENCE_LANES void drop(const std::uint8_t* chosen, std::uint16_t nowhere, std::uint16_t* bins, int n) {
  for (int i = 0; i < n; ++i) bins[i] = chosen[i] != 0 ? bins[i] : nowhere;
}

// All cells of a group in one bin: usual, since art has areas.
bool alike(const std::uint16_t* bins) {
  std::uint64_t words[2];
  static_assert(sizeof words == kGroup * sizeof *bins);
  std::memcpy(words, bins, sizeof words);
  return words[0] == words[1] && words[0] == std::rotl(words[0], 16);
}

void count(const std::uint16_t* bins, int n, std::uint64_t* counts) {
  int i = 0;
  for (; i + kGroup <= n; i += kGroup) {
    if (alike(bins + i)) {
      counts[bins[i]] += kGroup;
      continue;
    }
    for (int k = 0; k < kGroup; ++k) ++counts[bins[i + k]];
  }
  for (; i < n; ++i) ++counts[bins[i]];
}

}  // namespace

void Factors::add(std::span<const float> factors, std::span<const std::uint8_t> chosen) {
  alignas(64) std::uint16_t bins[kPiece];
  const std::uint64_t dropped = bins_[kNowhere];
  for (size_t first = 0; first < factors.size(); first += kPiece) {
    const int n = static_cast<int>(std::min<size_t>(kPiece, factors.size() - first));
    bins_of(factors.data() + first, kBins, bins, n);
    if (!chosen.empty()) drop(chosen.data() + first, kNowhere, bins, n);
    count(bins, n, bins_.data());
  }
  cells_ += factors.size() - (bins_[kNowhere] - dropped);
}

void Factors::add(const Factors& other) {
  for (size_t i = 0; i < bins_.size(); ++i) bins_[i] += other.bins_[i];
  cells_ += other.cells_;
}

double Factors::at_count(double count) const {
  double sum = 0;
  for (int i = 0; i < kBins; ++i) {
    const double next = sum + double(bins_[i]);
    if (next >= count && bins_[i] > 0)
      return edge(i) + (edge(i + 1) - edge(i)) * std::max(0.0, count - sum) / double(bins_[i]);
    sum = next;
  }
  return std::numeric_limits<double>::infinity();
}

double Factors::share_at(double factor) const {
  if (cells_ == 0 || !(factor > 0)) return 0;
  double sum = 0;
  for (int i = 0; i < kBins && edge(i) < factor; ++i)
    sum += double(bins_[i]) * std::min(1.0, (factor - edge(i)) / (edge(i + 1) - edge(i)));
  return sum / double(cells_);
}

}  // namespace circumfluence::response
