// How the beam's radius grows away from its waist, separately along the axis and around the part.
//
//   w_a(z) = w0_a sqrt(1 + ((z - z_a) / zR_a)^2),   zR_a = pi w0_a^2 / (M2_a lambda)
//
// w: 1/e^2 radius = second-moment radius (2 sigma) [m]; z: height above the nominal focus [m]. Source: ISO
// 11146-1.
#pragma once

#include "beam/laser.h"

namespace circumfluence::beam {

struct Waist {
  double radius;    // [m] w0
  double height;    // [m] z_a
  double rayleigh;  // [m] zR_a

  double radius_at(double height_above_focus) const;
};

struct Caustic {
  Waist axial, around;
};

// From the section: spot diameters, and M2 or the focus depth (2 zR, taken for both directions).
// Throws what check(laser) throws.
Caustic caustic(const Laser& laser);

}  // namespace circumfluence::beam
