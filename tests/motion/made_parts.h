// Parts of every shape, of a few numbers.
#pragma once

#include <utility>

#include "workpiece/part.h"

namespace circumfluence::motion {

inline workpiece::Part made(workpiece::Shape shape, double length, double diameter, double end, quantity::Pairs profile) {
  workpiece::Part part;
  part.shape = shape, part.length = length, part.diameter = diameter, part.end_diameter = end,
  part.wall = 1e-3;
  part.profile = std::move(profile);
  return part;
}
inline workpiece::Part taper(double diameter, double end) {
  return made(workpiece::Shape::tapered, 0.1, diameter, end, {});
}
inline workpiece::Part stepped(quantity::Pairs profile) {
  return made(workpiece::Shape::stepped, 0.18, quantity::kUnset, quantity::kUnset, std::move(profile));
}

}  // namespace circumfluence::motion
