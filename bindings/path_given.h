// A tool path's file and how to read it, with the driven diameter.
#pragma once

#include <optional>

#include "motion/tool_path.h"
#include "window_axes.h"
#include "workpiece/profile.h"

namespace circumfluence::bindings {

struct PathGiven {
  std::string file;
  motion::PathFile how;
  motion::Machine machine;
  double turn = quantity::kUnset;    // [m] arc of a full turn; NaN: the part stands
  double length = quantity::kUnset;  // [m] of the part
  std::optional<workpiece::Profile> standing = {};  // of one that stands
  double beam_offset = 0;                           // [m] of its mount
};

// Of a Job or a prepared Scene. A job is not prepared, which would read its path twice, where that can be
// done without. Throws JobError where it burns no path.
PathGiven path_of(const py::object& job);

}  // namespace circumfluence::bindings
