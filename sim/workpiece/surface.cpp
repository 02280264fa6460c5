#include "workpiece/surface.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::workpiece {
namespace {

using quantity::format;
using quantity::JobError;

double or_else(double given, double otherwise) {
  return std::isnan(given) ? otherwise : given;
}

void require_span(double from, double to, const char* which) {
  if (!(from < to))
    throw JobError(fmt::format("grid.{0}_from = {1}, grid.{0}_to = {2} (nothing of that lies on the part)",
                               which, format(from, "mm"), format(to, "mm")));
}

// Whole cells that cover a span; a remainder below a millionth of a cell is rounding.
int cells(double span, double cell) {
  return std::max(1, static_cast<int>(std::ceil(span / cell - 1e-6)));
}

std::vector<double> edges(double from, double cell, int count) {
  std::vector<double> out(count + 1);
  for (int i = 0; i <= count; ++i) out[i] = from + i * cell;
  return out;
}

}  // namespace

double Surface::cell_area(int column) const {
  const double arc = cell_around * radius[column] / reference_radius;
  return arc * cell_axial * std::sqrt(1 + slope[column] * slope[column]);
}

std::vector<double> Surface::axial_edges() const {
  return edges(axial_from, cell_axial, axial);
}
std::vector<double> Surface::around_edges() const {
  return edges(around_from, cell_around, around);
}

Surface develop(const Profile& profile, const Grid& grid, const Region& art, double reference_radius) {
  const double from = std::max(0.0, or_else(grid.axial_from, art.axial_from - grid.margin));
  const double to = std::min(profile.length(), or_else(grid.axial_to, art.axial_to + grid.margin));
  require_span(from, to, "axial");
  const double start = or_else(grid.around_from, art.around_from - grid.margin);
  const double end = or_else(grid.around_to, art.around_to + grid.margin);
  require_span(start, end, "around");

  const double turn = 2 * quantity::kPi * reference_radius;
  const bool closed = end - start >= turn - grid.cell / 2;
  const double rows = (closed ? turn : end - start) / grid.cell, columns = (to - from) / grid.cell;
  if (!(rows * columns <= double(kMostCells)))
    throw JobError(fmt::format(
        "grid.cell = {} (makes {:.3g} cells; expected at most {:.3g}). Use a larger cell or a smaller region",
        format(grid.cell, "um"), rows * columns, double(kMostCells)));
  Surface surface;
  surface.closed = closed;
  surface.around = closed ? std::max(1, static_cast<int>(std::lround(rows))) : cells(end - start, grid.cell);
  surface.axial = cells(to - from, grid.cell);
  surface.cell_around = closed ? turn / surface.around : grid.cell;
  surface.cell_axial = grid.cell;
  // A whole turn is cut opposite the middle of the art, unless the job says where.
  const bool cut_given = !std::isnan(grid.around_from);
  surface.around_from = closed && !cut_given ? (art.around_from + art.around_to - turn) / 2 : start;
  surface.axial_from = from;
  surface.reference_radius = reference_radius;
  surface.straight = profile.constant(from, to);
  for (int i = 0; i < surface.axial; ++i) {
    surface.radius.push_back(profile.radius(surface.position(i)));
    surface.slope.push_back(profile.slope(surface.position(i)));
  }
  return surface;
}

}  // namespace circumfluence::workpiece
