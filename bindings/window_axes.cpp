// Axes of windows, read from text, numbers, lists and arrays.
#include "window_axes.h"

#include "quantity/error.h"

namespace circumfluence::bindings {
namespace {

using quantity::ValidityError;

// One value, or all of a range, by `read`.
template <class Read>
Values each_of(const char* name, const py::object& given, const Read& read) {
  py::object all = given;
  if (!py::isinstance<py::str>(all) && py::hasattr(all, "__array__")) {
    const py::object array = py::module_::import("numpy").attr("asarray")(all);
    if (array.attr("ndim").cast<int>() > 1)
      throw py::value_error(fmt::format("{}: an array of shape {} (expected one value or a list of them)",
                                        name, py::str(array.attr("shape")).cast<std::string>()));
    all = array.attr("tolist")();
  }
  if (py::isinstance<py::str>(all) || !py::hasattr(all, "__iter__")) return {{double(read(all))}, false};
  Values out{{}, true};
  for (const py::handle& value : all) out.values.push_back(double(read(value)));
  return out;
}

template <class Whole = int>
Whole whole(const char* name, const py::handle& value) {
  const std::string problem = fmt::format("{} = {}", name, py::repr(value).cast<std::string>());
  if (!PyIndex_Check(value.ptr()) || py::isinstance<py::bool_>(value))
    throw py::type_error(problem + " (expected a whole number)");
  try {
    return py::int_(py::reinterpret_borrow<py::object>(value)).cast<Whole>();
  } catch (const py::cast_error&) {
    throw py::value_error(problem + (std::is_unsigned_v<Whole> ? " (expected 0 or more)" : " (too large)"));
  }
}

// Where an axis is given, its values and, when they are a range, its name.
template <class Value, class Read>
void put(AskedAxes& out, Keywords& given, const char* name, std::vector<Value> window::Axes::*axis,
         const Read& read) {
  if (!given.has(name)) {
    if ((out.axes.*axis).size() > 1) out.ranges.push_back(name);
    return;
  }
  const Values found = each_of(name, given.take(name), read);
  (out.axes.*axis).assign(found.values.begin(), found.values.end());
  if (found.range) out.ranges.push_back(name);
}

}  // namespace

SharedScene scene_of(const py::object& job) {
  if (py::isinstance<mark::Scene>(job)) return job.cast<SharedScene>();
  if (!py::isinstance<job::Job>(job))
    throw py::type_error("expected a Job or a prepared Scene, not " +
                         py::str(py::type::handle_of(job).attr("__name__")).cast<std::string>());
  return std::make_shared<mark::Scene>(mark::prepare(job.cast<const job::Job&>()));
}

py::kwargs stated(const py::kwargs& given) {
  py::kwargs out;
  for (const auto& [name, value] : given)
    if (!value.is_none()) out[name] = value;
  return out;
}

double power_of(const py::handle& value, const mark::Scene& scene) {
  if (py::isinstance<py::str>(value))
    if (const std::string text = value.cast<std::string>(); text.find('%') != std::string::npos)
      return quantity::parse_quantity(text, "%") * scene.job.laser.rated_power;
  return si(value, "W");
}

AskedAxes take_axes(Keywords& given, const mark::Scene& scene) {
  const auto in = [](const char* unit) {
    return [unit](const py::handle& value) { return si(value, unit); };
  };
  AskedAxes out{window::axes_of(scene.job), {}};
  put(out, given, "spacing", &window::Axes::spacing, in("mm"));
  put(out, given, "focus_offset", &window::Axes::focus_offset, in("mm"));
  put(out, given, "passes", &window::Axes::passes,
      [](const py::handle& value) { return whole("passes", value); });
  put(out, given, "power", &window::Axes::power,
      [&](const py::handle& value) { return power_of(value, scene); });
  put(out, given, "speed", &window::Axes::speed, in("mm/min"));
  return out;
}

window::Fill take_fill(Keywords& given, const mark::Scene& scene) {
  window::Fill fill = window::fill_of(scene.job);
  fill.spacing = given.number("spacing", "mm", fill.spacing);
  fill.focus_offset = given.number("focus_offset", "mm", fill.focus_offset);
  if (given.has("passes")) fill.passes = whole("passes", given.take("passes"));
  window::check({{scene.power()}, {scene.job.scan.speed}, {fill.spacing}, {fill.focus_offset}, {fill.passes}},
                true);
  return fill;
}

Values values_of(const char* name, const py::object& given, const char* unit) {
  return each_of(name, given, [unit](const py::handle& value) { return si(value, unit); });
}

Values take_speeds(Keywords& given) {
  Values out = values_of("speed", given.take("speed"), "mm/min");
  if (out.values.empty()) throw ValidityError("window.speed is empty (expected one value or more)");
  for (size_t i = 0; i < out.values.size(); ++i)
    if (!(out.values[i] > 0 && std::isfinite(out.values[i])))
      throw ValidityError(fmt::format("window.speed has {} at place {} (expected a positive number)",
                                      quantity::format(out.values[i], "mm/min", 4), i));
  return out;
}

bool take_flag(Keywords& given, const char* name, bool otherwise) {
  if (!given.has(name)) return otherwise;
  const py::object value = given.take(name);
  const int truth = PyObject_IsTrue(value.ptr());
  if (truth < 0) throw py::error_already_set();
  return truth != 0;
}

quantity::Progress take_progress(Keywords& given) {
  return python_progress(given.has("progress") ? given.take("progress") : py::object(py::none()));
}

window::Draws take_draws(Keywords& given, int draws) {
  window::Draws out{.count = draws};
  if (given.has("draws")) out.count = whole("draws", given.take("draws"));
  if (given.has("seed")) out.seed = whole<std::uint64_t>("seed", given.take("seed"));
  if (given.has("threads")) out.threads = whole("threads", given.take("threads"));
  return out;
}

}  // namespace circumfluence::bindings
