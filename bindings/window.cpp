// The process window as arrays, and the ends of a fill for sliders.
#include "window/window.h"

#include <algorithm>

#include "appearance/picture.h"
#include "quantity/bands.h"
#include "quantity/error.h"
#include "window_axes.h"

namespace circumfluence::bindings {

using window::Ends;

namespace {

// A window, what it was asked with, and chances by setting where they were asked for.
struct Solved {
  SharedScene scene;
  std::vector<std::string> ranges;
  window::Window is;
  window::Draws draws;
  bool warming = false;
  std::vector<double> marks, spares, good;  // [1] [spacing][focus_offset][passes][power][speed]
};

// Lengths of the axes that are ranges, with or without the power.
std::vector<py::ssize_t> shape(const Solved& s, bool power) {
  const window::Axes& axes = s.is.axes;
  const std::pair<const char*, size_t> all[] = {{"spacing", axes.spacing.size()},
                                                {"focus_offset", axes.focus_offset.size()},
                                                {"passes", axes.passes.size()},
                                                {"power", axes.power.size()},
                                                {"speed", axes.speed.size()}};
  std::vector<py::ssize_t> out;
  for (const auto& [name, size] : all)
    if ((power || std::string_view(name) != "power") &&
        std::find(s.ranges.begin(), s.ranges.end(), name) != s.ranges.end())
      out.push_back(py::ssize_t(size));
  return out;
}

// By solution.
py::array of_ends(const Solved& s, double Ends::*which) {
  std::vector<double> out;
  for (const Ends& ends : s.is.ends) out.push_back(ends.*which);
  return taken(std::move(out), shape(s, false));
}

// By setting: get(solution, power), in the order of the arrays.
template <class T, class Get>
py::array by_setting(const Solved& s, const Get& get) {
  const window::Axes& axes = s.is.axes;
  std::vector<T> out;
  out.reserve(axes.settings());
  for (size_t first = 0; first < axes.solutions(); first += axes.speed.size())
    for (const double power : axes.power)
      for (size_t i = 0; i < axes.speed.size(); ++i) out.push_back(get(s.is.ends[first + i], power));
  return taken(std::move(out), shape(s, true));
}

void add_chances(Solved& s, const quantity::Progress& progress) {
  const window::Axes& axes = s.is.axes;
  const window::Doubt doubt(*s.scene, s.draws);
  const std::vector<window::Outlook> outlooks = window::outlooks(doubt, s.is, part(progress, 0, 0.7));
  for (std::vector<double>* chance : {&s.marks, &s.spares, &s.good}) chance->resize(axes.settings());
  const size_t powers = axes.power.size(), speeds = axes.speed.size();
  const quantity::Bands bands{.count = int(axes.solutions()), .band = 1, .threads = s.draws.threads};
  const auto look = [&](int from, int to, int) {
    for (size_t i = size_t(from); i < size_t(to); ++i)
      for (size_t p = 0; p < powers; ++p) {
        const window::Chances chances = outlooks[i].at(axes.power[p]);
        const size_t at = (i / speeds * powers + p) * speeds + i % speeds;
        s.marks[at] = chances.marks, s.spares[at] = chances.spares, s.good[at] = chances.good;
      }
  };
  quantity::for_bands(bands, look, part(progress, 0.7, 1));
}

std::shared_ptr<Solved> solved(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("window", stated(kwargs));
  auto out = std::make_shared<Solved>();
  out->scene = scene_of(job);
  const AskedAxes asked = take_axes(given, *out->scene);
  out->ranges = asked.ranges;
  const bool chances = take_flag(given, "chances", false);
  out->draws = take_draws(given, 128);
  window::WindowRequest request;
  request.warming = out->warming = take_flag(given, "warming", false);
  request.many = take_flag(given, "many", false);
  request.threads = out->draws.threads;
  const quantity::Progress progress = take_progress(given);
  given.done();
  request.progress = part(progress, 0, chances ? 0.3 : 1);
  const py::gil_scoped_release free;
  out->is = window::window(*out->scene, asked.axes, request);
  if (chances) add_chances(*out, part(progress, 0.3, 1));
  if (!progress(1)) throw quantity::Interrupted();
  return out;
}

py::dict ends_at(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("ends", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const Values speeds = take_speeds(given);
  const window::Fill fill = take_fill(given, *scene);
  const int threads = given.count("threads", 0);
  given.done();
  std::vector<Ends> found;
  {
    const py::gil_scoped_release free;
    found = window::ends(*scene, window::place_of(*scene, fill), speeds.values, {}, threads);
  }
  const std::vector<py::ssize_t> shape(speeds.range ? 1 : 0, py::ssize_t(found.size()));
  py::dict out;
  const std::pair<const char*, double Ends::*> ends[] = {
      {"begins", &Ends::begins}, {"centre", &Ends::centre}, {"marks", &Ends::marks}, {"burns", &Ends::burns}};
  for (const auto& [name, which] : ends) {
    std::vector<double> values;
    for (const Ends& one : found) values.push_back(one.*which);
    out[name] = taken(std::move(values), shape);
  }
  return out;
}

constexpr struct {
  const char* name;
  const char* doc;
  double Ends::*which;
} kEnds[] = {{"begins", "[W] from which something is seen; infinity where no power does", &Ends::begins},
             {"centre", "[W] from which the lines' centres are marked", &Ends::centre},
             {"marks", "[W] from which outcome.required of all places are marked", &Ends::marks},
             {"burns", "[W] from which more than outcome.tolerated over-burns", &Ends::burns}};

using Shared = std::shared_ptr<Solved>;

void bind_axes(py::class_<Solved, Shared>& type) {
  type.def_property_readonly("scene", [](const Solved& s) { return s.scene; })
      .def_property_readonly(
          "dims", [](const Solved& s) { return py::tuple(py::cast(s.ranges)); },
          "of what goes by setting; what goes by speed lacks \"power\"")
      .def_property_readonly(
          "power", [](const Solved& s) { return taken(s.is.axes.power); }, "[W] set at the source")
      .def_property_readonly(
          "speed", [](const Solved& s) { return taken(s.is.axes.speed); }, "[m/s]")
      .def_property_readonly(
          "spacing", [](const Solved& s) { return taken(s.is.axes.spacing); }, "[m]")
      .def_property_readonly(
          "focus_offset", [](const Solved& s) { return taken(s.is.axes.focus_offset); }, "[m]")
      .def_property_readonly("passes", [](const Solved& s) { return taken(s.is.axes.passes); })
      .def_property_readonly("warming", [](const Solved& s) { return s.warming; })
      .def_property_readonly("draws", [](const Solved& s) { return s.draws.count; })
      .def_property_readonly("seed", [](const Solved& s) { return s.draws.seed; });
}

void bind_window_type(py::module_& m) {
  py::class_<Solved, Shared> type(
      m, "Window",
      "What an even fill comes to, as arrays over its ranges; circumfluence.window labels them.");
  bind_axes(type);
  for (const auto& end : kEnds)
    type.def_property_readonly(
        end.name, [which = end.which](const Solved& s) { return of_ends(s, which); }, end.doc);
  type.def_property_readonly(
          "duration", [](const Solved& s) { return taken(s.is.duration, shape(s, false)); },
          "[s] of the job's art")
      .def_property_readonly(
          "least_factor",
          [](const Solved& s) {
            return by_setting<double>(s, [](const Ends& e, double power) { return e.marks / power; });
          },
          "[1] on power, below which too little is marked")
      .def_property_readonly(
          "greatest_factor",
          [](const Solved& s) {
            return by_setting<double>(s, [](const Ends& e, double power) { return e.burns / power; });
          },
          "[1] on power, above which too much over-burns")
      .def_property_readonly(
          "outcome",
          [](const Solved& s) {
            return by_setting<std::uint8_t>(
                s, [](const Ends& e, double power) { return std::uint8_t(window::ruling(e, power)); });
          },
          "uint8: 0 leaves no mark, 1 under-marks, 2 marks, 3 over-burns");
  const std::tuple<const char*, const char*, std::vector<double> Solved::*> chances[] = {
      {"chance_marks", "[1] or None if not asked for", &Solved::marks},
      {"chance_spares", "[1] that it does not over-burn, or None", &Solved::spares},
      {"chance_good", "[1] of both, or None", &Solved::good}};
  for (const auto& [name, doc, which] : chances)
    type.def_property_readonly(
        name,
        [which = which](const Shared& s) -> py::object {
          const std::vector<double>& values = (*s).*which;
          return values.empty() ? py::object(py::none())
                                : py::object(view(values.data(), shape(*s, true), s));
        },
        doc);
  type.def("__repr__", [](const Solved& s) {
    return fmt::format("<Window {} settings, {} solutions>", s.is.axes.settings(), s.is.axes.solutions());
  });
}

// What a window's outcomes are painted with: as cells that were to be marked.
py::dict colours() {
  py::dict out;
  for (int i = 0; i < 4; ++i) {
    const appearance::Colour c = appearance::colour_of(appearance::verdict(i, true));
    out[mark::kRulingNames[i]] = fmt::format("#{:02x}{:02x}{:02x}", c[0], c[1], c[2]);
  }
  return out;
}

}  // namespace

void bind_window(py::module_& m) {
  bind_window_type(m);
  m.attr("ruling_colours") = colours();
  m.def("solve_window", &solved, py::arg("job"), "What circumfluence.window labels; its keywords.");
  m.def("ends", &ends_at, py::arg("job"),
        "From which powers [W] an even fill is marked and over-burned, speed by speed: ends(scene, "
        "speed=...).\n\n"
        "A dict of arrays in the shape of `speed`: begins, centre, marks, burns; infinity where no power "
        "does. `job` is a\n"
        "Job, or a Scene from prepare() so that the art is not read anew. Keywords: speed (a value or a "
        "range, in any\n"
        "order), spacing, focus_offset, passes (the job's own), threads=0. The wall is as cold as the part. "
        "Within 0.5 %\n"
        "of a solution at each speed where more than 16 a decade are asked for. Raises ValidityError, "
        "JobError.");
}

}  // namespace circumfluence::bindings
