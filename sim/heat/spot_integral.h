// The dimensionless heart of the moving Gaussian spot: one integral, its slopes, and its crest beside the
// line.
//
//   I(x,y,z) = int_0^inf du (Sx Sy)^(-1/2) exp(-2(x + c u^2)^2/Sx - 2 y^2/Sy - 2 z^2/u^2),  S_i = w_i^2 + u^2
//
// with u = sqrt(8 a t) [length] in place of time and c = v / (8 a) [1/length]; any one unit of length will
// do. The rise of heat/moving_spot.h is sqrt(2) pi^(-3/2) I / k per absorbed watt.
//
// Quadrature: the trapezoidal rule in a variable that takes even steps in ln u and, where the spot's own
// profile is the narrower feature, even steps of that profile. For an analytic integrand that vanishes at
// both ends it converges exponentially (Trefethen & Weideman 2014, SIAM Review 56, 385-458).
#pragma once

#include <vector>

#include "heat/moving_spot.h"

namespace circumfluence::heat {

struct Shape {
  double along;   // 1/e^2 radius along the motion
  double across;  // 1/e^2 radius across it
  double drift;   // c = v / (8 a), 0 for a standing spot
};

struct Precision {
  double steps;        // [1] steps per unit of ln u; error about exp(-5 steps)
  double spot_steps;   // [1] steps per standard deviation of the spot; error about exp(-20 spot_steps^2)
  double cut;          // [1] exponent beyond which the integrand is left out
  double improvement;  // [1] the crest is found when another step would raise it by less, relative
};
inline constexpr Precision kFine{4.6, 1.4, 44.0, 1e-12};
inline constexpr Precision kQuick{2.2, 1.15, 24.0, 1e-6};

struct Slopes {
  double value = 0;  // I
  double x = 0;      // dI/dx
  double xx = 0;     // d2I/dx2
  double y = 0;      // dI/dy
};

struct Crest {
  double value;    // I at its highest along x
  double x;        // where
  double slope_y;  // dI/dy there, hence the slope of the crest itself
};

// Keeps the nodes it has made, since neighbouring points share them. `deep` says that z > 0 will be asked.
class SpotIntegral {
 public:
  SpotIntegral(const Shape& shape, const Precision& precision, bool deep);
  Slopes at(const Point& point);

  // The highest value along x. At high speed a point beside the line is heated twice, by the skirt of the
  // passing spot and later by what spreads from the track; the higher of the two counts.
  Crest crest(double y, double z);

 private:
  struct Node {
    double u2;      // u^2
    double sx, sy;  // 1/Sx, 1/Sy
    double weight;  // step of u / sqrt(Sx Sy)
  };
  struct Window {
    long first, last;  // node numbers [first, last)
    double start;      // u near the first
  };
  Window window(const Point& point) const;
  void cover(const Window& window);
  double number(double u) const;
  double density(double u) const;
  Crest climb(double x, double y, double z);

  Shape shape_;
  Precision precision_;
  double bend_;  // u below which the steps are even in u; 0 when deep
  std::vector<Node> nodes_;
  long base_ = 0;   // number of nodes_[0]
  double end_ = 0;  // u of the last node
};

}  // namespace circumfluence::heat
