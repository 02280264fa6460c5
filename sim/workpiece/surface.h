// The surface of the part unrolled into a grid of cells: rows run along the axis, columns around.
//
// A row has one azimuth; its arc position is azimuth times the reference radius (that of the driven
// diameter). On a taper a cell is narrower where the part is: its true edge around is cell_around * radius /
// reference.
#pragma once

#include <vector>

#include "workpiece/grid.h"
#include "workpiece/profile.h"

namespace circumfluence::workpiece {

struct Region {
  double axial_from, axial_to, around_from, around_to;  // [m]
};

struct Surface {
  int around = 0;               // rows
  int axial = 0;                // columns
  double cell_around = 0;       // [m] arc at the reference radius
  double cell_axial = 0;        // [m]
  double around_from = 0;       // [m] edge of row 0
  double axial_from = 0;        // [m] edge of column 0
  double reference_radius = 0;  // [m]
  bool closed = false;          // the last row meets the first
  bool straight = false;        // one radius throughout
  std::vector<double> radius;   // [m] of each column, at its centre
  std::vector<double> slope;    // [1] of each column

  double arc(int row) const { return around_from + (row + 0.5) * cell_around; }           // [m] centre
  double azimuth(int row) const { return arc(row) / reference_radius; }                   // [rad] centre
  double position(int column) const { return axial_from + (column + 0.5) * cell_axial; }  // [m] centre
  double cell_area(int column) const;        // [m^2] on the true surface
  std::vector<double> axial_edges() const;   // columns + 1
  std::vector<double> around_edges() const;  // rows + 1
};

inline constexpr long kMostCells = 2'000'000'000;

// The grid over `art` with its margin, or the grid's own limits, clipped to the part: along the axis to its
// length, around to one turn. Throws JobError: nothing of it lies on the part, or more than kMostCells.
Surface develop(const Profile& profile, const Grid& grid, const Region& art, double reference_radius);

}  // namespace circumfluence::workpiece
