// A physical figure as a record holds it: a value, how well it is known, and who says so; and the normal law of that.
#pragma once

#include <cmath>
#include <limits>
#include <numbers>
#include <string>

namespace circumfluence::quantity {

inline constexpr double kUnset = std::numeric_limits<double>::signaling_NaN();

struct Figure {
  double value = kUnset;  // SI, the median
  double spread = 0.0;    // [1] lognormal: standard deviation of ln(value)
  std::string source;     // publication, "from memory", "common practice, no source", or a coupon

  bool known() const { return !std::isnan(value); }
};

// Phi: the share of a normal distribution that lies below a deviate of it.
inline double normal_below(double deviate) {
  return 0.5 * std::erfc(-deviate / std::numbers::sqrt2);
}
// The chance of a factor whose logarithm is normal to be 1 or more; without spread it is or it is not.
inline double chance_of_one(double log, double spread) {
  if (spread <= 0) return log >= 0 ? 1.0 : 0.0;
  return normal_below(log / spread);
}

}  // namespace circumfluence::quantity
