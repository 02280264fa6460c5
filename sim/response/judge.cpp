#include "response/judge.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "quantity/lanes.h"

namespace circumfluence::response {
namespace {

constexpr std::uint8_t kUntouched = 0, kUnder = 1, kMarked = 2, kOver = 3;

struct Kirchhoff {
  float start, bend;
};

CIRCUMFLUENCE_LANES void temperatures(const float* rise, const Kirchhoff& law, float* out, int n) {
  const float start = law.start, bend = law.bend;
  for (int i = 0; i < n; ++i) {
    const float inside = 1.0f + bend * rise[i];
    out[i] = start + 2.0f * rise[i] / (1.0f + std::sqrt(inside > 0.0f ? inside : 0.0f));
  }
}

CIRCUMFLUENCE_LANES void removed(const float* left, float thickness, float* out, int n) {
  for (int i = 0; i < n; ++i) out[i] = thickness - left[i];
}

struct CoatLimits {
  float thickness, tolerated, rise;
};

CIRCUMFLUENCE_LANES void judge_coated(const float* left, const float* rise, const CoatLimits& limits,
                                      std::uint8_t* out, int n) {
  const CoatLimits l = limits;
  for (int i = 0; i < n; ++i) {
    std::uint8_t state = left[i] > l.tolerated ? kUnder : kMarked;
    state = left[i] >= l.thickness ? kUntouched : state;
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

CIRCUMFLUENCE_LANES void judge_organic(const float* removed, float need, float through, std::uint8_t* out,
                                       int n) {
  for (int i = 0; i < n; ++i) {
    std::uint8_t state = removed[i] > 0.0f ? kUnder : kUntouched;
    state = removed[i] >= need ? kMarked : state;
    out[i] = removed[i] >= through ? kOver : state;
  }
}

}  // namespace

Judge::Judge(const Model& model, const Limits& limits)
    : body_(model.body),
      start_(static_cast<float>(model.start)),
      bend_(static_cast<float>(2 * model.conductivity.slope / model.conductivity.at_start)),
      onset_(static_cast<float>(model.onset_rise())),
      faint_(static_cast<float>(heat::linear_rise(model.conductivity, model.faint - model.start))),
      limit_(static_cast<float>(model.limit_rise())),
      thickness_(model.film ? model.film->thickness : 0.0f),
      tolerated_(static_cast<float>(limits.coat_left) * thickness_),
      need_(model.film ? model.film->need : 0.0f),
      removal_rise_(static_cast<float>(model.limit - model.start)) {}

void Judge::row(const Row& row, const Judged& out) const {
  const int n = row.columns();
  std::memcpy(out.fluence.data(), row.fluence().data(), sizeof(float) * n);
  removed(row.left().data(), thickness_, out.changed.data(), n);
  if (body_ == Body::bare) {
    for (int i = 0; i < n; ++i)
      out.margin[i] = row.centre()[i] > 0 ? onset_ / row.centre()[i] : std::numeric_limits<float>::infinity();
    temperatures(row.rise().data(), {start_, bend_}, out.peak_temperature.data(), n);
    judge_bare(row.centre().data(), row.rise().data(), {faint_, onset_, limit_}, out.outcome.data(), n);
    return;
  }
  row.mark_factor(out.margin);
  if (body_ == Body::coated) {
    temperatures(row.rise().data(), {start_, bend_}, out.peak_temperature.data(), n);
    judge_coated(row.left().data(), row.rise().data(), {thickness_, tolerated_, limit_}, out.outcome.data(),
                 n);
    return;
  }
  // The surface of an organic body stays at its removal temperature while it chars away; below the threshold
  // its rise is in proportion to the light (constant flux).
  judge_organic(out.changed.data(), need_, thickness_, out.outcome.data(), n);
  for (int i = 0; i < n; ++i)
    out.peak_temperature[i] =
        start_ + removal_rise_ * (out.changed[i] > 0 ? 1.0f : std::min(1.0f, row.strength(i)));
}

void Judge::over_factor(const Row& row, std::span<float> out) const {
  if (body_ == Body::organic)
    row.through_factor(out);
  else
    row.over_factor(out);
}

}  // namespace circumfluence::response
