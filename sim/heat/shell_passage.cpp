// A line passes: the hot loops of the shell, and what they are fed with.
#include <algorithm>
#include <cmath>

#include "heat/shell_parts.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {
namespace {

constexpr int kMoments = LineMoments::kCount;

// What the modes' rows and columns are given while a line passes.
struct Walk {
  const float* rows_less_one;     // [row] decay, less one
  const float* columns_less_one;  // [column]
  const float* write;             // [moment][row] of the old line
  const float* sources;           // [moment][column]
  const float* read;              // [moment][row] of the new line
  float* sums;                    // [moment][column]
  float* state;                   // [row][column]
  const int* ends;                // [row] columns in use, a multiple of 16; the very first, the mean, is not
  int rows, stride;               // stride of columns
};
CIRCUMFLUENCE_LANES void walk_rows(const Walk& w) {
  const int s = w.stride, rows = w.rows;
  const float* const ec = w.columns_less_one;
  const float* const e = w.sources;
  const float *const a = w.write, *const b = w.read;
  float* const t = w.sums;
  for (int r = 0; r < rows; ++r) {
    float* const c = w.state + std::ptrdiff_t(r) * s;
    const float d = w.rows_less_one[r];
    const float a0 = a[r], a1 = a[rows + r], a2 = a[2 * rows + r], a3 = a[3 * rows + r];
    const float b0 = b[r], b1 = b[rows + r], b2 = b[2 * rows + r], b3 = b[3 * rows + r];
    const int end = w.ends[r];
#pragma GCC ivdep
    for (int j = r == 0; j < end; ++j) {
      // What is lost, not what is left: slow modes keep all their digits over thousands of lines.
      const float lost = d * ec[j] + (d + ec[j]);
      const float v =
          c[j] + (c[j] * lost + ((a0 * e[j] + a1 * e[s + j]) + (a2 * e[2 * s + j] + a3 * e[3 * s + j])));
      c[j] = v;
      t[j] += b0 * v;
      t[s + j] += b1 * v;
      t[2 * s + j] += b2 * v;
      t[3 * s + j] += b3 * v;
    }
  }
}

CIRCUMFLUENCE_LANES void multiply_lanes(const float* a, const float* b, int n, float* out) {
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) out[i] = a[i] * b[i];
}

CIRCUMFLUENCE_LANES void combine_rows(const float* k, const ShellTable& table, float* out) {
  const int n = table.columns, s = table.stride;
  const float* t = table.values;
  int r = 0;
  for (; r + 4 <= table.rows; r += 4, t += 4 * std::ptrdiff_t(s)) {
    const float a = k[r], b = k[r + 1], c = k[r + 2], d = k[r + 3];
    if (a == 0 && b == 0 && c == 0 && d == 0) continue;
#pragma GCC ivdep
    for (int j = 0; j < n; ++j) out[j] += (a * t[j] + b * t[s + j]) + (c * t[2 * s + j] + d * t[3 * s + j]);
  }
  for (; r < table.rows; ++r, t += s)
#pragma GCC ivdep
    for (int j = 0; j < n; ++j) out[j] += k[r] * t[j];
}

}  // namespace

void combine(const float* coefficients, const ShellTable& table, float* out) {
  combine_rows(coefficients, table, out);
}

// The sources of an old line as they stand at `time`: what each moment's heat has come down to.
void ShellModes::write(const BurntLine& line, double time) {
  const int n = static_cast<int>(line.energies.size()), rows = static_cast<int>(rows_.size());
  const float* const shares = moments_.shares(line);
  std::vector<float> parts(n);
  std::fill(sources_.begin(), sources_.end(), 0.0f);
  weigh(line.across);
  for (int r = 0; r < rows; ++r) weights_[r] *= rows_[r].gain;
  for (int q = 0; q < kMoments; ++q) {
    multiply_lanes(line.energies.data(), shares + q * n, n, parts.data());
    float* const source = sources_.data() + std::size_t(q) * stride_;
    combine(parts.data(), {into_.data() + std::size_t(line.first) * stride_, n, stride_, stride_}, source);
    const Decay& d = decay(time - line.start - LineMoments::time(line, q));
    multiply_lanes(source, d.columns.data(), stride_, source);
    multiply_lanes(weights_.data(), d.rows.data(), rows, write_.data() + std::size_t(q) * rows);
  }
}

void ShellModes::move(double time, const BurntLine* read) {
  const std::size_t walks = std::max<std::size_t>(1, pending_.size());
  const int rows = static_cast<int>(rows_.size());
  if (std::isnan(time_)) time_ = time;
  if (pending_.empty()) std::fill(write_.begin(), write_.end(), 0.0f);
  for (std::size_t i = 0; i < walks; ++i) {
    if (i < pending_.size()) write(*pending_[i], time);
    if (read && i + 1 == walks) {
      weigh(read->across);
      for (int q = 0; q < kMoments; ++q)
        multiply_lanes(weights_.data(), decay(LineMoments::time(*read, q)).rows.data(), rows,
                       read_.data() + std::size_t(q) * rows);
    }
    const Decay& since = decay(time - time_);
    time_ = time;
    std::fill(sums_.begin(), sums_.end(), 0.0f);
    walk_rows({since.rows_less_one.data(), since.columns_less_one.data(), write_.data(), sources_.data(),
               read_.data(), sums_.data(), state_.data(), ends_.data(), rows, stride_});
  }
  pending_.clear();
}

void ShellModes::settle(double time) {
  move(time, nullptr);
}

void ShellModes::rise(const BurntLine& line, const double* means, float* out) {
  move(line.start, &line);
  const int n = static_cast<int>(line.energies.size());
  const float* const shares = moments_.shares(line);
  for (int q = 0; q < kMoments; ++q) {
    float* const sums = sums_.data() + std::size_t(q) * stride_;
    const Decay& d = decay(LineMoments::time(line, q));
    multiply_lanes(sums, d.columns.data(), stride_, sums);
    sums[0] += static_cast<float>(means[q]);
    std::fill(cells_.begin(), cells_.end(), 0.0f);
    combine(sums, {from_.data() + line.first, columns_, along_stride_, (n + 15) / 16 * 16}, cells_.data());
    for (int j = 0; j < n; ++j) out[j] += shares[q * n + j] * cells_[j];
  }
}

}  // namespace circumfluence::heat
