// The smallest dots and gaps that come out.
#include <cmath>
#include <limits>

#include "look/tones.h"

namespace circumfluence::look {
namespace {

constexpr double kWidest = 16, kFinest = 1.0 / 16;  // [1] of the spot
constexpr int kSteps = 17;                          // a factor of the square root of 2 apart

// `full` [1]: what a full area has marked of its own.
struct Kind {
  bool gap;
  double full;
};

bool comes_out(const Swatches& swatches, double edge, const Kind& kind) {
  const double half = edge / 2;
  for (const bool between : {false, true}) {
    const Swatch swatch =
        burn(swatches, Figure{.axial = edge, .around = edge, .gap = kind.gap, .between = between});
    const double marked = marked_share(swatch, {-half, half, -half, half});
    if (kind.gap ? marked > 0.5 * kind.full : marked < 0.5 * kind.full) return false;
  }
  return true;
}

double smallest(const Swatches& swatches, const Kind& kind) {
  const double spot = swatches.spot();
  double too_small = 0, edge = kFinest * spot;
  for (int i = 0; i < kSteps && !comes_out(swatches, edge, kind); ++i) {
    too_small = edge;
    edge *= std::sqrt(2.0);
  }
  if (edge > kWidest * spot * 1.001) return std::numeric_limits<double>::infinity();
  while (edge - too_small > std::max(swatches.cell() / 2, 0.02 * edge)) {
    const double middle = (too_small + edge) / 2;
    (comes_out(swatches, middle, kind) ? edge : too_small) = middle;
  }
  return edge;
}

}  // namespace

Smallest smallest(const Swatches& swatches) {
  const double full = full_share(swatches);
  if (!(full > 0)) return {std::numeric_limits<double>::infinity(), 0};
  return {smallest(swatches, Kind{false, full}), smallest(swatches, Kind{true, full})};
}

}  // namespace circumfluence::look
