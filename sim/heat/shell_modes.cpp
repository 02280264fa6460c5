// The shell's modes: rows across (cosines and sines, once for every mode through the thickness that lives
// long enough), columns along. A passing line multiplies every mode by its decay, adds one old line at its
// four moments and sums over the rows at the new line's four moments, all in one walk through the state.
#include <algorithm>
#include <cmath>

#include "heat/shell_parts.h"
#include "quantity/constants.h"

namespace circumfluence::heat {
namespace {

constexpr int kMoments = LineMoments::kCount, kLanes = 16;
constexpr std::size_t kDecays = 64;

int rounded_up(int n) {
  return (n + kLanes - 1) / kLanes * kLanes;
}

struct Harmonic {
  int order;
  bool sine;
  double wave, norm;  // [1/m], [1/m]
};

// All with waves up to the limit, long ones first.
std::vector<Harmonic> harmonics(const ShellAxis& axis, double limit) {
  const double first = (axis.closed ? 2 : 1) * quantity::kPi / axis.length;
  std::vector<Harmonic> out = {{0, false, 0, 1 / axis.length}};
  for (int n = 1; n * first <= limit; ++n) {
    out.push_back({n, false, n * first, 2 / axis.length});
    if (axis.closed) out.push_back({n, true, n * first, 2 / axis.length});
  }
  return out;
}

}  // namespace

ShellModes::ShellModes(const ShellFrame& frame, double lag) : frame_(frame), tolerance_(1e-8 * lag) {
  const double a = frame.wall.diffusivity(), limit = kCut / (a * lag), pi = quantity::kPi;
  const std::vector<Harmonic> columns = harmonics(frame.along, std::sqrt(limit));
  columns_ = static_cast<int>(columns.size());
  stride_ = rounded_up(columns_);
  for (int p = 0; std::pow(p * pi / frame.wall.thickness, 2) <= limit; ++p) {
    const double deep = std::pow(p * pi / frame.wall.thickness, 2);
    for (const Harmonic& h : harmonics(frame.across, std::sqrt(limit - deep))) {
      const double left = limit - deep - h.wave * h.wave,
                   spread = h.wave * h.wave * frame.beam * frame.beam / 8;
      const auto end = std::find_if(columns.begin(), columns.end(),
                                    [&](const Harmonic& c) { return c.wave * c.wave > left; });
      const int to = std::max(1, static_cast<int>(end - columns.begin()));
      const double gain = h.norm * (p == 0 ? 1 : 2) * std::exp(-spread) / frame.wall.areal();
      rows_.push_back({h.order, h.sine, p == 0, a * (h.wave * h.wave + deep), static_cast<float>(gain)});
      ends_.push_back(std::min(stride_, rounded_up(to)));
      highest_ = std::max(highest_, h.order);
      count_ += ends_.back();
    }
  }
  for (const Harmonic& c : columns) column_rates_.push_back(a * c.wave * c.wave + frame.loss);
  column_rates_.resize(std::size_t(stride_), column_rates_.back());
  tables(std::sqrt(limit));
  decays_.reserve(kDecays);
}

// From cells (a box of one joule per metre each) into columns, and from columns to the middles of cells.
void ShellModes::tables(double limit) {
  const ShellAxis& axis = frame_.along;
  const double cell = axis.cell();
  along_stride_ = rounded_up(axis.cells) + kLanes;
  into_.assign(std::size_t(axis.cells) * stride_, 0);
  from_.assign(std::size_t(stride_) * along_stride_, 0);
  int column = 0;
  for (const Harmonic& h : harmonics(axis, limit)) {
    const double half = h.wave * cell / 2;
    const double box = cell * h.norm * (half == 0 ? 1 : std::sin(half) / half);
    for (int j = 0; j < axis.cells; ++j) {
      const double phase = h.wave * (j + 0.5) * cell, value = h.sine ? std::sin(phase) : std::cos(phase);
      into_[std::size_t(j) * stride_ + column] = static_cast<float>(box * value);
      from_[std::size_t(column) * along_stride_ + j] = static_cast<float>(value);
    }
    ++column;
  }
  state_.assign(rows_.size() * stride_, 0);
  write_.assign(kMoments * rows_.size(), 0);
  read_ = write_;
  weights_.assign(rows_.size(), 0);
  sources_.assign(std::size_t(kMoments) * stride_, 0);
  sums_ = sources_;
  cells_.assign(std::size_t(along_stride_), 0);
  cosines_.assign(std::size_t(highest_) + 1, 0);
  sines_ = cosines_;
}

const ShellModes::Decay& ShellModes::decay(double time) {
  for (const Decay& d : decays_)
    if (std::abs(d.time - time) <= tolerance_) return d;
  if (decays_.size() < kDecays) decays_.emplace_back();
  Decay& d = decays_.size() < kDecays ? decays_.back() : decays_[oldest_decay_++ % kDecays];
  d = {time, {}, {}, {}, {}};
  for (const Row& row : rows_) d.rows_less_one.push_back(static_cast<float>(std::expm1(-row.rate * time)));
  for (const double rate : column_rates_)
    d.columns_less_one.push_back(static_cast<float>(std::expm1(-rate * time)));
  for (const float less : d.rows_less_one) d.rows.push_back(1 + less);
  for (const float less : d.columns_less_one) d.columns.push_back(1 + less);
  return d;
}

// Every row's cosine or sine at a place across, by turning one step at a time.
void ShellModes::weigh(double across) {
  const ShellAxis& axis = frame_.across;
  const double step = (axis.closed ? 2 : 1) * quantity::kPi * across / axis.length;
  const double c = std::cos(step), s = std::sin(step);
  double x = 1, y = 0;
  for (std::size_t m = 0; m < cosines_.size(); ++m) {
    cosines_[m] = static_cast<float>(x);
    sines_[m] = static_cast<float>(y);
    const double turned = x * c - y * s;
    y = x * s + y * c;
    x = turned;
  }
  for (std::size_t r = 0; r < rows_.size(); ++r)
    weights_[r] = (rows_[r].sine ? sines_ : cosines_)[rows_[r].order];
}

}  // namespace circumfluence::heat
