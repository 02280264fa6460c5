// How hot the base gets beside a line, for every state of the job's spot.
//
// The linear (Kirchhoff) peak rise of an event is energy * warmth * the share of the event that reaches the
// base:
//   warmth = A v (Theta(Pe, aspect, eta) / (k sqrt(w_along w_across)) + wall excess)   [K m/J]
// A absorptivity of the base, v speed [m/s], Theta from heat/spot_table.h, the excess from heat/thin_wall.h.
// The power along the line is taken as steady over the spot: edges of the art are answered at once.
#pragma once

#include <span>
#include <vector>

#include "exposure/event.h"
#include "heat/moving_spot.h"
#include "heat/spot_table.h"

namespace circumfluence::heat {

struct Base {
  Solid solid;
  double absorptivity;  // [1] at normal incidence, of what is absorbed at the surface
  double wall;          // [m]
};

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

}  // namespace circumfluence::heat
