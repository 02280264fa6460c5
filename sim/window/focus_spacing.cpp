// The widest line spacing at which a fill closes, at one height and at the best.
#include <algorithm>
#include <cmath>

#include "window/focus.h"

namespace circumfluence::window {
namespace {

constexpr double kFinest = 1.0 / 16;  // of the radius across the lines: finer spacings are not looked at
constexpr double kClose = 1e-4;       // of a spacing
constexpr double kSafeStep = 1.2, kSafeClose = 3e-3;  // likewise, where chances are drawn
constexpr int kMostSteps = 20;
constexpr double kAlike = 1 + 2 * kClose;  // spacings that are told apart
constexpr double kSameWaist = 1e-9;        // [m]

Place there(const mark::Scene& scene, double height, double spacing) {
  Place place = place_of(scene, fill_of(scene.job));
  place.stand.height = height;
  place.fill.spacing = spacing;
  return place;
}

double spacing_at(const mark::Scene& scene, double height) {
  const Place place = there(scene, height, scene.job.scan.spacing);
  const mark::Line line = mark::line_at(scene, place.stand);
  Look look(scene, place.fill, line);
  return coarsest_spacing(look, scene, line);
}

// [m] of both waists; NaN when they differ.
double one_waist(const mark::Scene& scene) {
  const beam::Caustic caustic = beam::caustic(scene.job.laser);
  return std::abs(caustic.axial.height - caustic.around.height) <= kSameWaist ? caustic.axial.height
                                                                              : quantity::kUnset;
}

// The row with the widest spacing; of alike ones the nearest to the job's own height, then the lowest: focus
// above.
size_t best_row(const std::vector<HeightRow>& rows, double own) {
  size_t best = 0;
  for (size_t i = 1; i < rows.size(); ++i) {
    const HeightRow &a = rows[i], &b = rows[best];
    const bool alike = a.spacing < kAlike * b.spacing && b.spacing < kAlike * a.spacing;
    const bool nearer = std::abs(a.height - own) < std::abs(b.height - own) - kSameWaist;
    if (alike ? nearer : a.spacing > b.spacing) best = i;
  }
  return best;
}

struct At {
  double height, spacing;
};

// Golden section, between neighbours of the best row.
At refined(const mark::Scene& scene, double low, double high, At best) {
  constexpr double kGolden = 0.6180339887498949;
  double a = high - kGolden * (high - low), b = low + kGolden * (high - low);
  double at_a = spacing_at(scene, a), at_b = spacing_at(scene, b);
  for (int round = 0; round < 12; ++round) {
    if (at_a >= at_b)
      high = b, b = a, at_b = at_a, a = high - kGolden * (high - low), at_a = spacing_at(scene, a);
    else
      low = a, a = b, at_a = at_b, b = low + kGolden * (high - low), at_b = spacing_at(scene, b);
  }
  for (const At& other : {At{a, at_a}, At{b, at_b}})
    if (other.spacing > best.spacing * (1 + kClose)) best = other;
  return best;
}

double duration_with(const mark::Scene& scene, double spacing) {
  const double speed = scene.job.scan.speed;
  Fill fill = fill_of(scene.job);
  fill.spacing = spacing;
  return durations(scene, fill, {&speed, 1}).front();
}

}  // namespace

double coarsest_spacing(Look& look, const mark::Scene& scene, const mark::Line& line) {
  mark::Period period{line.across, scene.job.scan.passes, 0, scene.job.scan.interleave};
  const auto marks = [&](double spacing) {
    period.spacing = spacing;
    return look.fill().required(period) <= 1;
  };
  double low = line.across, high = line.across;
  while (marks(high)) low = high, high *= 2;  // ends when no place between the lines is reached
  if (low == high)
    for (low /= 2; !marks(low); low /= 2)
      if ((high = low) < 2 * kFinest * line.across) return 0;
  while (high > (1 + kClose) * low) {
    const double middle = std::sqrt(low * high);
    (marks(middle) ? low : high) = middle;
  }
  period.spacing = low;
  return look.fill().burns(period) > 1 ? low : 0;
}

Coarsest coarsest(const mark::Scene& scene, const std::vector<HeightRow>& rows) {
  Coarsest out;
  if (rows.empty()) return out;
  const size_t i = best_row(rows, -scene.job.scan.focus_offset);
  At best{rows[i].height, rows[i].spacing};
  if (!(best.spacing > 0)) return out;
  out.at_the_end = rows.size() > 1 && (i == 0 || i + 1 == rows.size());
  if (i > 0 && i + 1 < rows.size()) best = refined(scene, rows[i - 1].height, rows[i + 1].height, best);
  out.focus_offset = 0 - best.height;  // no minus zero
  out.spacing = best.spacing;
  out.duration = duration_with(scene, best.spacing);
  const double waist = one_waist(scene), other = 2 * waist - best.height;
  if (std::abs(other - best.height) > 1e-6) out.other = -other;  // false for NaN
  return out;
}

void add_safe(Coarsest& coarsest, const Doubt& doubt, double chance, const quantity::Progress& progress) {
  if (!(coarsest.spacing > 0)) return;
  const mark::Scene& scene = doubt.scene();
  int done = 0;
  const auto chances = [&](double spacing) {
    const auto part = [&](double share) {
      return !progress || progress(std::min(1.0, (done + share) / kMostSteps));
    };
    const Place place = there(scene, -coarsest.focus_offset, spacing);
    const Outlook outlook = doubt.over(place, {&scene.job.scan.speed, 1}, {}, part).front();
    ++done;
    return outlook.at(scene.power());
  };
  double low = coarsest.spacing, high = low;
  Chances at = chances(low);
  if (at.good >= chance) {
    while (done < kMostSteps && chances(high = low * kSafeStep).good >= chance) low = high;
  } else {
    for (; at.good < chance; at = chances(low)) {
      if (at.spares < chance || done >= kMostSteps) return;  // finer ones over-burn sooner
      high = low, low /= kSafeStep;
    }
  }
  while (high > (1 + kSafeClose) * low) {
    const double middle = std::sqrt(low * high);
    (chances(middle).good >= chance ? low : high) = middle;
  }
  coarsest.safe_spacing = low;
  coarsest.safe_duration = duration_with(scene, low);
}

}  // namespace circumfluence::window
