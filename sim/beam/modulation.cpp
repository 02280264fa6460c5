#include "beam/modulation.h"

#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::beam {

double pulse_ripple(double pitch, double radius, double duty) {
  if (duty <= 0 || duty >= 1 || pitch <= 0) return 0.0;
  const double blur = quantity::kPi * radius / pitch;
  return 2 * std::abs(std::sin(quantity::kPi * duty)) / (quantity::kPi * duty) * std::exp(-blur * blur / 2);
}

}  // namespace circumfluence::beam
