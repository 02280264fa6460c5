// Which cells a path wants marked: those within half a width of where its beam is on.
#include <algorithm>
#include <cmath>

#include "exposure/path_cursor.h"

namespace circumfluence::exposure {
namespace {

constexpr double kStray = 0.02;  // [1] of that half width, by which chords of a bend may differ from it

struct Point {
  double x, y;  // [m] along the axis and around, the row at y = 0
};

// The part of the row that is within `reach` of a straight way; from > to: none.
struct Covered {
  double from = 1e9, to = -1e9;
  void add(double one, double other) {
    from = std::min({from, one, other});
    to = std::max({to, one, other});
  }
};

Covered covered(const Point& a, const Point& b, double reach) {
  Covered out;
  for (const Point& end : {a, b})
    if (const double room = reach * reach - end.y * end.y; room >= 0)
      out.add(end.x - std::sqrt(room), end.x + std::sqrt(room));
  const double length = std::hypot(b.x - a.x, b.y - a.y);
  if (length == 0) return out;
  const double dx = (b.x - a.x) / length, dy = (b.y - a.y) / length;
  // Both sides of the way, and its two ends, cross the row.
  for (const double side : {-reach, reach}) {
    const double share = std::abs(dy) < 1e-12 ? -1 : -(a.y + side * dx) / dy;
    if (share >= 0 && share <= length) out.add(a.x + share * dx - side * dy, a.x + share * dx - side * dy);
  }
  return out;
}

}  // namespace

void PathCursor::want(const Piece& piece, std::span<std::uint8_t> out) {
  const workpiece::Surface& s = all_.ground_.surface;
  const double by = piece.axial_by, around_by = piece.around_by, length = std::hypot(by, around_by);
  const int under =
      std::clamp(static_cast<int>((piece.axial + by / 2 - s.axial_from) / s.cell_axial), 0, s.axial - 1);
  const double here = fed(s.radius[under], piece);
  if (std::isnan(here)) return;
  const Sight seen = sight(under, here, piece);
  if (!seen.lit) return;
  const double reach = all_.ground_.width / 2;
  const double around = all_.ground_.mount.hold == motion::Hold::turning ? seen.turned : 1 / seen.incidence;
  const int parts =
      std::max(1, static_cast<int>(std::ceil(std::sqrt(std::abs(piece.bend) / (kStray * reach)))));
  const auto point = [&](int i) {
    const double t = double(i) / parts, bow = length > 0 ? 4 * piece.bend / length * t * (1 - t) : 0;
    return Point{piece.axial + t * by - bow * around_by,
                 (piece.around + t * around_by + bow * by - here) * around};
  };
  for (int i = 0; i < parts; ++i) {
    const Covered way = covered(point(i), point(i + 1), reach);
    if (way.from > way.to) continue;
    // Cells whose middle is covered.
    const double first = std::ceil((way.from - s.axial_from) / s.cell_axial - 0.5);
    const double last = std::floor((way.to - s.axial_from) / s.cell_axial - 0.5);
    for (int k = static_cast<int>(std::max(first, 0.0)); k <= std::min(last, s.axial - 1.0); ++k)
      out[size_t(k)] = 1;
  }
}

void PathCursor::wanted(int row, std::span<std::uint8_t> out) {
  row_ = row;
  std::fill(out.begin(), out.end(), std::uint8_t{0});
  if (!(all_.ground_.width > 0)) return;
  const std::vector<Piece>& pieces = all_.path_.pieces();
  for (const std::uint32_t index : all_.row(row)) {
    want(pieces[index], out);
    for (std::uint32_t i = index + 1; i < pieces.size() && pieces[i].follows; ++i) want(pieces[i], out);
  }
}

}  // namespace circumfluence::exposure
