#include "response/row_kernel.h"

#include <cmath>

#include "quantity/lanes.h"

namespace circumfluence::response {
namespace {

inline float least(float a, float b) {
  return a < b ? a : b;
}
inline float most(float a, float b) {
  return a > b ? a : b;
}

// kUniform: share, warmth and threshold are one value for the row; the compiler then keeps them in registers.
template <bool kUniform>
__attribute__((always_inline)) inline void steady(const RowArrays& row, const Passage& event,
                                                  const Film& film, float limit) {
  const int n = row.n;
  const float* const energy = event.energy;
  float* const fluence = row.fluence;
  float* const left = row.left;
  float* const rise = row.rise;
  float* const absorbed = row.absorbed;
  float* const spent = row.spent;
  float* const cost = row.over_cost;
  float* const by = row.over_by;
  const float need = film.need * film.energy, per_energy = 1 / film.energy;
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) {
    const float share = kUniform ? event.share[0] : event.share[i];
    const float warmth = kUniform ? event.warmth[0] : event.warmth[i];
    const float threshold = kUniform ? event.threshold[0] : event.threshold[i];
    const float line = energy[i], f = line * share, a = film.absorptivity * f;
    fluence[i] += f;
    const bool joins = (need + spent[i]) * a > threshold * absorbed[i];
    // Where this event alone does it with less power than together with all before, the sum starts again
    // here.
    const bool restarts = (need + threshold) * absorbed[i] < spent[i] * a;
    absorbed[i] = (restarts ? 0.0f : absorbed[i]) + (joins ? a : 0.0f);
    spent[i] = (restarts ? 0.0f : spent[i]) + (joins ? threshold : 0.0f);

    const float standing = left[i] * film.energy;
    const float start = standing > 0.0f ? threshold : 0.0f;
    const float excess = most(a - start, 0.0f);
    const float taken = least(standing, excess);
    left[i] = standing - taken > 1e-6f * need ? (standing - taken) * per_energy : 0.0f;
    // The share (excess - taken) / a of this event's light falls on the base.
    const float surplus = excess - taken, heat = line * warmth;
    const float part = standing > 0.0f ? (a > 0.0f ? surplus / a : 0.0f) : 1.0f;
    rise[i] = most(rise[i], part * heat);
    // Over-burn needs start + standing, then limit / heat of the event: (start + standing + limit a / heat) /
    // a.
    const float price = standing > 0.0f ? (start + standing) * heat + limit * a : limit;
    const float paid = standing > 0.0f ? a * heat : heat;
    const bool sooner = price * by[i] < cost[i] * paid;
    cost[i] = sooner ? price : cost[i];
    by[i] = sooner ? paid : by[i];
  }
}

CIRCUMFLUENCE_LANES void steady_uniform(const RowArrays& row, const Passage& event, const Film& film,
                                        float limit) {
  steady<true>(row, event, film, limit);
}

CIRCUMFLUENCE_LANES void steady_varied(const RowArrays& row, const Passage& event, const Film& film,
                                       float limit) {
  steady<false>(row, event, film, limit);
}

CIRCUMFLUENCE_LANES void bare_uniform(const RowArrays& row, const Passage& event) {
  const float share = event.share[0], warmth = event.warmth[0], middle = event.centre[0];
  const float* const energy = event.energy;
  float* const fluence = row.fluence;
  float* const rise = row.rise;
  float* const centre = row.centre;
#pragma GCC ivdep
  for (int i = 0; i < row.n; ++i) {
    fluence[i] += energy[i] * share;
    rise[i] = most(rise[i], energy[i] * warmth);
    centre[i] = most(centre[i], energy[i] * middle);
  }
}

CIRCUMFLUENCE_LANES void bare_varied(const RowArrays& row, const Passage& event) {
  const float *energy = event.energy, *share = event.share, *warmth = event.warmth, *middle = event.centre;
  float* const fluence = row.fluence;
  float* const rise = row.rise;
  float* const centre = row.centre;
#pragma GCC ivdep
  for (int i = 0; i < row.n; ++i) {
    fluence[i] += energy[i] * share[i];
    rise[i] = most(rise[i], energy[i] * warmth[i]);
    centre[i] = most(centre[i], energy[i] * middle[i]);
  }
}

CIRCUMFLUENCE_LANES void warm_uniform(const RowArrays& row, const Passage& event, float limit) {
  const float warmth = event.warmth[0];
  const float *energy = event.energy, *left = row.left;
  float *const rise = row.rise, *const cost = row.over_cost, *const by = row.over_by;
#pragma GCC ivdep
  for (int i = 0; i < row.n; ++i) {
    const float heat = left[i] > 0.0f ? 0.0f : energy[i] * warmth;
    rise[i] = most(rise[i], heat);
    const bool sooner = limit * by[i] < cost[i] * heat;
    cost[i] = sooner ? limit : cost[i];
    by[i] = sooner ? heat : by[i];
  }
}

}  // namespace

void pass_steady(const RowArrays& row, const Passage& event, const Film& film, float rise_limit) {
  event.uniform ? steady_uniform(row, event, film, rise_limit) : steady_varied(row, event, film, rise_limit);
}

void pass_bare(const RowArrays& row, const Passage& event) {
  event.uniform ? bare_uniform(row, event) : bare_varied(row, event);
}

void pass_warm(const RowArrays& row, const Passage& event, float rise_limit) {
  warm_uniform(row, event, rise_limit);
}

void pass_blow_off(const RowArrays& row, const Passage& event, const Film& film, float rise_limit) {
  for (int i = 0; i < row.n; ++i) {
    const int at = event.uniform ? 0 : i;
    const float threshold = event.threshold[at], warmth = event.warmth[at], line = event.energy[i];
    const float f = line * event.share[at], a = film.absorptivity * f;
    row.fluence[i] += f;
    if (!(a > 0.0f)) continue;
    const float strength = std::log(a / threshold);
    const bool joins =
        row.spent[i] == 0.0f || (film.need / film.depth - row.absorbed[i]) + row.spent[i] * strength > 0.0f;
    const float whole = film.need / film.depth, count = row.spent[i] + 1;
    const bool restarts =
        row.spent[i] > 0.0f && (whole - strength) * count < whole - row.absorbed[i] - strength;
    row.absorbed[i] = (restarts ? 0.0f : row.absorbed[i]) + (joins ? strength : 0.0f);
    row.spent[i] = (restarts ? 0.0f : row.spent[i]) + (joins ? 1.0f : 0.0f);
    const float standing = row.left[i];
    const float through = standing > 0.0f ? threshold * std::exp(standing / film.depth) : 0.0f;
    if (standing > 0.0f && strength > 0.0f) row.left[i] = most(0.0f, standing - film.depth * strength);
    const float heat = line * warmth;
    row.rise[i] = most(row.rise[i], most(0.0f, a - through) / a * heat);
    const float price = through * heat + rise_limit * a, paid = a * heat;
    if (std::isfinite(price) && price * row.over_by[i] < row.over_cost[i] * paid) {
      row.over_cost[i] = price;
      row.over_by[i] = paid;
    }
  }
}

}  // namespace circumfluence::response
