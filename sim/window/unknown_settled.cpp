// Which unknowns a fit settled together, and draws that keep it so.
#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/unknown.h"

namespace circumfluence::window {
namespace {

using workpiece::Settled;

constexpr double kSame = 1e-6;  // [1] relative, of a figure as it was written and as it stands
constexpr double kLeastPivot = 1e-12;

bool stands(const std::string& text, double value, const char* unit) {
  try {
    const double told = quantity::parse_quantity(text, unit);
    return std::abs(told - value) <= kSame * std::max(std::abs(told), std::abs(value));
  } catch (const quantity::JobError&) {  // of another unit: not this figure
    return false;
  }
}

bool stands(const Settled& entry, const Unknown& u) {
  return entry.name == u.name && u.of != Unknown::Of::power && stands(entry.value, u.value, u.unit) &&
         stands(entry.spread, u.spread, u.relative ? "%" : u.unit);
}

// The unknown that each entry is, or none.
std::vector<int> unknowns_of(const std::vector<Settled>& block, std::span<const Unknown> unknowns,
                             std::vector<bool>& taken) {
  std::vector<int> out(block.size(), -1);
  for (size_t e = 0; e < block.size(); ++e)
    for (size_t i = 0; i < unknowns.size(); ++i)
      if (!taken[i] && stands(block[e], unknowns[i])) {
        out[e] = static_cast<int>(i), taken[i] = true;
        break;
      }
  return out;
}

// Adds a block's correlations to the matrix; false when it has none.
bool add(const std::vector<Settled>& block, std::span<const Unknown> unknowns, std::vector<bool>& taken,
         std::vector<double>& matrix) {
  const std::vector<int> of = unknowns_of(block, unknowns, taken);
  bool some = false;
  for (size_t e = 0; e < block.size(); ++e)
    for (size_t f = 0; f < std::min(e, block[e].correlations.size()); ++f) {
      if (of[e] < 0 || of[f] < 0) continue;
      const auto [low, high] = std::minmax(of[e], of[f]);
      matrix[size_t(high) * unknowns.size() + size_t(low)] = block[e].correlations[f];
      some = some || block[e].correlations[f] != 0;
    }
  return some;
}

}  // namespace

// Cholesky, row by row; a deviate that others settle wholly has a pivot of 0.
std::vector<double> settled_factor(const mark::Scene& scene, std::span<const Unknown> unknowns) {
  const size_t n = unknowns.size();
  std::vector<double> matrix(n * n);
  std::vector<bool> taken(n);
  bool some = scene.coat && add(scene.coat->settled, unknowns, taken, matrix);
  some = add(scene.base.settled, unknowns, taken, matrix) || some;
  if (!some) return {};
  for (size_t i = 0; i < n; ++i) {
    double left = 1;
    for (size_t j = 0; j < i; ++j) {
      double sum = matrix[i * n + j];
      for (size_t k = 0; k < j; ++k) sum -= matrix[i * n + k] * matrix[j * n + k];
      const double pivot = matrix[j * n + j];
      matrix[i * n + j] = pivot > std::sqrt(kLeastPivot) ? sum / pivot : 0;
      left -= matrix[i * n + j] * matrix[i * n + j];
    }
    matrix[i * n + i] = std::sqrt(std::max(left, 0.0));
  }
  return matrix;
}

void settle(std::span<const double> factor, std::span<double> deviates) {
  if (factor.empty()) return;
  const size_t n = deviates.size();
  if (factor.size() != n * n)
    throw quantity::ValidityError(
        "unknown: a factor of another size than the deviates (expected one row each)");
  for (size_t i = n; i-- > 0;) {
    double sum = 0;
    for (size_t j = 0; j <= i; ++j) sum += factor[i * n + j] * deviates[j];
    deviates[i] = sum;
  }
}

size_t settled_together(std::span<const double> factor, size_t unknowns) {
  size_t count = 0;
  for (size_t i = 0; i < unknowns && !factor.empty(); ++i) {
    bool with = false;
    for (size_t j = 0; j < unknowns; ++j)
      with = with || (i != j && (factor[i * unknowns + j] != 0 || factor[j * unknowns + i] != 0));
    count += with;
  }
  return count;
}

}  // namespace circumfluence::window
