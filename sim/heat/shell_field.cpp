// The wall at one moment: its modes at the middles of the cells, and what the youngest lines leave in them.
#include <algorithm>
#include <cmath>

#include "heat/shell_parts.h"

namespace circumfluence::heat {
namespace {

// A box from `from` to `to` that has spread, at the middles of an axis's cells.
void spread_out(const ShellAxis& axis, std::array<double, 2> box, double size, std::vector<double>& values) {
  const double narrow = 1 / std::sqrt(size);
  std::fill(values.begin(), values.end(), 0.0);
  for (const auto& [from, to] : axis.images(box[0], box[1], 6 / narrow))
    for (int i = 0; i < axis.cells; ++i) {
      const double x = (i + 0.5) * axis.cell();
      values[i] += (std::erf((to - x) * narrow) - std::erf((from - x) * narrow)) / 2;
    }
}

}  // namespace

void ShellModes::field(std::vector<double>& out) {
  const int n = frame_.along.cells;
  std::vector<float> sums(std::size_t(stride_), 0), cells(std::size_t(along_stride_), 0);
  for (int i = 0; i < frame_.across.cells; ++i) {
    weigh((i + 0.5) * frame_.across.cell());
    std::fill(sums.begin(), sums.end(), 0.0f);
    for (std::size_t r = 0; r < rows_.size(); ++r) {
      if (!rows_[r].mean) continue;
      const float* const state = state_.data() + r * stride_;
      for (int c = 0; c < ends_[r]; ++c) sums[c] += weights_[r] * state[c];
    }
    std::fill(cells.begin(), cells.end(), 0.0f);
    combine(sums.data(), {from_.data(), columns_, along_stride_, n}, cells.data());
    for (int j = 0; j < n; ++j) out[std::size_t(i) * n + j] += cells[j];
  }
}

void leave(const ShellFrame& frame, const BurntLine& line, double time, std::vector<double>& out) {
  const ShellAxis &along = frame.along, &across = frame.across;
  const LineClock clock(line);
  const double a = frame.wall.diffusivity(), cell = across.cell(), step = along.cell();
  std::vector<double> xs(along.cells), ys(across.cells);
  double off = 0;
  for (int j = 0; j < clock.count; ++j) {
    if (line.energies[j] == 0) continue;
    const double lag = time - line.start - clock.at(j + 0.5), from = (line.first + j) * step;
    const double heat = line.energies[j] * std::exp(-frame.loss * lag) / frame.wall.areal();
    spread_out(along, {from, from + step}, 4 * a * lag, xs);
    // A cell holds as much of the line as a box of its width around the line would give the cell's middle.
    spread_out(across, {line.across - cell / 2, line.across + cell / 2},
               frame.beam * frame.beam / 2 + 4 * a * lag, ys);
    off += heat * step / frame.area();
    for (int y = 0; y < across.cells; ++y) {
      const double weight = heat / cell * ys[y];
      if (weight == 0) continue;
      for (int x = 0; x < along.cells; ++x) out[std::size_t(y) * along.cells + x] += weight * xs[x];
    }
  }
  for (double& value : out) value -= off;
}

}  // namespace circumfluence::heat
