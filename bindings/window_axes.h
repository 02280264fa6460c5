// What the room window is asked for from Python: a scene, its axes, its draws.
#pragma once

#include "keywords.h"
#include "window/chance.h"
#include "window/window.h"

namespace circumfluence::bindings {

using SharedScene = std::shared_ptr<mark::Scene>;

// A Scene as it is, so that its art is not read anew, or one prepared from a Job.
SharedScene scene_of(const py::object& job);

// Axes and, in the order of a window's arrays, the names of those that were given as a range.
struct AskedAxes {
  window::Axes axes;
  std::vector<std::string> ranges;
};

// Takes power, speed, spacing, focus_offset and passes; what is left out is as window::axes_of has it. Text
// with a unit or an SI number is one value, a list or array of them a range; a power may be a share of the
// rated one, "75 %".
AskedAxes take_axes(Keywords& given, const mark::Scene& scene);
// spacing, focus_offset and passes: one value each, the job's own if left out.
window::Fill take_fill(Keywords& given, const mark::Scene& scene);
double power_of(const py::handle& value, const mark::Scene& scene);  // [W]

// Values in any order, and whether they were given as a range.
struct Values {
  std::vector<double> values;
  bool range = false;
};
Values values_of(const char* name, const py::object& given, const char* unit);
Values take_speeds(Keywords& given);

// What was given by name, without what is None.
py::kwargs stated(const py::kwargs& given);

bool take_flag(Keywords& given, const char* name, bool otherwise);
quantity::Progress take_progress(Keywords& given);
// draws, seed and threads
window::Draws take_draws(Keywords& given, int draws);

// Of work whose share of the whole goes from one to the other.
inline quantity::Progress part(const quantity::Progress& whole, double from, double to) {
  return [whole, from, to](double share) { return whole(from + share * (to - from)); };
}

}  // namespace circumfluence::bindings
