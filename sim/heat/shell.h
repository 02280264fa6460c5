// How the wall of a part warms while the job goes on: a thin shell on the unrolled surface, in step with the
// lines.
//
//   rho c h dT/dt = div(k h grad T) + q - H T,   H = outside + inside (+ water.transfer, against T_water)
//
// T rise above ambient [K], q absorbed [W/m^2]; around the part it closes upon itself, both ends of the tube
// are insulated. A line's heat is a Gaussian of 1/e^2 radius `beam` across and a row of cells along. Rises
// are those of the lit face under the beam's centre, at the moment it passes the middle of the cell, without
// the line's own heat.
//
// Lines that ended less than `window` times a line's duration before this one began (two of them, where
// turning is quick) are answered one by one, with the true lag t of every pair of cells, by images:
//   c E' / (rho c h) sqrt(2 / pi S) exp(-2 d^2 / S) [erf] / 2 theta(a t / h^2) exp(-H t / rho c h)
// c E' [J] of a cell, d distance across, S = beam^2 + 8 a t, [erf] the cell spread over sqrt(4 a t) along,
// theta for the insulated back face. Older lines live on as modes that decay exactly, written and read at
// four moments of a line. The mean of the wall and the water are kept apart, in double, exactly in time.
//
// Assumes k, rho c and H constant, H h / k << 1, and an even speed over a line's cells. Accuracy, against the
// sum over all pairs of cells and lines: 5e-4 of the greatest rise where lines follow without a pause, 3e-4
// otherwise, 2e-5 over whole jobs; where the window lies shows by 3e-5; energy balance 1e-6.
// Theory: docs/theory/shell.md.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "motion/raster.h"

namespace circumfluence::heat {

struct Wall {
  double thickness;     // [m]
  double conductivity;  // [W/(m K)]
  double capacity;      // [J/(m^3 K)] rho c

  double diffusivity() const { return conductivity / capacity; }
  double areal() const { return capacity * thickness; }  // [J/(m^2 K)]
};

// [W/(m^2 K)] from a wall to water that is not stirred: Churchill & Chu 1975 at some kelvin, from memory, spread 40 %.
inline constexpr double kStillWater = 400;

struct Water {
  double transfer;  // [W/(m^2 K)] from the wall to it
  double capacity;  // [J/K] of all of it; well stirred, gives nothing to the air
};

struct Loss {
  double outside, inside;      // [W/(m^2 K)] to air at ambient temperature
  std::optional<Water> water;  // behind the wall, besides `inside`
};

// [W/(m^2 K)] to air: convection and linearised radiation, h_c + 4 eps sigma T^3, T in kelvin.
double air_transfer(double convection, double emissivity, double temperature);

// The unrolled wall and its coarse cells.
struct Tube {
  double circumference, length;  // [m]
  int around, axial;             // cells
};

struct BurntLine {
  double across;                    // [m] where it lies: around for axial lines, axial for lines around
  double start;                     // [s] when the beam enters its first cell
  double duration;                  // [s] until it leaves the last
  bool forth;                       // false: from its last cell to its first
  int first;                        // cell along the line at which `energies` begins
  std::span<const float> energies;  // [J/m] absorbed per length, cell by cell
};

struct ShellJob {
  Wall wall;
  Loss loss;
  Tube tube;
  motion::Direction direction;       // of all lines
  double beam;                       // [m] 1/e^2 radius across the lines
  std::span<const BurntLine> lines;  // in order of time, one after another
  double wait = 0;                   // [s] from the end of the last line to the final field
  double window = 1.5;               // [line times] numerical: when a line passes into the shell
};

struct WallWarming {
  std::vector<float> rises;         // [K] line after line, cell after cell as in `energies`
  std::vector<std::size_t> begins;  // [line] where in `rises` it starts; one more at the end
  float greatest = 0;               // [K] of `rises`
  std::vector<float> field;         // [K] [around][axial] `wait` after the last line, mean over the thickness
  double end = 0;                   // [s] the time of `field`
  double after_job = 0;             // [K] mean of the wall just after the last line
  double mean = 0, water = 0;       // [K] of the wall and the water at `end`
  double deposited = 0, lost = 0;   // [J] until `end`; deposited = stored in wall and water + lost
  int modes = 0, near = 0;          // how many modes; most lines answered one by one

  std::span<const float> rise(std::size_t line) const {
    return {rises.data() + begins[line], begins[line + 1] - begins[line]};
  }
};

// Throws ValidityError on lines that overlap in time or leave the wall, and on figures that are not physical.
WallWarming warm_wall(const ShellJob& job);

}  // namespace circumfluence::heat
