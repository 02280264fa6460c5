// The youngest lines, pair of cells by pair of cells. A kernel [old cell][now cell] holds the rise per
// energy; it depends on the lag, the senses and the distance only, so that an even raster builds a handful of
// them.
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

#include "heat/shell_parts.h"
#include "quantity/constants.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {
namespace {

constexpr int kLanes = 16;
constexpr std::size_t kKernels = 64;
constexpr double kReach = 30;  // images with a smaller factor than exp(-30) are left out
constexpr double kEven = 1.8;  // [h^2 / a] from here on the heat is even through the thickness, to 4e-8
constexpr double kSmooth =
    2;  // [pieces] a piece that has spread by this standard deviation is a Gaussian, to 7e-5
constexpr float kPif = static_cast<float>(quantity::kPi);

// exp(-x), x >= 0, to 2e-7: 2^n by its bits, the rest by its series.
__attribute__((always_inline)) inline float fallen(float x) {
  const float y = (x < 80.0f ? x : 80.0f) * 1.44269504f;
  const int n = static_cast<int>(y + 0.5f);
  const float f = (static_cast<float>(n) - y) * 0.693147181f;
  const float series =
      1 + f * (1 + f * (0.5f + f * (1.0f / 6 + f * (1.0f / 24 + f * (1.0f / 120 + f * (1.0f / 720))))));
  return series * std::bit_cast<float>((127 - n) << 23);
}

// erf to 2e-7: Abramowitz & Stegun 7.1.26 (from memory; the sums in tests/heat use std::erf).
__attribute__((always_inline)) inline float error_function(float x) {
  const float u = x < 0 ? -x : x, t = 1 / (1 + 0.3275911f * u);
  const float tail =
      t * (0.254829592f + t * (-0.284496736f + t * (1.421413741f + t * (-1.453152027f + t * 1.061405429f))));
  const float value = 1 - tail * fallen(u * u);
  return x < 0 ? -value : value;
}

// Into how many pieces an old cell is cut whose heat is `age` [cell times] old when it is met first: the lag
// is one for each piece.
int pieces_of(double age) {
  return age < 8 ? 8 : age < 40 ? 3 : 1;
}

struct Spread {
  float diffusivity, thickness, loss, beam;
  float per_capacity;      // [m^3 K/J]
  float length;            // [m] of a piece of the old line
  float mean;              // [K m/J] what the piece adds to the mean of the wall
  const float* distances;  // [m] across
  int images;
  bool fresh;  // not yet even through the thickness
};

struct Lagged {
  const float* lags;     // [s]
  float *rise, *narrow;  // per energy, of a line that is endless along; 1 / sqrt(4 a t)
  float *peak, *blunt;   // the piece's Gaussian along: peak exp(-x^2 blunt), with the piece's own variance
  float* mean;           // what to take off
};

CIRCUMFLUENCE_LANES void spread(const Spread& s, const Lagged& l, int n) {
  const float* const lags = l.lags;
  float *const rise = l.rise, *const narrow = l.narrow, *const peak = l.peak, *const blunt = l.blunt;
  float* const mean = l.mean;
  const float a = s.diffusivity, w2 = s.beam * s.beam, per_thickness = a / (s.thickness * s.thickness);
  const float pi2 = kPif * kPif;
  const int fresh = s.fresh ? n : 0;
  for (int i = 0; i < n; ++i) rise[i] = 0;
  for (int k = 0; k < s.images; ++k) {
    const float d2 = 2 * s.distances[k] * s.distances[k];
#pragma GCC ivdep
    for (int i = 0; i < n; ++i) rise[i] += fallen(d2 / (w2 + 8 * a * lags[i]));
  }
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) {
    const float time = lags[i], left = fallen(s.loss * time);
    rise[i] *= std::sqrt(2 / (kPif * (w2 + 8 * a * time))) * left * (s.per_capacity / s.thickness);
    narrow[i] = 1 / std::sqrt(4 * a * time);
    mean[i] = s.mean * left;
  }
#pragma GCC ivdep
  for (int i = 0; i < fresh; ++i) {
    const float theta = per_thickness * lags[i], inverse = 1 / theta;
    const float late = 1 + 2 * (fallen(pi2 * theta) + fallen(4 * pi2 * theta));
    const float soon = (1 + 2 * (fallen(inverse) + fallen(4 * inverse))) * std::sqrt(inverse / kPif);
    rise[i] *= theta > 0.32f ? late : soon;
  }
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) {
    blunt[i] = 1 / (4 * a * lags[i] + s.length * s.length / 6);
    peak[i] = rise[i] * s.length * std::sqrt(blunt[i] / kPif);
  }
}

