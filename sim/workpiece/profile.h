// The radius of a surface of revolution along its axis, and the angle at which a beam from above meets it.
#pragma once

#include <vector>

#include "workpiece/part.h"

namespace circumfluence::workpiece {

// How the surface lies at one spot, for light coming straight down on a part whose axis is level.
struct LocalGeometry {
  double height;       // [m] above the part's axis
  double incidence;    // [1] cosine of the angle between beam and surface normal; 0 or less: not lit
  double slope_share;  // [1] share of the tilt that is along the axis: 0 all around, 1 all along
};

class Profile {
 public:
  // Throws what check(part) throws.
  explicit Profile(const Part& part);

  double length() const { return length_; }
  double radius(double axial) const;  // [m]; the end values continue beyond the part
  double slope(double axial) const;   // [1] d radius / d axial, of the piece that holds the position
  double greatest_radius() const;
  bool constant(double from, double to) const;  // the same radius throughout [from, to]

  // `azimuth` [rad] from top dead centre. cos(theta) = cos(azimuth) / sqrt(1 + r'^2).
  LocalGeometry at(double axial, double azimuth) const;

 private:
  struct Piece {
    double from, radius, slope;
  };
  const Piece& piece(double axial) const;
  std::vector<Piece> pieces_;
  double length_;
};

// How far the surface has fallen away at a lateral distance from top dead centre: r - sqrt(r^2 - y^2) [m].
// Throws ValidityError when y lies beyond the part.
double sagitta(double radius, double lateral);

}  // namespace circumfluence::workpiece
