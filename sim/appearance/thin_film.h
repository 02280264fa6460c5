// How much light a body reflects through a film on it: interference, of unpolarised light.
//
//   r = (r01 + r12 e^(2ib)) / (1 + r01 r12 e^(2ib)),   b = 2 pi N1 d cos(t1) / lambda,   R = (|r_s|^2 + |r_p|^2) / 2
//
// N = n + ik of air (0), film (1), body (2); cos(t) complex by Snell's law; d [m] thickness, lambda [m].
// Exact for smooth, parallel faces. Unevenness averages R over a normal distribution of d, cut off at 4 standard deviations
// and at d = 0, by the trapezoidal rule: within 2e-4 up to a spread of 25 %, 1e-3 above.
// Checked: a characteristic matrix to 1e-12, values worked out independently to 1e-6, and the hues of oxidised silicon of a
// model that fits a laboratory's chart (validation/measured/sio2_on_silicon), to 3 degrees.
// Source: Airy's sum; Born, Wolf, Principles of Optics, 1.6.4 and 14.4.
#pragma once

#include <complex>

#include "appearance/spectrum.h"

namespace circumfluence::appearance {

struct Film {
  std::complex<double> film, body;  // N
  double thickness;                 // [m]
};
// Share reflected at one wavelength; cosine of the angle of incidence in air.
double reflectance(const Film& film, double wavelength, double cosine = 1);

struct Layer {
  double thickness = 0;  // [m] mean
  double uneven = 0;     // [1] standard deviation over the mean
};
Reflectance film_reflectance(const Index& film, const Index& body, const Layer& layer, double cosine = 1);
Reflectance bare_reflectance(const Index& body, double cosine = 1);

}  // namespace circumfluence::appearance
