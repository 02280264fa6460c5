// Temperature rise of a half-space under a Gaussian spot that moves at constant speed.
//
//   T(x,y,z) = (P / rho c) int_0^inf dt (pi a t)^(-1/2) exp(-z^2/4at) 2/(pi sqrt(Sx Sy)) exp(-2(x+vt)^2/Sx -
//   2y^2/Sy) S_i = w_i^2 + 8 a t, a = k / (rho c)
//
// P absorbed power [W], w_i 1/e^2 radii [m] along and across the motion, x [m] ahead of the beam (the spot
// moves along +x), y [m] beside its line, z [m] depth. Constant properties; for k(T) see heat/kirchhoff.h.
// Exact to 1e-8 of the peak against adaptive quadrature. Sources: Lax 1977 (v = 0); Cline & Anthony 1977;
// Nissim et al. 1980 (elliptical).
#pragma once

namespace circumfluence::heat {

struct Solid {
  double conductivity;  // [W/(m K)]
  double diffusivity;   // [m^2/s]
};

struct Spot {
  double along;   // [m] 1/e^2 radius in the direction of motion
  double across;  // [m] 1/e^2 radius across it
  double speed;   // [m/s], 0 or more
};

struct Point {
  double x = 0, y = 0, z = 0;  // [m]
};

// [K] per absorbed watt, steady in the moving frame. Throws ValidityError unless all of the solid and spot
// are positive (speed may be 0) and z >= 0.
double rise(const Solid& solid, const Spot& spot, const Point& at);

struct Peak {
  double rise;  // [K/W]
  double x;     // [m] where along the line, relative to the beam
};

// The most that a point beside the line (y) at depth z reaches while the spot passes.
Peak peak(const Solid& solid, const Spot& spot, double y = 0, double z = 0);

}  // namespace circumfluence::heat
