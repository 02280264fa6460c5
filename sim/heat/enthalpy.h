// The reference solver: transient conduction in a small patch under a passing beam, with melting and a film
// that is ablated, for study and to keep the fast models honest. Predictions never call it.
//
//   dH/dt = div(k grad T) + s,   k = k0 + k1 (T - T0),   dH = (c0 + c1 (T - T0)) dT + latent heat
//
// H enthalpy by volume [J/m^3], 0 at the temperature T0 before the run; s absorbed power by volume [W/m^3].
// A film's top cell is held at its removal temperature until it has taken up its removal heat; then it is
// gone, its enthalpy has left with it, and what arrived beyond goes to the cell below. The light falls on
// what is then on top. Finite volumes, symmetric about y = 0; super-time-stepping of second order (RKL2). The
// top loses nothing to the air, melt does not flow. Energy closes to 1e-10; what else was measured is in
// docs/theory/reference_solver.md. Sources: Meyer, Balsara, Aslam 2014; Voller, Cross 1981.
#pragma once

#include <barrier>
#include <limits>
#include <vector>

#include "beam/spot_profile.h"
#include "heat/moving_spot.h"
#include "quantity/figure.h"
#include "quantity/bands.h"

namespace circumfluence::heat {

inline constexpr double kNever = std::numeric_limits<double>::infinity();  // a temperature not reached

struct EnthalpyLayer {
  double thickness = quantity::kUnset;     // [m]
  double conductivity = quantity::kUnset;  // [W/(m K)] k0
  double conductivity_slope = 0;           // [W/(m K^2)] k1
  double capacity = quantity::kUnset;      // [J/(m^3 K)] c0, by volume
  double capacity_slope = 0;               // [J/(m^3 K^2)] c1
  double solidus = kNever;                 // [K]
  double liquidus = kNever;                // [K]
  double latent = 0;                       // [J/m^3] taken up between them
  double absorptivity = quantity::kUnset;  // [1] share of the light that enters
  double optical_depth = 0;                // [m] 1/e, Beer-Lambert; 0: absorbed in the top cell
  double removal_temperature = kNever;     // [K] of a film
  double removal_heat = 0;                 // [J/m^3] taken up at that temperature
  double cell = quantity::kUnset;          // [m] height of its top cell
  double growth = 1;                       // [1] of the height from cell to cell
};

// Beyond a face: nothing; the same body on and on (its field falls as 1/r from mid-track); T0; a fluid at T0.
enum class Edge { insulated, open, held, cooled };

// The finely meshed part is 0 <= x <= length, 0 <= y <= half_width; cells grow from it to the margins.
struct EnthalpyPatch {
  double length = quantity::kUnset;       // [m]
  double half_width = quantity::kUnset;   // [m]
  double margin = quantity::kUnset;       // [m] beyond the fine part, both along and across
  double cell_along = quantity::kUnset;   // [m]
  double cell_across = quantity::kUnset;  // [m]
  double growth = 1.25;                   // [1]
  Edge sides = Edge::open;
  Edge back = Edge::open;
  double back_coefficient = 0;  // [W/(m^2 K)] of a cooled back
};

// The beam moves along y = 0 from x = from, toward +x. Power: equal pieces of the way (of the time at rest).
struct EnthalpyRun {
  Spot spot{};                               // [m], [m], [m/s]
  double order_along = 2, order_across = 2;  // [1] super-Gaussian, beam/spot_profile.h
  std::vector<double> power{};               // [W] arriving
  double from = quantity::kUnset;            // [m]
  double duration = quantity::kUnset;        // [s]
  double after = 0;                          // [s] without light
  double start = quantity::kUnset;           // [K] T0
  std::vector<Point> probes{};               // [m] z from the original surface; a cell, or the base's surface
};

struct EnthalpySteps {
  double travel = 0.05;  // [1] radii the beam moves in a step, at most
  int least = 200;       // steps while the beam is on, at least
  double front = 1;      // [1] film cells that a step ablates, about, at most
  int threads = 0;       // 0: as many as the machine has
};

// Of the whole body, both halves.
struct EnthalpyBalance {
  double absorbed = 0, stored = 0, ablated = 0, lost = 0;  // [J]
  double imbalance = 0;                                    // [1] of the absorbed
};

struct EnthalpyResult {
  std::vector<double> x, y, z;             // [m] centres of the cells; y[0] = 0; z from the original surface
  int base = 0;                            // index in z of the base's top cell
  std::vector<double> peak;                // [K] at the surface of the base, [y][x]
  std::vector<double> removed;             // [m] film, [y][x]
  std::vector<double> peak_below;          // [K] under the track at length / 2, [z]
  double melted_depth = 0;                 // [m] of the base there, as if wholly melted
  double melted_width = 0;                 // [m] of its top cell there
  std::vector<double> time;                // [s] at the end of each step
  std::vector<std::vector<double>> cycle;  // [K], [probe][time]
  EnthalpyBalance balance;
  long steps = 0, stages = 0, cells = 0;
};

// Layers from the top; the last is the base. Throws ValidityError for what cannot be computed, Interrupted.
EnthalpyResult solve_enthalpy(const std::vector<EnthalpyLayer>& layers, const EnthalpyPatch& patch,
                              const EnthalpyRun& run, const EnthalpySteps& steps = {},
                              const quantity::Progress& progress = {});

// Inside, shared by enthalpy_*.cpp. The rise t = T - T0 by enthalpy; theta = k0 t + k1 t^2 / 2 diffuses.
struct EnthalpyLaw {
  double k0, k1, c0, c1, solid, liquid, melt_rise, melt_slope, latent, cap, removal;
  double rise(double enthalpy) const;
};

// Rows are [z][y], x runs fastest, `stride` apart. Coefficients: divergence of theta's flux per difference.
struct EnthalpyMesh {
  int nx, ny, nz, stride, films, lit;  // planes that may be removed, planes that light may reach
  std::vector<double> x, y, z, dx, dy, dz;
  std::vector<int> layer;                                    // of each plane
  std::vector<double> west, east, south, north, up, down;    // [1/m^2]
  std::vector<double> loss_west, loss_east, loss_y, loss_z;  // [1/m^2]: [row], [row], [z][x], [y][x]
};

struct EnthalpyField {
  const EnthalpyPatch& patch;
  const EnthalpyRun& run;
  beam::SpotProfile profile;        // along the track
  std::vector<double> crosswise{};  // [1/m] share of the light on each row of cells, by width
  std::vector<EnthalpyLayer> layers{};
  std::vector<EnthalpyLaw> laws{};
  EnthalpyMesh mesh{};
  std::vector<double> enthalpy{}, rate{}, change[2]{}, theta[2]{}, through[3]{}, mask{}, hottest{};
  std::vector<double> source{}, swing{};  // [W/m^3] mean of the step; end less start
  std::vector<char> lit_rows{};
  std::vector<double> carried{};   // [J/m^2] [y][x] left over when the last film went
  std::vector<int> top{};          // [y][x] plane on top
  double time = 0, step = 0;       // [s]
  int stages = 0, now = 0;         // now: which theta holds
  int split = 0, film_stages = 0;  // planes above `split` step first, with fewer stages
  EnthalpyBalance spent{};         // of the half computed
  std::vector<double> lost{};      // [J] of each thread
};

EnthalpyField make_field(std::vector<EnthalpyLayer> layers, const EnthalpyPatch& patch,
                         const EnthalpyRun& run);
void share_across(EnthalpyField& f);                      // sets crosswise
double front_step(const EnthalpyField& f);                // [s] in which the brightest film cell would go
void pace(EnthalpyField& f, const EnthalpySteps& steps);  // sets step and stages
void deposit(EnthalpyField& f);                           // sets source for [time, time + step]
// One step, all parts at once; then time and `now` are to be moved.
void advance(EnthalpyField& f, int part, int parts, std::barrier<>& meet);
void ablate(EnthalpyField& f);
double surface_rise(const EnthalpyField& f, int iy, int ix);  // [K] at the surface of the base

}  // namespace circumfluence::heat
