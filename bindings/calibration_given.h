// What the room calibration is given from Python: patches, coupons with what came out of them, paths of
// files.
#pragma once

#include "calibration/fit.h"
#include "window/recommend.h"
#include "window_axes.h"

namespace circumfluence::bindings {

// A Patch, a Setting of recommend or chances, or a dict of a Patch's keywords.
calibration::Patch patch_of(const py::handle& value);
std::vector<calibration::Patch> patches_of(const py::handle& values);  // of an iterable

std::optional<response::Outcome> outcome_of(const py::object& value);  // "marked", 2, or None
std::string file_path(const py::object& path);                         // of whatever is path-like
py::object loaded(const std::string& json);

inline py::type_error expected(const char* name, const char* what, const py::handle& value) {
  return py::type_error(
      fmt::format("{}: expected {}, not {}", name, what,
                  py::str(py::type::handle_of(value).attr("__name__")).cast<std::string>()));
}

// A T that Python holds.
template <class T, class As = const T&>
As held(const char* name, const py::handle& value) {
  if (!py::isinstance<T>(value))
    throw expected(name,
                   ("a " + py::str(py::type::of<T>().attr("__name__")).template cast<std::string>()).c_str(),
                   value);
  return value.cast<As>();
}

inline std::string words(const char* name, const py::handle& value) {
  if (!py::isinstance<py::str>(value)) throw expected(name, "text", value);
  return value.cast<std::string>();
}

inline py::tuple tuple_of(const window::Interval& i) {
  return py::make_tuple(i.low, i.middle, i.high);
}

inline py::object or_none(double value) {
  return std::isnan(value) ? py::object(py::none()) : py::object(py::float_(value));
}

}  // namespace circumfluence::bindings
