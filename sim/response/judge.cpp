#include "response/judge.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include "quantity/lanes.h"

namespace circumfluence::response {
namespace {

constexpr std::uint8_t kUntouched = 0, kUnder = 1, kMarked = 2, kOver = 3;

struct Kirchhoff {
  float start, bend, ceiling;  // [K], [1/K], [K] linear
};

CIRCUMFLUENCE_LANES void temperatures(const float* rise, const Kirchhoff& law, float* out, int n) {
  const float start = law.start, bend = law.bend, ceiling = law.ceiling;
  for (int i = 0; i < n; ++i) {
    const float up = rise[i] < ceiling ? rise[i] : ceiling, inside = 1.0f + bend * up;
    out[i] = start + 2.0f * up / (1.0f + std::sqrt(inside > 0.0f ? inside : 0.0f));
  }
}

CIRCUMFLUENCE_LANES void removed(const float* left, float thickness, float* out, int n) {
  for (int i = 0; i < n; ++i) out[i] = thickness - left[i];
}

struct Coat {
  const float *left, *rise, *strongest;
};
struct CoatLimits {
  float thickness, tolerated, rise, discolours;
};

CIRCUMFLUENCE_LANES void judge_coated(const Coat& coat, const CoatLimits& limits, std::uint8_t* out, int n) {
  const CoatLimits l = limits;
  const float *const left = coat.left, *const rise = coat.rise, *const strongest = coat.strongest;
  for (int i = 0; i < n; ++i) {
    std::uint8_t state = left[i] > l.tolerated ? kUnder : kMarked;
    state = left[i] >= l.thickness && strongest[i] < l.discolours ? kUntouched : state;
    out[i] = rise[i] >= l.rise ? kOver : state;
  }
}

struct BareLimits {
  float faint, onset, rise;
};

CIRCUMFLUENCE_LANES void judge_bare(const float* centre, const float* rise, const BareLimits& limits,
                                    std::uint8_t* out, int n) {
  const BareLimits l = limits;
  for (int i = 0; i < n; ++i) {
    std::uint8_t state = centre[i] >= l.faint ? kUnder : kUntouched;
    state = centre[i] >= l.onset ? kMarked : state;
    out[i] = rise[i] >= l.rise ? kOver : state;
  }
}

struct DoseLimits {
  float faint, need, melt, rise;
};

CIRCUMFLUENCE_LANES void judge_doses(const float* dose, const float* centre, const float* rise, std::uint8_t* out,
                                     const DoseLimits& limits, int n) {
  const DoseLimits l = limits;
  for (int i = 0; i < n; ++i) {
    std::uint8_t state = dose[i] >= l.faint ? kUnder : kUntouched;
    state = dose[i] >= l.need || centre[i] >= l.melt ? kMarked : state;
    out[i] = rise[i] >= l.rise ? kOver : state;
  }
}

// log2 by a table over the mantissa's first six bits, straight between: within 5e-5.
struct Octaves {
  float table[65];
  Octaves() {
    for (int i = 0; i <= 64; ++i) table[i] = static_cast<float>(std::log2(1.0 + i / 64.0));
  }
};
inline float octaves(const float* table, float value) {
  const std::int32_t bits = std::bit_cast<std::int32_t>(value);
  const std::int32_t at = (bits >> 17) & 63;
  const float share = static_cast<float>(bits & 0x1ffff) * (1.0f / 0x20000);
  return static_cast<float>((bits >> 23) - 127) + table[at] + share * (table[at + 1] - table[at]);
}

struct Needs {
  const float* rises;  // of Reacting
  float melt;          // [K] linear
};

// All passages grow alike with power: the hottest would have to do a share single/dose of what is needed.
CIRCUMFLUENCE_LANES void factors_of_doses(const float* dose, const float* single, const float* centre, float* out,
                                          const Needs& needs, int n) {
  static const Octaves known;
  constexpr float kStep = float(Reacting::kSteps / Reacting::kOctaves), kLowest = float(Reacting::kLowest);
  for (int i = 0; i < n; ++i) {
    const bool told = dose[i] > 1e-37f && single[i] > 1e-37f;
    const float deep = told ? octaves(known.table, single[i] / dose[i]) : 0.0f;
    float at = (deep - kLowest) * kStep;
    at = at < 0.0f ? 0.0f : at > float(Reacting::kSteps - 1) ? float(Reacting::kSteps - 1) : at;
    const int k = static_cast<int>(at);
    const float needed = needs.rises[k] + (at - float(k)) * (needs.rises[k + 1] - needs.rises[k]);
    const float least = std::min(needs.melt, needed);
    out[i] = centre[i] > 0.0f ? least / centre[i] : std::numeric_limits<float>::infinity();
  }
}

CIRCUMFLUENCE_LANES void judge_organic_cells(const float* removed, float need, float through, std::uint8_t* out,
                                       int n) {
  for (int i = 0; i < n; ++i) {
    std::uint8_t state = removed[i] > 0.0f ? kUnder : kUntouched;
    state = removed[i] >= need ? kMarked : state;
    out[i] = removed[i] >= through ? kOver : state;
  }
}

// [1] the least strength of one event that chars the body as deep as a mark needs.
float strength_for(const Model& model, double need) {
  if (model.char_depth)
    for (double s = 0.05; s < 8; s *= 1.01)
      if (model.char_depth->of(s) >= need) return static_cast<float>(s);
  return std::numeric_limits<float>::infinity();
}

}  // namespace

Judge::Judge(const Model& model, const Limits& limits)
    : model_(model),
      body_(model.body),
      start_(static_cast<float>(model.start)),
      bend_(static_cast<float>(2 * model.conductivity.slope / model.conductivity.at_start)),
      onset_(static_cast<float>(model.onset_rise())),
      faint_(static_cast<float>(heat::linear_rise(model.conductivity, model.faint - model.start))),
      limit_(static_cast<float>(model.limit_rise())),
      thickness_(model.film ? model.film->thickness : 0.0f),
      tolerated_(static_cast<float>(limits.coat_left) * thickness_),
      need_(model.film ? model.film->need : 0.0f),
      removal_rise_(static_cast<float>(model.limit - model.start)),
      ceiling_(static_cast<float>(model.ceiling_rise)),
      melt_(static_cast<float>(model.melt_rise)),
      char_strength_(strength_for(model, limits.char_depth)) {}

void Judge::judge_reacted(const Row& row, const Judged& out) {
  const int n = row.columns();
  const Reacting& reacting = *model_.reacting;
  const float* const dose = row.dose().data();
  scratch_.assign(size_t(n), 0.0f);
  reacting.dose.add({row.centre().data(), size_t(n)}, {scratch_.data(), size_t(n)});
  factors_of_doses(dose, scratch_.data(), row.centre().data(), out.margin.data(),
                   {reacting.rises.data(), melt_}, n);
  judge_doses(dose, row.centre().data(), row.rise().data(), out.outcome.data(),
              {static_cast<float>(reacting.faint), static_cast<float>(reacting.need), melt_, limit_}, n);
  const float native = static_cast<float>(reacting.native), layer = static_cast<float>(model_.layer);
  if (body_ == Body::dyed)
    for (int i = 0; i < n; ++i) out.changed[size_t(i)] = dose[i] > 0 ? -std::expm1(-dose[i]) * layer : 0.0f;
  else
    for (int i = 0; i < n; ++i) out.changed[size_t(i)] = std::sqrt(native * native + dose[i]) - native;
}

// The surface of an organic body stays at its removal temperature while it chars away; below the threshold its rise is
// in proportion to the light (constant flux). What is left is charred some way down.
void Judge::judge_organic(const Row& row, const Judged& out) {
  const int n = row.columns();
  if (model_.char_depth) {
    scratch_.assign(size_t(n), 0.0f);
    model_.char_depth->raise(row.strongest().subspan(0, size_t(n)), scratch_);
    for (int i = 0; i < n; ++i) out.changed[size_t(i)] = std::min(out.changed[size_t(i)] + scratch_[size_t(i)], thickness_);
    for (int i = 0; i < n; ++i)
      out.margin[size_t(i)] = std::min(out.margin[size_t(i)], char_strength_ / row.strongest()[size_t(i)]);
  }
  judge_organic_cells(out.changed.data(), need_, thickness_, out.outcome.data(), n);
  for (int i = 0; i < n; ++i)
    out.peak_temperature[size_t(i)] =
        start_ + removal_rise_ * (row.left()[size_t(i)] < thickness_ ? 1.0f : std::min(1.0f, row.strongest()[size_t(i)]));
}

void Judge::row(const Row& row, const Judged& out) {
  const int n = row.columns();
  std::memcpy(out.fluence.data(), row.fluence().data(), sizeof(float) * n);
  removed(row.left().data(), thickness_, out.changed.data(), n);
  if (body_ == Body::bare || body_ == Body::dyed) {
    temperatures(row.rise().data(), {start_, bend_, ceiling_}, out.peak_temperature.data(), n);
    if (model_.reacting) return judge_reacted(row, out);
    for (int i = 0; i < n; ++i)
      out.margin[i] = row.centre()[i] > 0 ? onset_ / row.centre()[i] : std::numeric_limits<float>::infinity();
    judge_bare(row.centre().data(), row.rise().data(), {faint_, onset_, limit_}, out.outcome.data(), n);
    return;
  }
  row.mark_factor(out.margin);
  if (body_ == Body::organic) return judge_organic(row, out);
  temperatures(row.rise().data(), {start_, bend_, ceiling_}, out.peak_temperature.data(), n);
  judge_coated({row.left().data(), row.rise().data(), row.strongest().data()},
               {thickness_, tolerated_, limit_, static_cast<float>(model_.discolours)}, out.outcome.data(), n);
}

void Judge::over_factor(const Row& row, std::span<float> out) const {
  if (body_ == Body::organic)
    row.through_factor(out);
  else
    row.over_factor(out);
}

}  // namespace circumfluence::response
