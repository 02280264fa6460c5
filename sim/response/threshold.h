// The absorbed fluence at which removal of a coat or an organic body begins.
//
// A thick film under constant flux reaches T_abl after the dwell tau = w/v when it has absorbed
//   F_th = (sqrt(pi)/2) (T_abl - T_0) sqrt(k rho c tau)                        [J/m^2]
// (Carslaw & Jaeger 1959, semi-infinite solid, constant flux, section 2.9), so one measured threshold serves
// other dwells as sqrt(tau). Holds while the film is thicker than the heat's depth sqrt(a tau); see thick().
#pragma once

#include "exposure/light.h"
#include "workpiece/material.h"

namespace circumfluence::response {

// From the record's measured threshold if it has one, else from conduction. Throws ValidityError naming what
// the record lacks.
double threshold(const workpiece::Material& material, double start_temperature, double dwell);

// [1] thickness over the depth that heat reaches in the dwell; below 1 the law above is outside its range.
double thick(const workpiece::Material& material, double thickness, double dwell);

}  // namespace circumfluence::response
