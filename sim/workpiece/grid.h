// The cells a prediction is made on: section [grid].
#pragma once

#include "quantity/field.h"

namespace circumfluence::workpiece {

// Without limits the grid covers the art and `margin` around it; `around` is arc length at the driven
// diameter.
struct Grid {
  double cell = quantity::kUnset;        // [m] edge of a square cell
  double margin = 1e-3;                  // [m] bare surface kept around the art
  double axial_from = quantity::kUnset;  // [m] limits that replace the art's own; NaN: not given
  double axial_to = quantity::kUnset;
  double around_from = quantity::kUnset;
  double around_to = quantity::kUnset;
};

const quantity::Fields<Grid>& grid_fields();

}  // namespace circumfluence::workpiece
