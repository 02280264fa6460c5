// How hot the base gets beside a line, for every state of the job's spot, and as the power along the line changes.
//
// The linear (Kirchhoff) peak rise of an event is heating * warmth * the share of the event that reaches the
// base:
//   warmth = A v T(eta)   [K m/J],   T [K/W] the peak at eta radii beside the line
// A absorptivity of the base, v speed [m/s]. T is that of a half-space (heat/spot_table.h), or of the wall with what
// is behind it where heat gets there while the spot passes, where the spot has a flat top, or of a stack of layers
// (heat/layered_spot.h).
// The heating [J/m] of a line whose power follows the picture is that of exposure/echo.h; history() gives its weights.
#pragma once

#include <span>
#include <vector>

#include "exposure/expose.h"
#include "heat/layered_spot.h"
#include "heat/spot_table.h"

namespace circumfluence::heat {

struct Base {
  Solid solid;
  double absorptivity;       // [1] at normal incidence, of what is absorbed at the surface
  double wall;               // [m]
  Orders orders{};           // of the spot
  double back_transfer = 0;  // [W/(m^2 K)] behind the wall; 0: insulated
  Stack stack{};             // where layers answer instead of the wall alone; else none
  double z = 0;              // [m] depth in it that counts
};

Stack stack_of(const Base& base);  // its layers, or else the wall alone

class Warmth {
 public:
  Warmth(const Base& base, std::span<const exposure::SpotState> states);

  // Where in a cell: at its centre, or where it comes nearest to the line and gets hottest.
  enum class Within { centre, nearest };
  // [K m/J] of a uniform event.
  float at(const exposure::EventRow& event, Within within) const;
  // The same column by column; out has the row's length.
  void row(const exposure::EventRow& event, Within within, std::span<float> out) const;
  // [1] the greatest share of the peak, over all states, that is owed to the wall's back face.
  double wall_share() const { return wall_share_; }
  // [K m/J] on the line, and the state it belongs to: the hottest.
  double greatest() const { return greatest_; }

 private:
  std::vector<float> profiles_;  // [state][SpotTable::kNodes]
  double wall_share_ = 0, greatest_ = 0;
};

// How a place remembers a line's power: the weights of an echo, from the wall's own answer.
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
// to two radii beside it; 6 and 12 % where the wall is as thin as the spot's radius.
struct Track {
  double column;    // [m] the grid's step along the line
  double wall;      // [m], infinity for a thick one
  int octaves = 5;  // of columns kept; the last one stands for all older ones
};

// Throws ValidityError unless everything is positive, the speed too.
exposure::Echo history(const Solid& solid, const Spot& spot, const Track& track);

}  // namespace circumfluence::heat
