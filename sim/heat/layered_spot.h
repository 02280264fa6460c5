// Temperature rise in a stack of layers (coat, film or plating on a base, thin wall) under a moving spot.
//
//   T(x,y,z) = 1/(2 pi)^2 int int dkx dky e^(i(kx x + ky y)) S(kx,ky) G(kx,ky,z)        [K per absorbed watt]
//   q_j^2 = kx^2 + ky^2 - i kx v / a_j, Re q_j > 0;   Y_j = k_j q_j;   a_j = k_j / C_j
//
// x [m] ahead of the spot, which moves along +x at v [m/s], y [m] beside its line, z [m] deep; S [1] the
// transform of the spot (Gaussian: exp(-(kx^2 w_x^2 + ky^2 w_y^2)/8), w 1/e^2 radii [m]; flat tops:
// beam/spot_profile.h); G [K m^2/W] the exact answer to one wave of absorbed power.
//
// The integral is a sum over even steps of ln k at small k, where long wakes and thin walls live, and of k
// where the spot ends it; kx runs along a ray turned off the real axis, on which waves die away with
// distance. Hence no box, no images, no special case for thin walls: some 50 by 60 waves do.
//
// Assumes constant properties, perfect contact, no loss from the lit surface. Errors, of the peak at the same
// depth: rise and peak 1e-4 (flat tops 3e-4), profile 3e-4; checked against the half-space integral,
// published coats and plates, images, superposition, energy, reciprocity. See docs/theory/layers.md. Sources:
// Burgener & Reedy 1982; Rosenthal 1946.
#pragma once

#include <complex>
#include <span>
#include <vector>

#include "heat/moving_spot.h"

namespace circumfluence::heat {

enum class Back { insulated, ambient, wetted };  // what is behind the last layer

struct Layer {
  double thickness;     // [m], the last may be infinite
  double conductivity;  // [W/(m K)]
  double capacity;      // [J/(m^3 K)] by volume
};

struct Stack {
  std::vector<Layer> layers;  // from the lit surface down
  Back back = Back::insulated;
  double back_transfer = 0;  // [W/(m^2 K)] to what is behind a last layer that ends, when ambient or wetted
  double depth = 0;          // [m] optical, in the first layer, the rest stays at its lower face; 0: surface
};

void check(const Stack& stack);  // throws ValidityError that names the layer

// Super-Gaussian orders of the spot, 2 (Gaussian) to 40.
struct Orders {
  double along = 2, across = 2;
};

// One spot on one stack, seen at one depth.
class LayeredSpot {
 public:
  // Throws ValidityError for a stack or spot that cannot be computed; a spot at rest needs a base without end
  // or a cooled back, else there is no steady state.
  LayeredSpot(const Stack& stack, const Spot& spot, double z = 0, const Orders& orders = {});

  double rise(double x, double y) const;  // [K/W]; |y| up to 10^4 radii
  Peak peak(double y = 0) const;          // the most that a point beside the line reaches
  // That peak at y = i / SpotTable::kStepsPerRadius radii across, i = 0..SpotTable::kNodes - 1 [K/W].
  void profile(std::span<float> out) const;

  struct Sample {
    double time;  // [s], 0 when the spot is abreast
    double rise;  // [K/W]
  };
  // What a point beside the line goes through, in order of time, from `least` of its peak up to the peak and
  // down to `least` again (or to 10^4 widths of the peak away). Straight lines between samples are good to
  // 1e-3 of the peak. Throws for a spot at rest.
  std::vector<Sample> cycle(double y = 0, double least = 0.02) const;

 private:
  struct Reach {
    double x, y;  // [m] farthest |x| and |y| asked for
    int side;     // -1 behind the spot, 1 ahead, 0 under it (flat tops only)
  };
  // Waves and their share of the rise; share is [2 rows][columns], real parts first.
  struct Waves {
    Reach reach;
    std::vector<std::complex<double>> along;  // [1/m] kx, a row each
    std::vector<double> across;               // [1/m] ky, a column each
    std::vector<double> share;
  };
  struct Slopes {
    double value, slope, bend;  // of the rise along x
  };
  struct Line {  // of constant y: its waves along x
    std::vector<std::complex<double>> k, amplitude;
    Slopes at(double x) const;
  };
  Waves waves(const Reach& reach) const;
  void reach(double y);
  static Line along(const Waves& waves, double y);
  bool under(double x) const;
  static void lay(const Waves& waves, std::span<const double> x, std::span<const double> y, double* out);
  std::vector<Peak> peaks(std::span<const double> y) const;

  Stack stack_;
  Spot spot_;
  double z_;
  Orders orders_;
  Waves far_, near_;  // behind the spot; under it, for flat tops
};

// Profiles of several spots over a range of speeds, on one stack at one depth. Exact in the spots; cubic in
// ln T over ln(v + slow) between speeds, within 1e-3 of the peak under the line (tested). Serves every power.
class LayeredTable {
 public:
  struct Range {
    double low, high;
  };
  // The speed of each spot is not read. Uses the threads of the machine.
  LayeredTable(const Stack& stack, std::span<const Spot> spots, const Range& speed, double z = 0,
               const Orders& orders = {});
  // As LayeredSpot::profile; the speed is clamped to the range.
  void profile(int spot, double speed, std::span<float> out) const;

 private:
  double low_, step_ = 0, slow_;
  int speeds_;
  std::vector<float> rows_;  // [spot][speed][SpotTable::kNodes], ln of the rise
};

// G; this and what follows is for the sources of this header.
class LayeredAnswer {
 public:
  LayeredAnswer(const Stack& stack, double z);
  static constexpr int kMost = 128;  // ky a call; out has the real parts of G, then the imaginary ones
  void at(std::complex<double> kx, double speed, std::span<const double> ky, double* out) const;

 private:
  struct Slab {
    int layer;
    double thickness;
    bool above;  // z
  };
  Stack stack_;
  double z_;
  std::vector<Slab> slabs_;  // below the first layer, from the bottom up
};

void exponentials(double* real, double* imaginary, int count);  // in place; real parts 0 or less

struct TableSize {
  int rows, inner, columns;
};
// c[rows][columns] = a[rows][inner] b[inner][columns]
void multiply(const double* a, const double* b, double* c, const TableSize& size);

}  // namespace circumfluence::heat