struct Box {
  float from, to, step;  // [m] from the middle of the first cell now; of the cells now
};

CIRCUMFLUENCE_LANES void add_box(const Box& box, const float* rise, const float* narrow, int n, float* out) {
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) {
    const float x = static_cast<float>(i) * box.step;
    out[i] += 0.5f * rise[i] *
              (error_function((box.to - x) * narrow[i]) - error_function((box.from - x) * narrow[i]));
  }
}

CIRCUMFLUENCE_LANES void add_gaussian(const Box& box, const float* peak, const float* blunt, int n,
                                      float* out) {
  const float middle = (box.from + box.to) / 2;
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) {
    const float x = static_cast<float>(i) * box.step - middle;
    out[i] += peak[i] * fallen(x * x * blunt[i]);
  }
}

CIRCUMFLUENCE_LANES void take_off(const float* mean, int n, float* out) {
  for (int i = 0; i < n; ++i) out[i] -= mean[i];
}

int padded(int n) {
  return (n + kLanes - 1) / kLanes * kLanes;
}

}  // namespace

struct NearLines::Kernel {
  double lag, old_duration, now_duration;
  int old_first, old_count, now_first, now_count;
  bool old_forth, now_forth;
  std::vector<double> distances;  // [m] of the images across
  std::vector<float> table;       // [old cell][now cell], stride a multiple of 16

  bool serves(const Kernel& other) const;
};

struct NearLines::Piece {
  int cell;             // old
  double from, length;  // [cells]
};

NearLines::NearLines(const ShellFrame& frame) : frame_(frame) {}
NearLines::~NearLines() = default;

// What depends on the lag alone. Where both beams are equally fast it does so along the diagonals of the
// kernel, so that one row serves every old cell, read from `shift`.
struct NearLines::Scratch {
  explicit Scratch(const Kernel& k)
      : now(k.now_duration / k.now_count, k.now_count, k.now_forth),
        old(k.old_duration / k.old_count, k.old_count, k.old_forth),
        diagonal(std::abs(now.cell - old.cell) * (now.count + old.count) < 1e-6 * (k.lag + now.cell)),
        lags(std::size_t(now.count + (diagonal ? old.count - 1 : 0))),
        rise(lags),
        narrow(lags),
        peak(lags),
        blunt(lags),
        mean(lags) {}

  bool falls() const { return now.forth == old.forth; }  // the lag is one where now cell - old cell is
  void fill_lags(double lag, double place) {
    if (diagonal) place -= std::floor(place);
    const double burnt = old.at(place), first = diagonal && falls() ? 1 - old.count : 0;
    for (std::size_t i = 0; i < lags.size(); ++i)
      lags[i] = static_cast<float>(lag + now.at(double(i) + first + 0.5) - burnt);
  }
  Lagged all() { return {lags.data(), rise.data(), narrow.data(), peak.data(), blunt.data(), mean.data()}; }
  int shift(int old_cell) const { return !diagonal ? 0 : falls() ? old.count - 1 - old_cell : old_cell; }

  LineClock now, old;
  bool diagonal;
  std::vector<float> lags, rise, narrow, peak, blunt, mean;
};

bool NearLines::Kernel::serves(const Kernel& other) const {
  const double slack = 1e-9 * (lag + 1e-3);
  if (old_count != other.old_count || now_count != other.now_count || old_first != other.old_first ||
      now_first != other.now_first || old_forth != other.old_forth || now_forth != other.now_forth ||
      distances.size() != other.distances.size())
    return false;
  if (std::abs(lag - other.lag) > slack || std::abs(old_duration - other.old_duration) > slack ||
      std::abs(now_duration - other.now_duration) > slack)
    return false;
  for (std::size_t i = 0; i < distances.size(); ++i)
    if (std::abs(distances[i] - other.distances[i]) > 1e-9) return false;
  return true;
}

