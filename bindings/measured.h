// Figures with their spread, as Python sees them.
#pragma once

#include <optional>

#include "motion/rotary.h"
#include "window_axes.h"

namespace circumfluence::bindings {

// With the unit to show it in.
struct Measured {
  motion::Measure measure;
  const char* unit;
};
std::string words_of(const Measured& measured);  // "72.9 mm, give or take 0.16 mm"
// A Measure, or a quantity, which then has no spread.
motion::Measure measure_of(const py::handle& value, const char* unit);

}  // namespace circumfluence::bindings
