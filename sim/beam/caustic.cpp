#include "beam/caustic.h"

#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::beam {
namespace {

Waist waist(double spot, double m2, double offset, const Laser& laser) {
  const double radius = spot / 2;
  const double rayleigh = std::isnan(laser.focus_depth)
                              ? quantity::kPi * radius * radius / (m2 * laser.wavelength)
                              : laser.focus_depth / 2;
  return {radius, offset, rayleigh};
}

}  // namespace

double Waist::radius_at(double height_above_focus) const {
  return radius * std::hypot(1.0, (height_above_focus - height) / rayleigh);
}

Caustic caustic(const Laser& laser) {
  check(laser);
  return {waist(laser.spot_axial, laser.m2_axial, laser.waist_offset_axial, laser),
          waist(laser.spot_around, laser.m2_around, laser.waist_offset_around, laser)};
}

}  // namespace circumfluence::beam
