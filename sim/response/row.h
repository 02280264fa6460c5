// One row of cells while events pass over it, and the laws by which each event changes it.
//
// Removal, steady (per event, absorbed fluence a = A F):  removed += max(0, a - F_th) / e
// Removal, blow-off:                                      removed += depth ln(a / F_th) where a > F_th
// What an event has left once the coat is gone reaches the base there; the base keeps its highest linear
// rise. A cell answers for itself: heat that spreads under a coat still standing is left out.
//
// The factor on power at which a cell is just fully marked, f = (need + sum F_th) / sum a, runs over the
// events that would remove something at f: an event joins when it lowers f, and the sum starts again where
// one event alone does better than all before it. Never too low; exact when events come in falling order.
// Else each that removes nothing at f may add F_th / (need e + F_th). In rasters of equal lines at most 4 %
// too high when they lie 0.75 beam radii or more apart, 9 % at half a radius.
//
// The factor at which the base reaches the limit takes the film as the earlier events leave it at the power
// given: exact for the event that does it when the film is gone before it or no event came before it, and
// always on the right side of 1. Above 1 it may else be too high, by no more than the power that event spends
// on the film.
//
// A wall that is warm already adds its own rise to the base's, and takes its share off the threshold; both grow with
// power as the event's heat does.
#pragma once

#include <span>
#include <vector>

#include "response/limits.h"

namespace circumfluence::response {

struct Reacting;

// The film or organic body that light removes; absent on a bare part.
struct Film {
  RemovalLaw law;
  float absorptivity;  // [1]
  float thickness;     // [m]
  float energy;        // [J/m^3] e
  float depth;         // [m] of blow-off
  float need;          // [m] to be removed for a mark
  float per_kelvin;    // [1/K] share by which the threshold falls when the part is warmer
};

// One event over a row, as values of the whole row or arrays by column.
struct Passage {
  const float* energy;            // [J/m]
  const float* heating;           // [J/m] the same for what is heated (exposure/echo.h)
  const float* share;             // [1/m]
  const float* warmth;            // [K m/J] where the cell comes nearest to the line
  const float* threshold;         // [J/m^2]
  bool uniform;                   // share, warmth, threshold and centre point at one value
  const float* centre = nullptr;  // [K m/J] at the cell's centre, of a bare part
  const float* scale = nullptr;       // [1] how much longer the passage lasts than the reaction's own; null: as long
  const float* background = nullptr;  // [K] by column, linear rise of the wall when the beam arrives; null: cold
};

class Row {
 public:
  Row(int columns, const Film* film, float rise_limit, const Reacting* reacting = nullptr);

  void clear(int columns);  // begins with as many, at most those of the constructor
  void pass(const Passage& event);

  int columns() const { return columns_; }
  std::span<const float> fluence() const { return fluence_; }  // [J/m^2]
  std::span<const float> left() const { return left_; }        // [m] of the film
  std::span<const float> rise() const { return rise_; }        // [K] linear, the base's highest
  std::span<const float> strongest() const { return strongest_; }  // [1] greatest absorbed fluence over threshold
  std::span<const float> dose() const { return dose_; }            // of the reaction, at the cell's centre
  std::span<const float> centre() const {
    return centre_;
  }  // [K] the same at the cell's centre, of a bare part
  // Factors on power [1], infinity where no power does it.
  void mark_factor(std::span<float> out) const;     // film: just fully removed
  void over_factor(std::span<float> out) const;     // base just reaches the rise limit
  void through_factor(std::span<float> out) const;  // the whole film (an organic wall) is gone

 private:
  void react(const Passage& event);

  int columns_;
  bool has_film_;
  Film film_;
  float rise_limit_;
  const Reacting* reacting_;
  std::vector<float> strongest_, dose_, event_rise_, event_dose_;
  std::vector<float> fluence_, left_, rise_, centre_;
  std::vector<float> absorbed_,
      spent_;  // sum a and sum F_th (blow-off: sum ln(a / F_th) and the number of events)
  std::vector<float> over_cost_, over_by_;  // over factor = cost / by, the least so far
};

}  // namespace circumfluence::response
