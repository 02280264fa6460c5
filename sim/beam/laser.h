// The laser as a job names it: section [laser].
#pragma once

#include "quantity/field.h"

namespace circumfluence::beam {

enum class Polarisation { unpolarised, axial, around };
enum class Modulation { analogue, pulsed };

struct Laser {
  double wavelength = quantity::kUnset;   // [m]
  double rated_power = quantity::kUnset;  // [W] optical, at full setting
  double losses = quantity::kUnset;       // [1] share lost between the source and the part
  double spot_axial = quantity::kUnset;   // [m] 1/e^2 diameter at the waist, along the part's axis
  double spot_around = quantity::kUnset;  // [m] the same, around the part
  double m2_axial = quantity::kUnset;     // [1] beam quality, ISO 11146-1
  double m2_around = quantity::kUnset;    // [1]
  double focus_depth = quantity::kUnset;  // [m] in place of M2: twice the Rayleigh length
  double waist_offset_axial = 0.0;        // [m] height of that waist above the nominal focus
  double waist_offset_around = 0.0;       // [m]
  double order_axial = 2.0;               // [1] super-Gaussian order, 2 is Gaussian
  double order_around = 2.0;              // [1]
  Polarisation polarisation = Polarisation::unpolarised;
  Modulation modulation = Modulation::analogue;
  double carrier = quantity::kUnset;       // [Hz] pulse frequency when pulsed
  double power_spread = quantity::kUnset;  // [1] lognormal, of what really arrives against what is set
  double spot_spread = quantity::kUnset;   // [1] lognormal, of both spot diameters together
  double shape_spread = quantity::kUnset;  // [1] lognormal, of the ratio of the two, axial over around
  double depth_spread = quantity::kUnset;  // [1] lognormal, of the focus depth at that spot: of 1 / M2, both directions together
  double focus_distance = quantity::kUnset;  // [m] height of the head's lower edge above a surface in focus
};

const quantity::Fields<Laser>& laser_fields();

// Throws JobError when the members do not fit together: neither or both of M2 and focus depth, pulsed
// without a carrier, a spot smaller than the wavelength allows.
void check(const Laser& laser);

}  // namespace circumfluence::beam
