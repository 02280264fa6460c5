// What a place still feels of a line's power when it is hottest: sums over the columns the beam has passed.
//
//   heating[c] = max over moments d of  sum_n sent[c + ahead_d - n] near_d[n] + sum_k mean_k far_d[k]     [J/m]
//
// sent [J/m] is what the line was told, column by column; n counts back along the way the beam came, mean_k is the
// mean over the k-th box of older columns: the first is as wide as the near ones, each further one twice as wide.
// The weights are those of heat/history.h; a steady line returns its own energy.
#pragma once

#include <span>
#include <vector>

namespace circumfluence::exposure {

struct Echo {
  struct Moment {
    int ahead;                     // the beam's column less the place's own
    std::vector<float> near, far;  // [1]
  };
  int near = 0;  // columns taken one by one
  std::vector<Moment> moments;

  int reach() const;  // columns that matter on the side the beam came from, and at least as many as on the other
};

enum class Sense { forth, back };  // toward growing columns, or against them

// Applies an echo to rows; keeps its buffers.
class Listener {
 public:
  explicit Listener(const Echo& echo) : echo_(echo) {}
  const Echo& echo() const { return echo_; }

  // sent: out.size() columns and `pad` more at either end; beyond them the outermost is continued.
  void row(std::span<const float> sent, int pad, Sense sense, std::span<float> out);

 private:
  void lay_out(std::span<const float> sent, int pad, Sense sense, int columns);
  void add_up();

  const Echo& echo_;
  std::vector<float> sent_, best_;
  std::vector<std::vector<float>> boxes_;  // [octave][column] sum of the box that ends there
};

// The same for lines that run across the rows: a row is what all lines were told at one place along them.
class Across {
 public:
  struct Rows {
    const float* sent;   // [J/m] by line
    const double* sums;  // [J/m] by line, of all rows before it
  };
  Across(const Echo& echo, int lines) : echo_(echo), heard_(size_t(lines)) {}
  int reach() const { return echo_.reach(); }

  // rows[reach() + k] is the row k places on, for k = -reach() to reach() + 1; out by line.
  void row(std::span<const Rows> rows, Sense sense, std::span<float> out);

 private:
  const Echo& echo_;
  std::vector<float> heard_;
};

}  // namespace circumfluence::exposure
