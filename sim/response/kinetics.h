// What a thermal cycle does to a surface: oxide, bleaching, char by Arrhenius laws, and how deep metal melts.
//
//   d(dose)/dt = rate exp(-activation / T),   activation = E / R [K]
//   oxide: x^2 = native^2 + sum of doses [m^2];   bleached share: 1 - exp(-sum);   charred where the sum >= 1
//
// Doses of neighbouring passages add up; each is the integral over the passage's own cycle, less what the
// same time at the start temperature would do. One reaction, no depletion of oxygen, no limit by it:
// docs/theory/kinetics.md.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "heat/kirchhoff.h"

namespace circumfluence::response {

struct Reaction {
  double rate;        // [m^2/s] or [1/s]
  double activation;  // [K]
};

double oxide(double native, double dose);  // [m], of a film [m] and a sum of doses [m^2]
double bleached(double dose);              // [1] share of the dye

// [K] at which a hold for `dwell` [s] gives a dose of 1 (63 % converted). A millisecond needs hundreds of
// kelvins more than an oven. Throws ValidityError where no temperature does.
double temperature_of(const Reaction& reaction, double dwell);

// A curve through samples that keeps their order: cubic, no overshoot (Fritsch & Carlson 1980).
class Curve {
 public:
  Curve(std::vector<double> x, std::vector<double> y);  // x ascending, two or more
  double at(double x) const;                            // the last value beyond either end

 private:
  std::vector<double> x_, y_, slope_;
};

// One passage as a place feels it: time [s], ascending, and linear rise as a share of its peak [1], 0 to 1;
// the peak is one of the samples. Samples whose chords stay within 1e-3 of the peak
// (heat::LayeredSpot::cycle) are dense enough.
struct Shape {
  std::vector<double> times, shares;
};

// Where the reaction takes place. The true temperature is start + true_rise(share * peak), heat/kirchhoff.h.
struct Ground {
  heat::Conductivity conductivity;
  double start;  // [K]
};

// The dose of one passage as a function of its linear peak rise [K].
//
// Made by quadrature at even steps of r / (r + start), in which ln(dose) is nearly straight; between them
// linear in log2. Within 0.5 % of the quadrature, and of it over the moving spot itself (tested). Rises above
// `greatest`, or where the conductivity has fallen to a tenth, count as that rise.
class Dose {
 public:
  // Throws ValidityError for a shape or reaction that cannot be.
  Dose(const Reaction& reaction, const Shape& shape, const Ground& ground, double greatest);

  double of(double rise) const;
  // Adds each cell's dose to what it has; a rise of 0 or less adds nothing. About 1.5 ns a cell.
  void add(std::span<const float> rises, std::span<float> doses) const;
  // The wall is warm already: rises hold the background [K, linear] too. A peak on a warm wall is broader
  // than one of the same height that starts cold, for a sharp reaction by sqrt(rise / (rise - background)):
  // within 2 % for passages of 500 K and more on up to 200 K (the form above lacks up to 17 %). At most
  // tenfold.
  void add(std::span<const float> rises, std::span<const float> backgrounds, std::span<float> doses) const;

 private:
  static constexpr int kSteps = 128;
  float start_, greatest_, per_step_;            // [K], [K], steps per r / (r + start)
  std::array<float, 2 * (kSteps + 2)> table_{};  // log2(dose (r + start) / r) and its growth to the next
};

// How far from the hottest point the rise reaches that of melting: depth, or half-width, of a molten track.
//
// From a profile of the linear problem, distance [m] against the share [1] of the peak, falling from 1 at 0.
// With the Kirchhoff transform the share sought is (linear rise of melting) / (linear peak rise) = 1/r; the
// table runs in even steps of sqrt(1 - 1/r), in which depths and half-widths are both smooth. Within 0.3 % of
// the profile's curve and a thousandth of its radius. Beyond the last sample the last distance stands. No
// latent heat, no stirring: an isotherm.
class MeltReach {
 public:
  MeltReach(std::span<const double> distances, std::span<const double> shares);  // throws ValidityError

  double of(double ratio) const;  // [m]; 0 for r <= 1
  // Raises each cell's reach to what this passage does; rises and `melting` linear [K].
  void raise(std::span<const float> rises, double melting, std::span<float> reaches) const;

 private:
  static constexpr int kSteps = 256;
  std::array<float, kSteps + 2> table_{};
};

// An organic body under a beam that dwells.
struct CharBody {
  double start;        // [K]
  double surface;      // [K] while it is removed
  double dwell;        // [s] w / v
  double diffusivity;  // [m^2/s]
  double sensible;  // [1] rho c (surface - start) over the removal energy; 1 and more: no heat of pyrolysis
};

// [K] the surface needs, body.surface being ignored, for a dwell that ends as it gets there to char it (dose
// 1). Above temperature_of(reaction, body.dwell), since a surface under constant flux is that hot for a
// moment only. A body whose removal is recorded at less than this is removed before it chars: one of the two
// figures is off.
double charring_surface(const Reaction& reaction, const CharBody& body);

// Depth [m] below the surface that is left, to which the dose of one passage reaches 1, against the strength
// s = absorbed fluence / threshold of removal.
//
// One-dimensional: constant flux for the dwell, then cooling with no loss. s < 1: Carslaw & Jaeger 1959,
// section 2.9. s >= 1: that until the surface is at `surface`, then ablation with a profile that turns from
// theirs into the exponential of steady recession, by balances of heat at the surface and in the body. Within
// 6 % of finite differences plus 1.2 % of sqrt(diffusivity dwell) (tested). Deepest at s = 1 to 1.5: a
// stronger beam carries off what it heats. Below charring_surface there is none at
// s = 1. A tint comes before char: for a dose of d divide the rate by d.
class CharDepth {
 public:
  CharDepth(const Reaction& reaction, const CharBody& body);  // throws ValidityError
  double of(double strength) const;                           // [m]
  void raise(std::span<const float> strengths, std::span<float> depths) const;

 private:
  static constexpr int kSteps = 128;  // of s / (1 + s)
  std::array<float, kSteps + 2> table_{};
};

}  // namespace circumfluence::response
