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
// kWarm: the wall has a rise of its own.
template <bool kUniform, bool kWarm>
__attribute__((always_inline)) inline void steady(const RowArrays& row, const Passage& event,
                                                  const Film& film, float limit) {
  const int n = row.n;
  const float *const energy = event.energy, *const heating = event.heating;
  const float* const background = event.background;
  float* const fluence = row.fluence;
  float* const left = row.left;
  float* const rise = row.rise;
  float* const absorbed = row.absorbed;
  float* const spent = row.spent;
  float* const cost = row.over_cost;
  float* const by = row.over_by;
  float* const strongest = row.strongest;
  const float need = film.need * film.energy, per_energy = 1 / film.energy;
#pragma GCC ivdep
  for (int i = 0; i < n; ++i) {
    const float share = kUniform ? event.share[0] : event.share[i];
    const float warmth = kUniform ? event.warmth[0] : event.warmth[i];
    const float cold = kUniform ? event.threshold[0] : event.threshold[i];
    const float warm = kWarm ? background[i] : 0.0f;
    const float threshold = kWarm ? cold * most(1.0f - warm * film.per_kelvin, 0.01f) : cold;
    const float line = energy[i], f = line * share, a = film.absorptivity * f;
    fluence[i] += f;
    const bool joins = (need + spent[i]) * a > threshold * absorbed[i];
    // Where this event alone does it with less power than together with all before, the sum starts again
    // here.
    const bool restarts = (need + threshold) * absorbed[i] < spent[i] * a;
    absorbed[i] = (restarts ? 0.0f : absorbed[i]) + (joins ? a : 0.0f);
    spent[i] = (restarts ? 0.0f : spent[i]) + (joins ? threshold : 0.0f);

    const float standing = left[i] * film.energy;
    const float strength = standing > 0.0f ? a / cold : 0.0f;
    strongest[i] = most(strongest[i], strength);
    const float start = standing > 0.0f ? threshold : 0.0f;
    const float excess = most(a - start, 0.0f);
    const float taken = least(standing, excess);
    // What is not touched stays as it is to the last bit.
    const float stays = standing - taken > 1e-6f * need ? (standing - taken) * per_energy : 0.0f;
    left[i] = taken > 0.0f ? stays : left[i];
    // The share (excess - taken) / a of this event's light falls on the base.
    const float surplus = excess - taken, heat = heating[i] * warmth;
    const float part = standing > 0.0f ? (a > 0.0f ? surplus / a : 0.0f) : 1.0f;
    rise[i] = most(rise[i], part * heat + warm);
    // Over-burn needs start + standing, then limit / heat of the event: (start + standing + limit a / heat) /
    // a.
    const float price = standing > 0.0f ? (start + standing) * heat + limit * a : limit;
    const float paid = standing > 0.0f ? a * (heat + warm) : heat + warm;
    const bool sooner = price * by[i] < cost[i] * paid;
    cost[i] = sooner ? price : cost[i];
    by[i] = sooner ? paid : by[i];
  }
}

CIRCUMFLUENCE_LANES void steady_uniform(const RowArrays& row, const Passage& event, const Film& film,
                                        float limit) {
  steady<true, false>(row, event, film, limit);
}

CIRCUMFLUENCE_LANES void steady_uniform_warm(const RowArrays& row, const Passage& event, const Film& film,
                                             float limit) {
  steady<true, true>(row, event, film, limit);
}

CIRCUMFLUENCE_LANES void steady_varied(const RowArrays& row, const Passage& event, const Film& film,
                                       float limit) {
  steady<false, false>(row, event, film, limit);
}

CIRCUMFLUENCE_LANES void steady_varied_warm(const RowArrays& row, const Passage& event, const Film& film,
                                            float limit) {
  steady<false, true>(row, event, film, limit);
}

template <bool kUniform, bool kWarm>
__attribute__((always_inline)) inline void bare(const RowArrays& row, const Passage& event) {
  const float *const energy = event.energy, *const heating = event.heating, *const background = event.background;
  float* const fluence = row.fluence;
  float* const rise = row.rise;
  float* const centre = row.centre;
#pragma GCC ivdep
  for (int i = 0; i < row.n; ++i) {
    const int at = kUniform ? 0 : i;
    const float warm = kWarm ? background[i] : 0.0f;
    fluence[i] += energy[i] * event.share[at];
    rise[i] = most(rise[i], heating[i] * event.warmth[at] + warm);
    centre[i] = most(centre[i], heating[i] * event.centre[at] + warm);
  }
}

