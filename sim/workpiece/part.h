// The part as a job names it: section [workpiece]. A surface of revolution with a wall, a base and a coat.
#pragma once

#include <string>

#include "quantity/field.h"

namespace circumfluence::workpiece {

// tapered: diameter to end_diameter over the length; stepped: each row of `profile` holds until the next;
// table: straight pieces between the rows of `profile`.
enum class Shape { straight, tapered, stepped, table };

// What is behind the wall: nothing that takes heat, still air at the part's temperature, or water that fills it.
enum class Behind { insulated, air, water };

struct Part {
  Shape shape = Shape::straight;
  double length = quantity::kUnset;          // [m] along the axis, from axial position 0
  double diameter = quantity::kUnset;        // [m] straight, or at axial position 0 of a taper
  double end_diameter = quantity::kUnset;    // [m] of a taper, at `length`
  quantity::Pairs profile;                   // [m], [m]: axial position, diameter
  double wall = quantity::kUnset;            // [m] thickness of the base
  Behind behind = Behind::insulated;
  std::string base;                          // name of a material record
  std::string coat;                          // name of a material record, empty for a bare part
  double coat_thickness = quantity::kUnset;  // [m]
  double coat_spread = quantity::kUnset;     // [1] lognormal, of that thickness
  double temperature = quantity::kUnset;     // [K] before the job
};

const quantity::Fields<Part>& part_fields();

// Throws JobError when the members do not fit together or describe a part that cannot be.
void check(const Part& part);

}  // namespace circumfluence::workpiece
