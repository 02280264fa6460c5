// How likely a setting comes out good, and settings worth choosing.
#include "window/recommend.h"

#include "quantity/error.h"
#include "window_axes.h"

namespace circumfluence::bindings {

using window::Interval;
using window::Outlook;
using window::Setting;

namespace {

// A recommendation and what it was asked with.
struct Recommended {
  SharedScene scene;
  window::Wish wish;
  window::Recommendation is;
};

py::object loaded(const std::string& json) {
  return py::module_::import("json").attr("loads")(json);
}

py::tuple tuple_of(const Interval& i) {
  return py::make_tuple(i.low, i.middle, i.high);
}

py::dict changes(const Setting& s) {
  py::dict out;
  out["scan.power"] = quantity::format(s.power, "W", 6);
  out["scan.speed"] = quantity::format(s.speed, "mm/min", 6);
  out["scan.spacing"] = quantity::format(s.fill.spacing, "mm", 6);
  out["scan.focus_offset"] = quantity::format(s.fill.focus_offset, "mm", 6);
  out["scan.passes"] = s.fill.passes;
  return out;
}

void bind_setting(py::module_& m) {
  py::class_<Setting>(m, "Setting", "Power, speed and fill, and how likely they come out good.")
      .def_readonly("power", &Setting::power, "[W] set at the source")
      .def_readonly("speed", &Setting::speed, "[m/s]")
      .def_property_readonly(
          "spacing", [](const Setting& s) { return s.fill.spacing; }, "[m]")
      .def_property_readonly(
          "focus_offset", [](const Setting& s) { return s.fill.focus_offset; }, "[m]")
      .def_property_readonly("passes", [](const Setting& s) { return s.fill.passes; })
      .def_readonly("duration", &Setting::duration, "[s] of the job's art")
      .def_property_readonly(
          "chance_marks", [](const Setting& s) { return s.chances.marks; }, "[1]")
      .def_property_readonly(
          "chance_spares", [](const Setting& s) { return s.chances.spares; },
          "[1] that it does not over-burn")
      .def_property_readonly(
          "chance_good", [](const Setting& s) { return s.chances.good; }, "[1] of both")
      .def_readonly("power_low", &Setting::power_low, "[W] least that meets the wish at this speed")
      .def_readonly("power_high", &Setting::power_high,
                    "[W] greatest that does and that the laser gives; below power_low where none does")
      .def_property_readonly(
          "least_factor", [](const Setting& s) { return tuple_of(s.least_factor); },
          "[1] on power, from which it marks: the 5th, 50th and 95th percentile")
      .def_property_readonly(
          "greatest_factor", [](const Setting& s) { return tuple_of(s.greatest_factor); },
          "[1] on power, from which it over-burns: the same percentiles")
      .def(
          "changes", &changes,
          "What Job.replace needs to burn so: job.replace(setting.changes()). Power, speed, spacing, focus offset and\n"
          "passes as text; a little rounding, to what a controller can be told.")
      .def(
          "to_dict", [](const Setting& s) { return loaded(window::json(s)); },
          "The figures of the program's JSON; infinities are None.")
      .def("__repr__", [](const Setting& s) {
        return fmt::format("<Setting {} at {}: {} to come out good>", quantity::format(s.power, "W", 3),
                           quantity::format(s.speed, "mm/min", 4), mark::chance_text(s.chances.good));
      });
}

window::Wish take_wish(Keywords& given) {
  const window::Wish usual;
  const window::Wish wish{given.number("marks", "%", usual.marks), given.number("burns", "%", usual.burns)};
  for (const auto& [name, chance] : {std::pair{"marking", wish.marks}, std::pair{"over-burning", wish.burns}})
    if (!(chance >= 0 && chance <= 1))
      throw quantity::ValidityError(fmt::format("chance of {} = {} (expected 0 to 1)", name, chance));
  return wish;
}

Setting chances(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("chances", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const double power = given.has("power") ? power_of(given.take("power"), *scene) : scene->power();
  const double speed = given.number("speed", "mm/min", scene->job.scan.speed);
  const window::Fill fill = take_fill(given, *scene);
  const window::Wish wish = take_wish(given);
  const window::Draws draws = take_draws(given, 128);
  const bool warming = take_flag(given, "warming", true);
  const quantity::Progress progress = take_progress(given);
  given.done();
  window::check({{power}, {speed}, {fill.spacing}, {fill.focus_offset}, {fill.passes}}, true);
  const py::gil_scoped_release free;
  const window::Doubt doubt(*scene, draws);
  std::vector<window::WallRise> walls;
  if (warming) walls = window::wall_rises(*scene, fill, {&speed, 1});
  const Outlook outlook =
      doubt.over(window::place_of(doubt.scene(), fill), {&speed, 1}, walls, progress).front();
  Setting out{.power = power, .speed = speed, .fill = fill};
  out.duration = window::durations(*scene, fill, {&speed, 1}).front();
  return window::appraised(out, outlook, wish, scene->job.laser.rated_power);
}

py::dict curve(const Recommended& r) {
  py::dict out;
  const auto put = [&](const char* name, const auto& get) {
    std::vector<double> values;
    for (const Setting& s : r.is.trade) values.push_back(get(s));
    out[name] = taken(std::move(values));
  };
  put("duration", [](const Setting& s) { return s.duration; });
  put("power", [](const Setting& s) { return s.power; });
  put("speed", [](const Setting& s) { return s.speed; });
  put("chance_marks", [](const Setting& s) { return s.chances.marks; });
  put("chance_spares", [](const Setting& s) { return s.chances.spares; });
  put("chance_good", [](const Setting& s) { return s.chances.good; });
  put("spacing", [](const Setting& s) { return s.fill.spacing; });
  put("focus_offset", [](const Setting& s) { return s.fill.focus_offset; });
  put("passes", [](const Setting& s) { return double(s.fill.passes); });
  return out;
}

std::shared_ptr<Recommended> recommend(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("recommend", stated(kwargs));
  auto out = std::make_shared<Recommended>();
  out->scene = scene_of(job);
  if (given.has("power"))
    throw py::type_error(
        "recommend() chooses the power itself, up to laser.rated_power (replace that to hold it lower)");
  const AskedAxes asked = take_axes(given, *out->scene);
  out->wish = take_wish(given);
  const window::Draws draws = take_draws(given, 128);
  window::WindowRequest request;
  request.threads = draws.threads;
  request.warming = take_flag(given, "warming", true);
  request.many = take_flag(given, "many", false);
  const quantity::Progress progress = take_progress(given);
  given.done();
  request.progress = part(progress, 0, 0.3);
  const py::gil_scoped_release free;
  const window::Window found = window::window(*out->scene, asked.axes, request);
  const window::Doubt doubt(*out->scene, draws);
  const std::vector<window::Outlook> outlooks = window::outlooks(doubt, found, part(progress, 0.3, 0.9));
  out->is = window::recommend(doubt, found, outlooks, out->wish, part(progress, 0.9, 1));
  if (!progress(1)) throw quantity::Interrupted();
  return out;
}

void bind_recommendation(py::module_& m) {
  using window::Relaxation;
  py::class_<Relaxation>(m, "Relaxation", "One limit that, alone, would have to give way, and how far.")
      .def_readonly("what", &Relaxation::what)
      .def_property_readonly(
          "start", [](const Relaxation& r) { return r.from; }, "[SI] as it is")
      .def_property_readonly(
          "to", [](const Relaxation& r) { return r.to; }, "[SI] what would do")
      .def_property_readonly(
          "unit", [](const Relaxation& r) { return std::string(r.unit); }, "to print it in")
      .def("__repr__", [](const Relaxation& r) {
        return fmt::format("<Relaxation {}: {} instead of {}>", r.what, quantity::format(r.to, r.unit, 3),
                           quantity::format(r.from, r.unit, 3));
      });
  py::class_<Recommended, std::shared_ptr<Recommended>>(
      m, "Recommendation",
      "The fastest settings that are safe enough; print it for words, to_dict() for figures (SI).")
      .def_property_readonly(
          "fastest", [](const Recommended& r) { return r.is.fastest; }, "a Setting, or None")
      .def_property_readonly(
          "trade", [](const Recommended& r) { return r.is.trade; },
          "the best setting at each speed, by rising time, each safer than all faster ones")
      .def_property_readonly(
          "curve", &curve,
          "The same as arrays: duration [s], power [W], speed [m/s], chance_marks, chance_spares, "
          "chance_good [1].")
      .def_property_readonly(
          "relaxations", [](const Recommended& r) { return r.is.relaxations; }, "where there is no fastest")
      .def_property_readonly("notes", [](const Recommended& r) { return r.is.notes; })
      .def(
          "to_dict", [](const Recommended& r) { return loaded(window::json(r.is, r.wish)); },
          "The figures of the program's JSON; infinities are None.")
      .def(
          "trade_text", [](const Recommended& r, int rows) { return window::trade_text(r.is, rows); },
          py::arg("rows") = 6, "Time against safety as a small table.")
      .def("__str__", [](const Recommended& r) { return window::text(*r.scene, r.is, r.wish); })
      .def("__repr__", [](const Recommended& r) {
        return r.is.fastest ? "<Recommendation " + py::repr(py::cast(*r.is.fastest)).cast<std::string>() + ">"
                            : std::string("<Recommendation none>");
      });
}

}  // namespace

void bind_chances(py::module_& m) {
  bind_setting(m);
  bind_recommendation(m);
  m.def(
      "chances", &chances, py::arg("job"),
      "How likely one setting comes out good, and the 90 % intervals of its factors on power: a Setting.\n\n"
      "Keywords: power, speed, spacing, focus_offset, passes (the job's own); marks=0.95, burns=0.05 "
      "(chances that\n"
      "power_low and power_high keep); draws=128, seed=1, warming=True, threads=0, progress. `job` is a Job "
      "or a\n"
      "prepared Scene. What a law leaves out does not widen these figures. Raises ValidityError, JobError.");
  m.def("recommend", &recommend, py::arg("job"),
        "The fastest settings that mark with a chance of at least `marks` and over-burn with one of at most "
        "`burns`.\n\n"
        "Keywords: marks=0.95, burns=0.05; speed (the range looked at), spacing, focus_offset, passes (a "
        "value or a\n"
        "range, as in window); draws=128, seed=1, warming=True, many=False, threads=0, progress. The power "
        "is chosen, up\n"
        "to the rated one. `job` is a Job or a prepared Scene. Raises ValidityError, JobError.");
}

}  // namespace circumfluence::bindings
