// Parts for tests: the four shapes.
#pragma once

#include "workpiece/part.h"

namespace circumfluence::workpiece {

inline Part straight_part() {
  Part part;
  part.shape = Shape::straight;
  part.length = 0.1;
  part.diameter = 0.04;
  part.wall = 1e-3;
  part.base = "aisi_304";
  part.temperature = 293.15;
  return part;
}

inline Part tapered_part() {
  Part part = straight_part();
  part.shape = Shape::tapered;
  part.end_diameter = 0.03;
  return part;
}

inline Part stepped_part() {
  Part part = straight_part();
  part.shape = Shape::stepped;
  part.profile = {{0, 0.03}, {0.04, 0.04}};
  return part;
}

inline Part table_part() {
  Part part = straight_part();
  part.shape = Shape::table;
  part.profile = {{0, 0.03}, {0.04, 0.04}, {0.06, 0.04}, {0.12, 0.01}};
  return part;
}

}  // namespace circumfluence::workpiece
