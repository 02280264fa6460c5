#include "beam/fresnel.h"

#include <complex>

namespace circumfluence::beam {

Absorptivity fresnel(const Index& index, double incidence) {
  const std::complex<double> n(index.n, index.k);
  const double sine2 = 1 - incidence * incidence;
  const std::complex<double> inside = std::sqrt(1.0 - sine2 / (n * n));
  const std::complex<double> s = (incidence - n * inside) / (incidence + n * inside);
  const std::complex<double> p = (n * incidence - inside) / (n * incidence + inside);
  return {1 - std::norm(s), 1 - std::norm(p)};
}

double angle_factor(const Index& index, double incidence, double slope_share, Polarisation polarisation) {
  const double normal = fresnel(index, 1.0).mean();
  const Absorptivity a = fresnel(index, incidence);
  if (polarisation == Polarisation::unpolarised) return a.mean() / normal;
  const double in_plane = polarisation == Polarisation::axial ? slope_share : 1 - slope_share;
  return (in_plane * a.p + (1 - in_plane) * a.s) / normal;
}

}  // namespace circumfluence::beam
