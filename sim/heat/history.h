// How a place remembers a line's power: the weights of exposure/echo.h, from the wall's own answer.
//
// While a spot runs along a line its power follows the picture, held over each column of the grid. A place on the
// line, while the beam is a distance d beyond it, is warmer by
//   T(d) = sum_n e[j0 - n] a_d[n],   a_d[n] = int_(s_n)^(s_n+1) g(d, s) ds
//   g(d, s) = (pi a s)^(-1/2) (Sx Sy)^(-1/2) exp(-2 (v s - d)^2 / Sx) (1 + 2 sum_m exp(-m^2 h^2 / a s)),
//   S_i = w_i^2 + 8 a s
// with e [J/m] the line's energy per column and s [s] the time since the beam passed column j0 - n; h [m] the wall,
// its back insulated. The peak is the greatest T(d) over the moments when a column ends, soon after one begins, and
// when a steady line would peak; the weights are the a_d over their sum at the steady peak. Columns long past are
// taken together, by octaves.
//
// The echo is that of places on the line and serves the ones beside it. Against direct integration in time (edges,
// single dots, every second dot; tests/heat) it is right to 4 % of the steady line's peak on the line, and to 8 % up
// to two radii beside it.
#pragma once

#include "exposure/echo.h"
#include "heat/moving_spot.h"

namespace circumfluence::heat {

// What a line leaves behind it: column [m] is the grid's step along it; wall [m], infinity for a thick one; octaves of
// columns kept, the last one standing for all older ones.
struct Track {
  double column;
  double wall;
  int octaves = 5;
};

// Throws ValidityError unless everything is positive, the speed too.
exposure::Echo history(const Solid& solid, const Spot& spot, const Track& track);

}  // namespace circumfluence::heat
