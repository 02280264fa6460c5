// What a rectangle of a swatch amounts to.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "look/swatch.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using quantity::format;
using quantity::ValidityError;

struct Weights {
  int first = 0;
  std::vector<float> of;  // [1] share of each cell, from the first
};

// How much of each cell lies within [from, to], in cells.
Weights weights(double from, double to, int count) {
  from = std::clamp(from, 0.0, double(count));
  to = std::clamp(to, 0.0, double(count));
  Weights out{static_cast<int>(from), {}};
  for (int i = out.first; i < to; ++i)
    out.of.push_back(static_cast<float>(std::max(0.0, std::min(to, i + 1.0) - std::max(from, double(i)))));
  return out;
}

// add(outcome, changed, area in cells) over a pane; returns the area.
template <class Add>
double over_cells(const Swatch& s, const Pane& pane, const Add& add) {
  const Weights rows = weights((s.around + pane.around_from) / s.cell, (s.around + pane.around_to) / s.cell,
                               s.outcome.around());
  const Weights columns =
      weights((s.axial + pane.axial_from) / s.cell, (s.axial + pane.axial_to) / s.cell, s.outcome.axial());
  double area = 0;
  for (size_t r = 0; r < rows.of.size(); ++r) {
    const auto outcome = s.outcome.row(rows.first + int(r)).subspan(size_t(columns.first), columns.of.size());
    const auto changed = s.changed.row(rows.first + int(r)).subspan(size_t(columns.first), columns.of.size());
    for (size_t c = 0; c < columns.of.size(); ++c) {
      const double weight = double(rows.of[r]) * columns.of[c];
      add(outcome[c], changed[c], weight);
      area += weight;
    }
  }
  if (!(area > 0))
    throw ValidityError(fmt::format("pane of {} x {} (nothing of it lies on the swatch)",
                                    format(pane.axial_to - pane.axial_from, "mm"),
                                    format(pane.around_to - pane.around_from, "mm")));
  return area;
}

double share_from(response::Outcome least, const Swatch& swatch, const Pane& pane) {
  double reached = 0;
  const double area = over_cells(swatch, pane, [&](std::uint8_t outcome, float, double weight) {
    if (outcome >= std::uint8_t(least)) reached += weight;
  });
  return reached / area;
}

}  // namespace

Shade mean_shade(const Swatch& swatch, const Pane& pane, const Finish& finish) {
  std::array<double, Finish::kSteps + 1> areas{};
  const double area = over_cells(swatch, pane, [&](std::uint8_t outcome, float changed, double weight) {
    areas[size_t(finish.entry(outcome, changed))] += weight;
  });
  Shade mean{};
  double squares = 0;
  for (size_t i = 0; i < areas.size(); ++i) {
    if (areas[i] == 0) continue;
    const Shade& shade = finish.shades()[i];
    for (size_t k = 0; k < 3; ++k) {
      mean.diffuse[k] += areas[i] / area * shade.diffuse[k];
      mean.mirror[k] += areas[i] / area * shade.mirror[k];
    }
    squares += areas[i] / area * shade.slope * shade.slope;
  }
  mean.slope = std::sqrt(squares);
  return mean;
}

double marked_share(const Swatch& swatch, const Pane& pane) {
  return share_from(response::Outcome::marked, swatch, pane);
}
double over_share(const Swatch& swatch, const Pane& pane) {
  return share_from(response::Outcome::over_burned, swatch, pane);
}

}  // namespace circumfluence::look
