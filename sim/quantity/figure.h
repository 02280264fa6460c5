// A physical figure as a record holds it: a value, how well it is known, and who says so.
#pragma once

#include <cmath>
#include <limits>
#include <string>

namespace circumfluence::quantity {

inline constexpr double kUnset = std::numeric_limits<double>::signaling_NaN();

struct Figure {
  double value = kUnset;  // SI, the median
  double spread = 0.0;    // [1] lognormal: standard deviation of ln(value)
  std::string source;     // publication, "from memory", "common practice, no source", or a coupon

  bool known() const { return !std::isnan(value); }
};

}  // namespace circumfluence::quantity