CIRCUMFLUENCE_LANES void bare_cold(const RowArrays& row, const Passage& event) {
  event.uniform ? bare<true, false>(row, event) : bare<false, false>(row, event);
}

CIRCUMFLUENCE_LANES void bare_warm(const RowArrays& row, const Passage& event) {
  event.uniform ? bare<true, true>(row, event) : bare<false, true>(row, event);
}

template <bool kWarm>
__attribute__((always_inline)) inline void rises(const Columns& columns, const Passage& event, float* out) {
  for (int i = 0; i < columns.n; ++i)
    out[i] = event.heating[i] * event.centre[columns.uniform ? 0 : i] + (kWarm ? event.background[i] : 0.0f);
}

CIRCUMFLUENCE_LANES void rises_cold(const Columns& columns, const Passage& event, float* out) {
  rises<false>(columns, event, out);
}

CIRCUMFLUENCE_LANES void rises_warm(const Columns& columns, const Passage& event, float* out) {
  rises<true>(columns, event, out);
}

// An event that brings no light: it warms the base where that lies bare.
template <bool kWarm>
__attribute__((always_inline)) inline void unlit(const RowArrays& row, const Passage& event, float limit) {
  const float warmth = event.warmth[0];
  const float *const heating = event.heating, *const left = row.left, *const background = event.background;
  float *const rise = row.rise, *const cost = row.over_cost, *const by = row.over_by;
#pragma GCC ivdep
  for (int i = 0; i < row.n; ++i) {
    const float warm = kWarm ? background[i] : 0.0f;
    const float heat = (left[i] > 0.0f ? 0.0f : heating[i] * warmth) + warm;
    rise[i] = most(rise[i], heat);
    const bool sooner = limit * by[i] < cost[i] * heat;
    cost[i] = sooner ? limit : cost[i];
    by[i] = sooner ? heat : by[i];
  }
}

CIRCUMFLUENCE_LANES void unlit_cold(const RowArrays& row, const Passage& event, float limit) {
  unlit<false>(row, event, limit);
}

CIRCUMFLUENCE_LANES void unlit_warm(const RowArrays& row, const Passage& event, float limit) {
  unlit<true>(row, event, limit);
}

}  // namespace

void pass_steady(const RowArrays& row, const Passage& event, const Film& film, float rise_limit) {
  if (event.background == nullptr)
    event.uniform ? steady_uniform(row, event, film, rise_limit) : steady_varied(row, event, film, rise_limit);
  else
    event.uniform ? steady_uniform_warm(row, event, film, rise_limit)
                  : steady_varied_warm(row, event, film, rise_limit);
}

void pass_bare(const RowArrays& row, const Passage& event) {
  event.background == nullptr ? bare_cold(row, event) : bare_warm(row, event);
}

void centre_rises(const Columns& columns, const Passage& event, float* out) {
  event.background == nullptr ? rises_cold(columns, event, out) : rises_warm(columns, event, out);
}

void pass_warm(const RowArrays& row, const Passage& event, float rise_limit) {
  event.background == nullptr ? unlit_cold(row, event, rise_limit) : unlit_warm(row, event, rise_limit);
}

void pass_blow_off(const RowArrays& row, const Passage& event, const Film& film, float rise_limit) {
  for (int i = 0; i < row.n; ++i) {
    const int at = event.uniform ? 0 : i;
    const float warmth = event.warmth[at], warm = event.background ? event.background[i] : 0.0f;
    const float threshold = event.threshold[at] * most(1.0f - warm * film.per_kelvin, 0.01f);
    const float f = event.energy[i] * event.share[at], a = film.absorptivity * f;
    row.fluence[i] += f;
    if (!(a > 0.0f)) continue;
    const float strength = std::log(a / threshold);
    if (row.left[i] > 0.0f) row.strongest[i] = most(row.strongest[i], a / event.threshold[at]);
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
    const float heat = event.heating[i] * warmth;
    row.rise[i] = most(row.rise[i], most(0.0f, a - through) / a * heat + warm);
    const float price = through * heat + rise_limit * a, paid = a * (heat + warm);
    if (std::isfinite(price) && price * row.over_by[i] < row.over_cost[i] * paid) {
      row.over_cost[i] = price;
      row.over_by[i] = paid;
    }
  }
}

}  // namespace circumfluence::response
