// What heat/shell.h is put together from: the frame of the unrolled wall, its modes, and the lines that are
// too young for them. Everything here is a rise above ambient [K], less the mean of the wall.
//
// "Across" and "along" are meant of the lines; an axis that is not closed is insulated at both ends.
#pragma once

#include <array>
#include <limits>
#include <vector>

#include "heat/shell.h"

namespace circumfluence::heat {

struct ShellAxis {
  double length;  // [m]
  int cells;
  bool closed;

  double cell() const { return length / cells; }
  // [m] from `from` and all its images (mirrored, or turns away) to `to`, those within reach.
  std::vector<double> distances(double from, double to, double reach) const;
  // [from, to] and its images as far as they reach the axis.
  std::vector<std::array<double, 2>> images(double from, double to, double reach) const;
};

struct ShellFrame {
  explicit ShellFrame(const ShellJob& job);

  Wall wall;
  double beam;  // [m]
  double loss;  // [1/s] H / (rho c h)
  ShellAxis across, along;

  double area() const { return across.length * along.length; }
};

// Throws ValidityError.
void check(const ShellJob& job, const ShellFrame& frame);

// Where a line's cells lie in time.
struct LineClock {
  explicit LineClock(const BurntLine& line);
  LineClock(double cell_time, int cells, bool forward) : cell(cell_time), count(cells), forth(forward) {}
  // [s] after the line's start, when it is `cells` cells (a fraction, too) past the first.
  double at(double cells) const { return cell * (forth ? cells : count - cells); }

  double cell;  // [s]
  int count;
  bool forth;
};

// Four moments of a line stand for all its cells: t_q = duration (1 - cos((2q + 1) pi / 8)) / 2, and a cell
// at another time is their Lagrange mean.
struct LineMoments {
  static constexpr int kCount = 4;
  static double time(const BurntLine& line, int q);
  // [q][cell] the shares of every cell, in the order of `energies`.
  const float* shares(const BurntLine& line);

 private:
  std::vector<std::vector<float>> known_;  // by cells and sense
};

// Everything but the mean, as modes in float: rows across (and through the thickness), columns along.
class ShellModes {
 public:
  static constexpr double kCut = 14;  // what has decayed by exp(-14) when it is first read is left out
  // `lag` [s]: no line is read sooner after its end than this.
  ShellModes(const ShellFrame& frame, double lag);
  // A line to be added at the next rise() or settle(); its energies must live until then.
  void take(const BurntLine& line) { pending_.push_back(&line); }
  // Adds to `out` the rise at every cell of `line` when the beam is there; means: the wall's at the moments.
  void rise(const BurntLine& line, const double* means, float* out);
  void settle(double time);              // takes what is pending and moves on to `time`
  void field(std::vector<double>& out);  // adds to [across][along]
  int count() const { return count_; }

 private:
  struct Row {
    int order;
    bool sine, mean;  // mean: over the thickness
    double rate;      // [1/s]
    float gain;
  };
  struct Decay {
    double time = -1;
    std::vector<float> rows, columns, rows_less_one, columns_less_one;
  };
  void tables(double limit);
  const Decay& decay(double time);
  void move(double time, const BurntLine* read);
  void write(const BurntLine& line, double time);
  void weigh(double across);

  ShellFrame frame_;
  LineMoments moments_;
  std::vector<Row> rows_;
  std::vector<double> column_rates_;  // [1/s] loss included
  int columns_ = 0, stride_ = 0, along_stride_ = 0, highest_ = 0, count_ = 0;
  std::size_t oldest_decay_ = 0;
  double time_ = std::numeric_limits<double>::quiet_NaN(), tolerance_ = 0;
  std::vector<float> state_, into_, from_;  // [row][column]; [cell][column]; [column][cell]
  std::vector<float> sources_, sums_, cells_;
  std::vector<float> write_, read_, weights_;  // [moment][row], [row]
  std::vector<int> ends_;
  std::vector<Decay> decays_;
  std::vector<float> cosines_, sines_;  // by order
  std::vector<const BurntLine*> pending_;
};

// out[j] += sum over k of coefficients[k] * table[k][j]
struct ShellTable {
  const float* values;
  int rows, stride, columns;
};
void combine(const float* coefficients, const ShellTable& table, float* out);

// Adds to [across][along] what a young line leaves at `time`, less its share in the mean.
void leave(const ShellFrame& frame, const BurntLine& line, double time, std::vector<double>& out);

// Lines answered one by one.
class NearLines {
 public:
  explicit NearLines(const ShellFrame& frame);
  ~NearLines();
  // Adds to `out` the rise that `old` leaves at every cell of `now`, less its share in the wall's mean.
  // `out` has room for a multiple of 16 cells.
  void add(const BurntLine& old, const BurntLine& now, float* out);

 private:
  struct Kernel;
  struct Piece;
  struct Scratch;
  Kernel key(const BurntLine& old, const BurntLine& now) const;
  void build(Kernel& kernel) const;
  void add_piece(Kernel& kernel, const Piece& piece, const Scratch& scratch) const;

  ShellFrame frame_;
  std::vector<Kernel> kernels_;
  std::size_t oldest_ = 0;
};

}  // namespace circumfluence::heat
