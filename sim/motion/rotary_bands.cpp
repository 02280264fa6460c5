#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "motion/rotary.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

using quantity::format;

constexpr double kBend = 5e-3;  // [1] of scale_axial and of the radius, that one band may be wrong by

struct Piece {
  double from, to, radius, end_radius;

  double slope() const { return (end_radius - radius) / (to - from); }
  double scale() const { return 1 / std::hypot(1.0, slope()); }
  double radius_at(double axial) const { return radius + slope() * (axial - from); }
};
using Pieces = std::vector<Piece>;

Pieces pieces(const workpiece::Part& part) {
  const auto& rows = part.profile;
  Pieces out;
  switch (part.shape) {
    case workpiece::Shape::straight:
      return {{0, part.length, part.diameter / 2, part.diameter / 2}};
    case workpiece::Shape::tapered:
      return {{0, part.length, part.diameter / 2, part.end_diameter / 2}};
    case workpiece::Shape::stepped:
      for (size_t i = 0; i < rows.size(); ++i) {
        const double to = i + 1 < rows.size() ? rows[i + 1].first : part.length;
        out.push_back({rows[i].first, to, rows[i].second / 2, rows[i].second / 2});
      }
      return out;
    case workpiece::Shape::table:
      for (size_t i = 0; i + 1 < rows.size(); ++i)
        out.push_back({rows[i].first, rows[i + 1].first, rows[i].second / 2, rows[i + 1].second / 2});
  }
  return out;
}

// What of them lies in [from, to].
Pieces clipped(const Pieces& all, double from, double to) {
  Pieces out;
  for (const Piece& piece : all) {
    const double low = std::max(from, piece.from), high = std::min(to, piece.to);
    if (low < high) out.push_back({low, high, piece.radius_at(low), piece.radius_at(high)});
  }
  return out;
}

// Whether a straight surface from the start of the first to the end of the last stands for all of them.
bool one_band(std::span<const Piece> some) {
  const Piece chord{some.front().from, some.back().to, some.front().radius, some.back().end_radius};
  return std::ranges::all_of(some, [&](const Piece& piece) {
    const auto near = [&](double axial, double radius) {
      return std::abs(chord.radius_at(axial) / radius - 1) <= kBend;
    };
    return std::abs(piece.scale() / chord.scale() - 1) <= kBend && near(piece.from, piece.radius) &&
           near(piece.to, piece.end_radius);
  });
}

bool jumps(const Piece& left, const Piece& right) {
  return std::abs(right.radius - left.end_radius) > 1e-9;
}

Band band(std::span<const Piece> some, double driven) {
  const Piece chord{some.front().from, some.back().to, some.front().radius, some.back().end_radius};
  double surface = 0;
  for (const Piece& piece : some) surface += (piece.to - piece.from) / piece.scale();
  const double middle = chord.radius_at((chord.from + chord.to) / 2);
  return {.from = chord.from,
          .to = chord.to,
          .radius = middle,
          .scale_around = driven / middle,
          .around_from = driven / chord.radius,
          .around_to = driven / chord.end_radius,
          .scale_axial = (chord.to - chord.from) / surface,
          .level = -std::atan(chord.slope())};
}

}  // namespace

std::vector<Band> bands(const workpiece::Part& part, double from, double to, double driven_radius) {
  workpiece::check(part);
  if (!(from >= 0 && from < to && to <= part.length))
    throw quantity::ValidityError(
        fmt::format("rotary: bands from {} to {} (expected rising, from 0 mm to {})", format(from, "mm"),
                    format(to, "mm"), format(part.length, "mm")));
  if (!(driven_radius > 0) || !std::isfinite(driven_radius))
    throw quantity::ValidityError(
        fmt::format("rotary: a driven radius of {} (expected one above 0 mm)", format(driven_radius, "mm")));
  const Pieces all = clipped(pieces(part), from, to);
  std::vector<Band> out;
  for (size_t first = 0; first < all.size();) {
    size_t last = first + 1;
    while (last < all.size() && !jumps(all[last - 1], all[last]) &&
           one_band(std::span(all).subspan(first, last + 1 - first)))
      ++last;
    out.push_back(band(std::span(all).subspan(first, last - first), driven_radius));
    first = last;
  }
  return out;
}

}  // namespace circumfluence::motion
