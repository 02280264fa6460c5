#include "heat/kirchhoff.h"

#include <cmath>
#include <limits>

namespace circumfluence::heat {

namespace {
constexpr double kBeyond = std::numeric_limits<double>::infinity();
}

// The root in the form that loses no digits when the slope is small.
double true_rise(const Conductivity& k, double linear_rise) {
  const double under = 1 + 2 * (k.slope / k.at_start) * linear_rise;
  if (under < 0) return std::copysign(kBeyond, linear_rise);
  return 2 * linear_rise / (1 + std::sqrt(under));
}

double linear_rise(const Conductivity& k, double true_rise) {
  const double ratio = 1 + (k.slope / k.at_start) * true_rise;  // k(T) / k0
  if (ratio < 0) return std::copysign(kBeyond, true_rise);
  return true_rise * (1 + ratio) / 2;
}

}  // namespace circumfluence::heat