NearLines::Kernel NearLines::key(const BurntLine& old, const BurntLine& now) const {
  Kernel k{.lag = now.start - old.start,
           .old_duration = old.duration,
           .now_duration = now.duration,
           .old_first = old.first,
           .old_count = static_cast<int>(old.energies.size()),
           .now_first = now.first,
           .now_count = static_cast<int>(now.energies.size()),
           .old_forth = old.forth,
           .now_forth = now.forth,
           .distances = {},
           .table = {}};
  const double longest = k.lag + now.duration;
  const double size = frame_.beam * frame_.beam + 8 * frame_.wall.diffusivity() * longest;
  k.distances = frame_.across.distances(old.across, now.across, std::sqrt(kReach * size / 2));
  return k;
}

void NearLines::build(Kernel& k) const {
  const double a = frame_.wall.diffusivity(), h = frame_.wall.thickness, cell = frame_.along.cell();
  const std::vector<float> distances(k.distances.begin(), k.distances.end());
  Scratch scratch(k);
  const int stride = padded(k.now_count), lags = static_cast<int>(scratch.lags.size());
  k.table.assign(std::size_t(k.old_count) * stride, 0);
  const auto pieces_at = [&](int j) {
    return pieces_of((k.lag - scratch.old.at(j + 0.5) + scratch.now.cell / 2) / scratch.old.cell);
  };
  for (const int pieces : {8, 3, 1})
    for (int piece = 0; piece < pieces; ++piece) {
      bool ready = false;
      for (int j = 0; j < k.old_count; ++j) {
        if (pieces_at(j) != pieces) continue;
        if (!ready) {
          scratch.fill_lags(k.lag, j + (piece + 0.5) / pieces);
          const bool fresh = *std::min_element(scratch.lags.begin(), scratch.lags.end()) < kEven * h * h / a;
          const Spread s{float(a),
                         float(h),
                         float(frame_.loss),
                         float(frame_.beam),
                         float(1 / frame_.wall.capacity),
                         float(cell / pieces),
                         float(cell / pieces / (frame_.wall.areal() * frame_.area())),
                         distances.data(),
                         static_cast<int>(distances.size()),
                         fresh};
          spread(s, scratch.all(), lags);
          ready = scratch.diagonal;
        }
        add_piece(k, {j, double(piece) / pieces, 1.0 / pieces}, scratch);
      }
    }
}

// Along: the piece and its images, where they reach.
void NearLines::add_piece(Kernel& k, const Piece& piece, const Scratch& s) const {
  const double reach = 4.5 * std::sqrt(4 * frame_.wall.diffusivity() * (k.lag + k.now_duration));
  const double cell = frame_.along.cell(), middle = (k.now_first + 0.5) * cell;
  const double start = (k.old_first + piece.cell + piece.from) * cell;
  const int shift = s.shift(piece.cell);
  const float soonest = std::min(s.lags[shift], s.lags[shift + k.now_count - 1]);
  const bool smooth = 2 * frame_.wall.diffusivity() * soonest > std::pow(kSmooth * piece.length * cell, 2);
  float* const out = k.table.data() + std::size_t(piece.cell) * padded(k.now_count);
  for (const auto& [from, to] : frame_.along.images(start, start + piece.length * cell, reach)) {
    const int first = std::clamp(static_cast<int>((from - reach - middle) / cell), 0, k.now_count);
    const int last = std::clamp(static_cast<int>((to + reach - middle) / cell) + 1, first, k.now_count);
    const double origin = middle + first * cell;
    const Box box{float(from - origin), float(to - origin), float(cell)};
    if (smooth)
      add_gaussian(box, s.peak.data() + shift + first, s.blunt.data() + shift + first, last - first,
                   out + first);
    else
      add_box(box, s.rise.data() + shift + first, s.narrow.data() + shift + first, last - first, out + first);
  }
  take_off(s.mean.data() + shift, k.now_count, out);
}

void NearLines::add(const BurntLine& old, const BurntLine& now, float* out) {
  Kernel wanted = key(old, now);
  auto found =
      std::find_if(kernels_.begin(), kernels_.end(), [&](const Kernel& k) { return k.serves(wanted); });
  if (found == kernels_.end()) {
    build(wanted);
    if (kernels_.size() < kKernels)
      found = kernels_.insert(kernels_.end(), std::move(wanted));
    else
      *(found = kernels_.begin() + std::ptrdiff_t(oldest_++ % kKernels)) = std::move(wanted);
  }
  combine(old.energies.data(),
          {found->table.data(), found->old_count, padded(found->now_count), padded(found->now_count)}, out);
}

}  // namespace circumfluence::heat
