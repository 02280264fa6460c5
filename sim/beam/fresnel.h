// Absorptivity of a smooth opaque surface against the angle of incidence, from its refractive index n + ik.
//
//   R_s = |(cos t - N cos t') / (cos t + N cos t')|^2,  R_p = |(N cos t - cos t') / (N cos t + cos t')|^2
//   N = n + ik,  cos t' = sqrt(1 - sin^2 t / N^2),  A = 1 - R
//
// Source: Born & Wolf, Principles of Optics, ch. 1.5 and 14 (from memory); values in validation/exact.
#pragma once

#include "beam/laser.h"

namespace circumfluence::beam {

struct Index {
  double n, k;  // [1]
};

struct Absorptivity {
  double s, p;  // [1] electric field across, and in, the plane of incidence
  double mean() const { return (s + p) / 2; }
};

// `incidence` [1] is the cosine of the angle to the surface normal, 0..1.
Absorptivity fresnel(const Index& index, double incidence);

// How the absorptivity changes against normal incidence, for a tilt whose share along the axis is
// `slope_share` (workpiece/profile.h): a field along the axis lies across the plane of incidence of a tilt
// around the part.
double angle_factor(const Index& index, double incidence, double slope_share, Polarisation polarisation);

}  // namespace circumfluence::beam
