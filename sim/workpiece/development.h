// Surfaces of revolution laid flat: a cone developed without stretching, and lengths along a profile.
//
// Cut open along a meridian and laid flat, a cone of slope r' = dr/du becomes a sector of a disc. With the
// signed sine of its half angle, sigma = r' / sqrt(1 + r'^2) [1], positive where the radius grows along the
// axis, a point at slant length l [m] from the circle of radius r0 [m] and at azimuth phi [rad] lies at
//
//   along  = l - (sigma/2) r phi^2 sinc^2(sigma phi / 2)   [m]
//   around = r phi sinc(sigma phi)                         [m]     r = r0 + sigma l,  sinc t = sin(t)/t
//
// from the point l = 0, phi = 0; `along` follows that meridian. It is the polar form (rho = r/|sigma| from
// the apex, psi = |sigma| phi) written so that a cylinder, sigma = 0, is no special case:
// along = l, around = r phi. Back again, with k = sigma / r0 [1/m]:
//
//   l   = (along (2 + k along) + k around^2) / (1 + sqrt((1 + k along)^2 + k^2 around^2))
//   phi = atan2(k around, 1 + k along) / sigma
//
// Assumes a straight generator throughout; a profile with kinks has no development and is measured along its
// slant only. Azimuths are signed and not wrapped: whoever lays art asks whether it closes the turn.
// Exact but for rounding: there and back to 1e-14 of the size, held against rotations and polar coordinates
// in tests/workpiece/development_test.cpp. Source: the development of a right circular cone, any text on
// descriptive geometry.
#pragma once

#include <vector>

#include "workpiece/part.h"

namespace circumfluence::workpiece {

struct FlatPoint {
  double along, around;  // [m]
};

struct ConePoint {
  double slant;    // [m] from the circle of the origin, growing with the axial position
  double azimuth;  // [rad] from the meridian of the origin
};

class Cone {
 public:
  // Radius [m] at the origin and slope [1]. Throws ValidityError unless the radius is positive and both are
  // finite.
  Cone(double radius, double slope);

  double sine() const { return sine_; }      // [1] sigma
  double cosine() const { return cosine_; }  // [1] axial length over slant length
  double apex() const;                       // [m] `along` of the point it tapers to; infinite of a cylinder
  double radius(double slant) const { return radius_ + sine_ * slant; }  // [m]
  FlatPoint flat(ConePoint point) const;
  ConePoint lay(FlatPoint point) const;

 private:
  double radius_, sine_, cosine_;
};

// Length along a part's surface at one azimuth, from its beginning: the integral of sqrt(1 + r'^2). The face
// of a step has no length here, since no beam from above lights it. Beyond the ends it goes on along the
// axis.
class Slant {
 public:
  // Throws what check(part) throws.
  explicit Slant(const Part& part);
  double length(double axial) const;  // [m]
  double axial(double length) const;  // [m] the inverse
  // [m] axial positions between the ends where radius or slope may change.
  const std::vector<double>& breaks() const { return breaks_; }

 private:
  struct Piece {
    double from, length, stretch;  // [m] axial, [m] slant before it, [1] slant over axial length
  };
  std::vector<Piece> pieces_;  // before the part, its own, beyond it
  std::vector<double> breaks_;
};

}  // namespace circumfluence::workpiece
