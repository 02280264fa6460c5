// Keyword arguments of functions that take many quantities, read by name; tables of a struct's numbers.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <span>
#include <string>

#include "bind.h"

namespace circumfluence::bindings {

// What a Python call was given by name. Each is taken once; done() raises TypeError for one nobody took.
class [[gnu::visibility("hidden")]] Keywords {  // as pybind11 itself
 public:
  Keywords(std::string function, const py::kwargs& given)
      : function_(std::move(function)), left_(py::reinterpret_steal<py::dict>(PyDict_Copy(given.ptr()))) {}

  bool has(const char* name) const {
    return left_.contains(name) && !py::object(left_[name]).is_none();
  }
  py::object take(const char* name) {
    if (!left_.contains(name))
      throw py::type_error(fmt::format("{}() needs the keyword argument '{}'", function_, name));
    py::object value = left_[name];
    left_.attr("pop")(name);
    return value;
  }
  double number(const char* name, const char* unit) {
    return si(take(name), unit);
  }
  double number(const char* name, const char* unit, double otherwise) {
    return left_.contains(name) ? number(name, unit) : otherwise;
  }
  int count(const char* name) {
    return take(name).cast<int>();
  }
  int count(const char* name, int otherwise) {
    return left_.contains(name) ? count(name) : otherwise;
  }
  // One of `names`, by its place.
  int choice(const char* name, std::span<const char* const> names, int otherwise) {
    if (!left_.contains(name)) return otherwise;
    return chosen(name, take(name), names);
  }
  static int chosen(const char* name, const py::object& value, std::span<const char* const> names) {
    std::string all;
    for (size_t i = 0; i < names.size(); ++i) {
      if (py::isinstance<py::str>(value) && value.cast<std::string>() == names[i]) return static_cast<int>(i);
      all += fmt::format("{}\"{}\"", i == 0 ? "" : i + 1 == names.size() ? " or " : ", ", names[i]);
    }
    throw py::value_error(
        fmt::format("{} = {} (expected {})", name, py::repr(value).cast<std::string>(), all));
  }
  void done() const {
    for (const auto& [name, value] : left_)
      throw py::type_error(fmt::format("{}() got an unexpected keyword argument '{}'", function_,
                                       py::str(name).cast<std::string>()));
  }

 private:
  std::string function_;
  py::dict left_;
};

// A number of a struct: its name in Python, its unit, where it is. NaN in a fresh T: must be given.
template <class T>
struct Member {
  const char *name, *unit;
  double T::*at;
};

template <class T, size_t N>
T read_members(Keywords& given, const Member<T> (&members)[N]) {
  T out{};
  for (const Member<T>& m : members)
    out.*m.at =
        std::isnan(out.*m.at) ? given.number(m.name, m.unit) : given.number(m.name, m.unit, out.*m.at);
  return out;
}

template <class T, size_t N, class Class>
void define_members(Class& type, const Member<T> (&members)[N]) {
  for (const Member<T>& m : members)
    type.def_property_readonly(
        m.name, [at = m.at](const T& self) { return self.*at; }, fmt::format("[{}]", m.unit).c_str());
}

template <class T, size_t N>
std::string shown(const char* name, const T& self, const Member<T> (&members)[N]) {
  std::string out = fmt::format("<{}", name);
  const T fresh{};
  for (const Member<T>& m : members)
    if (!(self.*m.at == fresh.*m.at)) out += fmt::format(" {}={:g}", m.name, self.*m.at);
  return out + ">";
}

// A T, or a dict of its keyword arguments.
template <class T>
T one_of(const py::handle& value) {
  const py::object type = py::type::of<T>();
  if (py::isinstance<py::dict>(value))
    return type(**py::reinterpret_borrow<py::dict>(value)).template cast<T>();
  if (!py::isinstance<T>(value))
    throw py::type_error(fmt::format(
        "expected a {} or a dict of its keywords, not {}", type.attr("__name__").template cast<std::string>(),
        py::type::handle_of(value).attr("__name__").template cast<std::string>()));
  return value.cast<T>();
}

}  // namespace circumfluence::bindings
