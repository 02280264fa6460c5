// The textbook ways: threshold and spot from line widths over a ladder of powers, a caustic from radii over heights.
//
// Squared width. A line of a Gaussian beam marks where its fluence exceeds the threshold,
//   D^2 = 2 w^2 (ln E' - ln E'_th),   E' = P / v [J/m],   F_th = sqrt(2/pi) E'_th / w [J/m^2],
// D [m] the width, w [m] the 1/e^2 radius across the line. For single pulses D^2 = 2 w^2 ln(E / E_th),
// F_th = 2 E_th / (pi w^2), E [J]. Holds for a mark that begins at one fluence: a coat that must be removed to its
// full depth has the fluence that clears it in the threshold's place. Source: Liu 1982, Opt. Lett. 7, 196 (pulses);
// the same algebra for lines.
//
// Caustic. w(z)^2 = a + b z + c z^2, hence z_0 = -b / 2c, w_0^2 = a - b^2 / 4c, M2 = pi sqrt(a c - b^2 / 4) / lambda,
// z_R = w_0 / sqrt(c). ISO 11146-1 asks for ten heights or more, half of them within a Rayleigh length of the waist
// and half beyond two; what is amiss is said.
//
// Both are least squares of a square with weights from the widths' relative error e, whose sd is 2 e D^2 with D of
// the curve, found by iteration: weights from the widths as measured would pull the curve down. Errors are from the
// residuals or from e, the greater, by the full covariance to first order. Checked: exact data come back to 1e-9 of
// themselves. With errors of 3 % and 40 widths or heights 68 +- 3 % lie within one standard deviation where errors
// are from the scatter, and 70 to 74 % where the right e is stated, since the greater is taken. A square's mean is
// above that of its median by 2 e^2: of the radius' and M2's error less than a fifth.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "quantity/figure.h"

namespace circumfluence::calibration {

struct Estimate {
  double value, error;  // SI; one standard deviation
};

struct LineWidth {
  double energy;  // [J/m] of a line, or [J] of a pulse
  double width;   // [m]; 0: no mark
};
enum class Exposed { lines, pulses };
inline constexpr const char* kExposedNames[2] = {"lines", "pulses"};

struct SquaredWidth {
  Exposed exposed;
  Estimate radius;            // [m] w
  Estimate threshold_energy;  // [J/m] or [J]
  Estimate threshold;         // [J/m^2] F_th
  double correlation;         // of ln w and ln F_th
  double scatter;             // [1] of widths about the line, relative
  std::vector<std::string> notes;

  double width(double energy) const;  // [m] of the line fitted; 0 below the threshold
};
// Throws ValidityError: fewer than three widths above zero, energies all alike, widths that don't grow with energy,
// sizes of 1 m or more; so below for heights and radii.
SquaredWidth squared_width(std::span<const LineWidth> widths, Exposed exposed, double error = 0.03);

struct RadiusAt {
  double height, radius;  // [m] above the nominal focus
};
struct CausticFit {
  Estimate waist, waist_height, m2, rayleigh;  // [m], [m], [1], [m]
  double scatter;                              // [1] of radii about the curve, relative
  std::vector<std::string> notes;

  double radius_at(double height) const;  // [m]
};
// Throws ValidityError: fewer than four heights, or radii that have no waist (c <= 0, or a c <= b^2 / 4).
CausticFit caustic_fit(std::span<const RadiusAt> radii, double wavelength, double error = 0.03);

std::string text(const SquaredWidth& fit);
std::string text(const CausticFit& fit);

// What both are fitted by: y = sum of c_k u^k, u = (x - centre) / scale, y > 0 with the standard deviation 2 e y.
struct Points {
  std::vector<double> x, y;
};
struct Polynomial {
  std::vector<double> coefficients;  // c_k
  std::vector<double> covariance;    // [k][k] of them; from the residuals or from e, the greater
  double centre, scale;              // mean of x, and half of its range
  double scatter;                    // [1] of sqrt(y) about the curve, relative; 0 where none is left over

  double operator()(double x) const;
};
// As many points as coefficients at least.
Polynomial polynomial(const Points& points, int degree, double error);

}  // namespace circumfluence::calibration
