#include "workpiece/grid.h"

namespace circumfluence::workpiece {

const quantity::Fields<Grid>& grid_fields() {
  static const quantity::Fields<Grid> fields = {
      {"cell", &Grid::cell, "um", 1e-6, 5e-3, "edge of a square cell of the prediction"},
      {"margin", &Grid::margin, "mm", 0, 1, "bare surface kept around the art", false},
      {"axial_from", &Grid::axial_from, "mm", -10, 10, "limits that replace the art's own", false},
      {"axial_to", &Grid::axial_to, "mm", -10, 10, "", false},
      {"around_from", &Grid::around_from, "mm", -10, 10, "arc length at the driven diameter", false},
      {"around_to", &Grid::around_to, "mm", -10, 10, "", false},
  };
  return fields;
}

}  // namespace circumfluence::workpiece
