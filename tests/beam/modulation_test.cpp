// Truth: the pulse train blurred by a Gaussian, summed pulse by pulse with error functions.
#include "beam/modulation.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace circumfluence::beam {
namespace {

// Greatest line energy over the mean, minus one; the same for the least. Their mean is the first harmonic's
// when the spot is wide enough to leave no other.
double direct(double pitch, double radius, double duty) {
  const auto energy = [&](double x) {
    double sum = 0;
    for (int i = -40; i <= 40; ++i) {
      const double from = (i - duty / 2) * pitch - x, to = (i + duty / 2) * pitch - x;
      sum +=
          0.5 * (std::erf(std::numbers::sqrt2 * to / radius) - std::erf(std::numbers::sqrt2 * from / radius));
    }
    return sum / duty;
  };
  return (energy(0) - energy(pitch / 2)) / 2;
}

TEST(PulseRipple, AgreesWithTheSumOfPulses) {
  for (const double duty : {0.1, 0.5, 0.9})
    for (const double radius : {0.5, 0.7, 1.0})
      EXPECT_NEAR(pulse_ripple(1.0, radius, duty), direct(1.0, radius, duty),
                  1e-3 * pulse_ripple(1.0, radius, duty) + 1e-9)
          << duty << " " << radius;
}

TEST(PulseRipple, IsNoneWithoutPulses) {
  EXPECT_EQ(pulse_ripple(1e-5, 4e-5, 0), 0);
  EXPECT_EQ(pulse_ripple(1e-5, 4e-5, 1), 0);
  EXPECT_EQ(pulse_ripple(0, 4e-5, 0.5), 0);
  EXPECT_LT(pulse_ripple(1e-5, 4e-5, 0.5), 1e-30);
}

}  // namespace
}  // namespace circumfluence::beam
