#include "beam/laser.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::beam {

using quantity::JobError;

const quantity::Fields<Laser>& laser_fields() {
  static const quantity::Fields<Laser> fields = {
      {"wavelength", &Laser::wavelength, "nm", 200e-9, 20e-6, "wavelength of the light"},
      {"rated_power", &Laser::rated_power, "W", 1e-3, 5e3, "optical power at full setting"},
      {"losses", &Laser::losses, "%", 0, 0.99, "share lost in lenses and windows before the part"},
      {"spot_axial", &Laser::spot_axial, "um", 1e-6, 5e-3,
       "1/e^2 spot diameter along the axis, at the waist"},
      {"spot_around", &Laser::spot_around, "um", 1e-6, 5e-3,
       "1/e^2 spot diameter around the part, at the waist"},
      {"m2_axial", &Laser::m2_axial, "1", 1, 1000, "beam quality M2 along the axis", false},
      {"m2_around", &Laser::m2_around, "1", 1, 1000, "beam quality M2 around the part", false},
      {"focus_depth", &Laser::focus_depth, "mm", 1e-6, 1,
       "in place of M2: height over which the spot area stays within twice its least", false},
      {"waist_offset_axial", &Laser::waist_offset_axial, "mm", -0.05, 0.05,
       "height of the axial waist above the nominal focus", false},
      {"waist_offset_around", &Laser::waist_offset_around, "mm", -0.05, 0.05,
       "height of the around waist above the nominal focus", false},
      {"order_axial", &Laser::order_axial, "1", 2, 40, "super-Gaussian order along the axis; 2 is Gaussian",
       false},
      {"order_around", &Laser::order_around, "1", 2, 40,
       "super-Gaussian order around the part; 2 is Gaussian", false},
      {"polarisation", quantity::choice<&Laser::polarisation>(), "", 0, 0, "direction of the electric field",
       false, "unpolarised axial around"},
      {"modulation", quantity::choice<&Laser::modulation>(), "", 0, 0,
       "how power is lowered: steadily or by on/off pulses", false, "analogue pulsed"},
      {"carrier", &Laser::carrier, "kHz", 1, 1e8, "pulse frequency of a pulsed modulation", false},
      {"power_spread", &Laser::power_spread, "%", 0, 10,
       "lognormal spread of the power that really arrives against what is set", false},
      {"spot_spread", &Laser::spot_spread, "%", 0, 10,
       "lognormal spread of the spot's size, both diameters together", false},
      {"shape_spread", &Laser::shape_spread, "%", 0, 10,
       "lognormal spread of the spot's shape: its axial diameter over the one around", false},
      {"depth_spread", &Laser::depth_spread, "%", 0, 10,
       "lognormal spread of the focus depth, or of M2 where that is given", false},
      {"focus_distance", &Laser::focus_distance, "mm", 0, 2,
       "height of the head's lower edge above a surface in focus", false},
  };
  return fields;
}

namespace {

void check_waist(double spot, double m2, double wavelength, const char* which) {
  const double least = 2 * m2 * wavelength / quantity::kPi;  // half-angle of 1 rad
  if (spot < least)
    throw JobError(fmt::format(
        "laser.spot_{} = {} (smaller than light of {} with M2 {:.3g} can be focused; expected at least {})",
        which, quantity::format(spot, "um"), quantity::format(wavelength, "nm"), m2,
        quantity::format(least, "um", 3)));
}

}  // namespace

void check(const Laser& laser) {
  const bool depth = !std::isnan(laser.focus_depth);
  const bool axial = !std::isnan(laser.m2_axial), around = !std::isnan(laser.m2_around);
  if (depth && (axial || around))
    throw JobError(
        "laser.focus_depth is given beside laser.m2_axial or m2_around (they say the same thing). Keep one "
        "of them");
  if (!depth && !(axial && around))
    throw JobError(
        "laser.m2_axial and laser.m2_around are missing (how fast the spot grows off focus is unknown). Give "
        "both, or laser.focus_depth");
  check_waist(laser.spot_axial, axial ? laser.m2_axial : 1.0, laser.wavelength, "axial");
  check_waist(laser.spot_around, around ? laser.m2_around : 1.0, laser.wavelength, "around");
  if (laser.modulation == Modulation::pulsed && std::isnan(laser.carrier))
    throw JobError(
        "laser.carrier is missing (a pulsed modulation needs its frequency). Give laser.carrier, such as \"5 "
        "kHz\"");
}

}  // namespace circumfluence::beam
