// What a wall of finite thickness adds to the peak under a moving spot when its back is insulated.
//
//   dT/P = -ln(1 - exp(-v h / a)) / (2 pi k h)
//
// [K/W]; v speed [m/s], h wall [m], a diffusivity [m^2/s]. The image sources of the back face, each taken as
// a point on the beam's axis (Rosenthal 1946): sum over n of exp(-n v h / a) / (2 pi k h n). Good where the
// wall is thicker than the spot; within 1 % of the peak against the exact plate in tests/heat. Infinite at
// rest: a plate with insulated faces has no steady state.
#pragma once

#include "heat/moving_spot.h"

namespace circumfluence::heat {

double wall_excess(const Solid& solid, double wall, double speed);

}  // namespace circumfluence::heat
