// What the binding files share: SI numbers from Python's strings and floats, and arrays that keep their
// owner.
#pragma once

#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <memory>
#include <string>

#include "quantity/map.h"
#include "quantity/bands.h"
#include "quantity/unit.h"

namespace circumfluence::bindings {

namespace py = pybind11;

void bind_quantity(py::module_& m);
void bind_workpiece(py::module_& m);
void bind_beam(py::module_& m);
void bind_artwork(py::module_& m);
void bind_motion(py::module_& m);
void bind_exposure(py::module_& m);
void bind_heat(py::module_& m);
void bind_heat_layers(py::module_& m);
void bind_heat_history(py::module_& m);
void bind_heat_wall(py::module_& m);
void bind_heat_enthalpy(py::module_& m);
void bind_response(py::module_& m);
void bind_kinetics(py::module_& m);
void bind_appearance(py::module_& m);
void bind_job(py::module_& m);
void bind_mark(py::module_& m);
void bind_intervals(py::module_& m);
void bind_width(py::module_& m);
void bind_focus(py::module_& m);
void bind_window(py::module_& m);
void bind_doubts(py::module_& m);
void bind_chances(py::module_& m);
void bind_rotary(py::module_& m);
void bind_tool_path(py::module_& m);
void bind_path_check(py::module_& m);
void bind_set_up(py::module_& m);
void bind_resume(py::module_& m);
void bind_batch(py::module_& m);
void bind_regression(py::module_& m);
void bind_coupon(py::module_& m);
void bind_report(py::module_& m);
void bind_plan(py::module_& m);
void bind_fit(py::module_& m);
void bind_photo(py::module_& m);
void bind_fitted(py::module_& m);

// "60 um" or 60e-6 as an SI number; `unit` says what is expected.
inline double si(const py::handle& value, const char* unit) {
  if (py::isinstance<py::str>(value)) return quantity::parse_quantity(value.cast<std::string>(), unit);
  if (py::isinstance<py::bool_>(value) || !PyNumber_Check(value.ptr()))
    throw py::type_error(std::string("expected a quantity such as \"1 ") + unit +
                         "\" or a number in SI, not " +
                         py::str(py::type::handle_of(value).attr("__name__")).cast<std::string>());
  return py::float_(py::reinterpret_borrow<py::object>(value));
}

// The same for anything that NumPy makes an array of.
inline py::array_t<double> si_array(const py::handle& value, const char* unit) {
  if (py::isinstance<py::str>(value))
    return py::array_t<double>(py::float_(si(value, unit)).cast<py::array_t<double>>());
  return py::array_t<double>::ensure(value);
}

// A read-only view of memory that `owner` keeps alive.
template <class T>
py::array view(const T* data, std::vector<py::ssize_t> shape, const std::shared_ptr<void>& owner) {
  const py::capsule keeper(new std::shared_ptr<void>(owner),
                           [](void* p) { delete static_cast<std::shared_ptr<void>*>(p); });
  py::array_t<T> array(std::move(shape), data, keeper);
  array.attr("setflags")(py::arg("write") = false);
  return array;
}

template <class T>
py::array view(const quantity::Map<T>& map) {
  return view(map.data(), {map.around(), map.axial()}, map.owner());
}

// A read-only array that takes over a vector.
template <class T>
py::array taken(std::vector<T> values, std::vector<py::ssize_t> shape) {
  auto owner = std::make_shared<std::vector<T>>(std::move(values));
  const T* data = owner->data();
  return view(data, std::move(shape), std::shared_ptr<void>(owner, owner.get()));
}

template <class T>
py::array taken(std::vector<T> values) {
  const auto size = static_cast<py::ssize_t>(values.size());
  return taken(std::move(values), {size});
}

// Reports to a Python callable (or none) with the GIL, and lets Ctrl-C through; called without the GIL.
quantity::Progress python_progress(const py::object& callable);

}  // namespace circumfluence::bindings
