// How a setting answers to height: what it forgives, what moves the part, and the focus for the coarsest
// lines.
#include "window/focus.h"

#include <fmt/format.h>

#include "bind.h"

namespace circumfluence::bindings {

using window::Coarsest;
using window::Excursion;
using window::Focus;
using window::HeightRoom;
using window::HeightRow;

namespace {

// A column over height: its name, unit, meaning, where it is.
struct Column {
  const char *name, *unit, *words;
  double (*get)(const HeightRow&);
};

constexpr Column kColumns[] = {
    {"height", "m", "height of the surface above the nominal focus",
     [](const HeightRow& r) { return r.height; }},
    {"along", "m", "1/e^2 radius of the beam along the lines", [](const HeightRow& r) { return r.along; }},
    {"across", "m", "1/e^2 radius of the beam across the lines", [](const HeightRow& r) { return r.across; }},
    {"width", "m", "width that one line alone marks; 0: nothing", [](const HeightRow& r) { return r.width; }},
    {"begins", "W", "power set from which something is seen",
     [](const HeightRow& r) { return r.ends.begins; }},
    {"centre", "W", "power set from which stripes are marked",
     [](const HeightRow& r) { return r.ends.centre; }},
    {"marks", "W", "power set from which the fill is marked",
     [](const HeightRow& r) { return r.ends.marks; }},
    {"burns", "W", "power set from which the fill over-burns",
     [](const HeightRow& r) { return r.ends.burns; }},
    {"least_factor", "1", "on the power set: from there it marks",
     [](const HeightRow& r) { return r.least_factor; }},
    {"greatest_factor", "1", "on the power set: from there it over-burns",
     [](const HeightRow& r) { return r.greatest_factor; }},
    {"spacing", "m", "widest line spacing that comes out good; 0: none",
     [](const HeightRow& r) { return r.spacing; }},
    {"chance_marks", "1", "chance that the fill is marked",
     [](const HeightRow& r) { return r.chances.marks; }},
    {"chance_spares", "1", "chance that it does not over-burn",
     [](const HeightRow& r) { return r.chances.spares; }},
    {"chance_good", "1", "chance that it comes out good", [](const HeightRow& r) { return r.chances.good; }}};

py::array column(const Focus& focus, const Column& which) {
  std::vector<double> out;
  for (const HeightRow& row : focus.rows) out.push_back(which.get(row));
  return taken(std::move(out));
}

py::array rulings(const Focus& focus) {
  std::vector<std::uint8_t> out;
  for (const HeightRow& row : focus.rows) out.push_back(std::uint8_t(row.ruling));
  return taken(std::move(out));
}

py::object to_xarray(const Focus& focus) {
  py::dict variables, coordinates, attributes;
  const auto labelled = [](const py::array& values, const char* unit, const char* words) {
    py::dict about;
    about["units"] = unit, about["long_name"] = words;
    return py::make_tuple("height", values, about);
  };
  for (const Column& c : kColumns) {
    const bool chance = std::string_view(c.name).starts_with("chance");
    if (chance && !focus.drawn) continue;
    py::dict& into = std::string_view(c.name) == "height" ? coordinates : variables;
    into[c.name] = labelled(column(focus, c), c.unit, c.words);
  }
  std::string meanings;
  for (const char* name : mark::kRulingNames) meanings += (meanings.empty() ? "" : "; ") + std::string(name);
  variables["ruling"] = labelled(rulings(focus), "1", meanings.c_str());
  attributes["power"] = focus.power, attributes["speed"] = focus.speed,
  attributes["spacing"] = focus.fill.spacing;
  return py::module_::import("xarray").attr("Dataset")(variables, coordinates, attributes);
}

py::dict moves(const Focus& focus) {
  py::dict out;
  const auto put = [&](const char* name, const Excursion& e) { out[name] = py::make_tuple(e.down, e.up); };
  put("form", focus.moves.form), put("runout", focus.moves.runout), put("ovality", focus.moves.ovality);
  put("sag", focus.moves.sag), put("total", focus.moves.total);
  return out;
}

void bind_parts(py::module_& m) {
  py::class_<HeightRoom>(m, "HeightRoom",
                         "The heights about the job's own in which a fill comes out as asked.")
      .def_readonly("own", &HeightRoom::own, "[m] the job's own height above the nominal focus")
      .def_readonly("holds", &HeightRoom::holds, "whether it comes out as asked at its own height")
      .def_property_readonly(
          "lowest", [](const HeightRoom& r) { return r.lowest.height; }, "[m]")
      .def_property_readonly(
          "highest", [](const HeightRoom& r) { return r.highest.height; }, "[m]")
      .def_property_readonly(
          "lowest_fault", [](const HeightRoom& r) { return window::kHeightFaultNames[int(r.lowest.fault)]; },
          "what comes below it: \"too little\", \"over-burn\", or \"range\" where nothing does within the "
          "heights looked at")
      .def_property_readonly(
          "highest_fault",
          [](const HeightRoom& r) { return window::kHeightFaultNames[int(r.highest.fault)]; },
          "what comes above it, likewise")
      .def_property_readonly("down", &HeightRoom::down, "[m] by which the surface may lie lower")
      .def_property_readonly("up", &HeightRoom::up, "[m] by which the surface may lie higher")
      .def("__repr__", [](const HeightRoom& r) {
        return r.holds ? fmt::format("<HeightRoom {} down, {} up>", quantity::format(r.down(), "mm", 4),
                                     quantity::format(r.up(), "mm", 4))
                       : std::string("<HeightRoom none>");
      });
  py::class_<Coarsest>(m, "Coarsest", "The focus at which an even fill closes with the widest line spacing.")
      .def_readonly("focus_offset", &Coarsest::focus_offset, "[m] as scan.focus_offset")
      .def_readonly("other", &Coarsest::other, "[m] equally good one beyond the waist; NaN: none")
      .def_readonly("spacing", &Coarsest::spacing, "[m]; 0: none closes")
      .def_readonly("duration", &Coarsest::duration, "[s] of the job's art with it")
      .def_readonly("safe_spacing", &Coarsest::safe_spacing,
                    "[m] with the chance asked, at that focus; 0: none, or not drawn")
      .def_readonly("safe_duration", &Coarsest::safe_duration, "[s] of the job's art with it")
      .def_readonly("at_the_end", &Coarsest::at_the_end,
                    "of the heights looked at: beyond it, it may be wider")
      .def("__repr__", [](const Coarsest& c) {
        return fmt::format("<Coarsest {} at focus_offset {}>", quantity::format(c.spacing, "um", 4),
                           quantity::format(c.focus_offset, "mm", 4));
      });
}

void bind_study(py::module_& m) {
  py::class_<Focus> type(m, "Focus", "How a setting answers to height. Arrays are by height.");
  for (const Column& c : kColumns)
    type.def_property_readonly(
        c.name, [&c](const Focus& focus) { return column(focus, c); },
        fmt::format("[{}] {}", c.unit, c.words).c_str());
  type.def_property_readonly("ruling", &rulings,
                             "at the power set: 0 leaves no mark, 1 under-marks, 2 marks, 3 over-burns")
      .def_readonly("power", &Focus::power, "[W] set")
      .def_readonly("speed", &Focus::speed, "[m/s]")
      .def_readonly("duration", &Focus::duration, "[s]")
      .def_readonly("chance", &Focus::chance, "[1] asked")
      .def_readonly("nominal", &Focus::nominal, "the room in height as the records say")
      .def_property_readonly(
          "likely", [](const Focus& f) { return f.drawn ? std::optional(f.likely) : std::nullopt; },
          "the room in height with the chance asked; None where no chances were drawn")
      .def_property_readonly(
          "moves", &moves,
          "[m] by which the surface comes to lie (below, above) where the focus was set: form, runout, "
          "ovality, sag, total")
      .def_property_readonly(
          "used", [](const Focus& f) { return window::used(f.nominal, f.moves.total); },
          "[1] share of the nominal room that is used up; infinity: there is none")
      .def_property_readonly(
          "used_likely",
          [](const Focus& f) { return f.drawn ? window::used(f.likely, f.moves.total) : quantity::kUnset; },
          "[1] the same of the likely room; NaN where no chances were drawn")
      .def_readonly("coarsest", &Focus::coarsest)
      .def_readonly("notes", &Focus::notes)
      .def("to_xarray", &to_xarray, "A dataset over height, with units.")
      .def(
          "write_picture",
          [](const Focus& f, const std::string& path, const std::string& title) {
            window::write_picture(path, f, title);
          },
          py::arg("path"), py::arg("title") = "",
          "Widths over height, on the outcome of the setting, as a PNG.")
      .def("__str__", [](const Focus& f) { return window::text(f); })
      .def("__repr__", [](const Focus& f) {
        return fmt::format("<Focus {} heights, {} as set>", f.rows.size(),
                           mark::kRulingNames[int(f.set.ruling)]);
      });
}

std::optional<std::vector<double>> heights_from(const py::object& given) {
  if (given.is_none()) return std::nullopt;
  const py::array_t<double> array = si_array(given, "mm");
  if (!array || array.ndim() > 1) throw py::type_error("heights: expected one row of numbers [m]");
  return std::vector<double>(array.data(), array.data() + array.size());
}

Focus study(const job::Job& job, const window::FocusRequest& request) {
  const py::gil_scoped_release free;
  return window::focus_study(mark::prepare(job), request);
}

}  // namespace

void bind_focus(py::module_& m) {
  bind_parts(m);
  bind_study(m);
  m.def(
      "focus_study",
      [](const job::Job& job, const py::object& heights, const py::object& chance, const py::object& ovality,
         const py::object& sag, int draws, std::uint64_t seed, int threads, const py::object& progress) {
        window::FocusRequest request{.heights = heights_from(heights)};
        request.chance = si(chance, "%");
        request.ovality = si(ovality, "mm"), request.sag = si(sag, "mm");
        request.chances = draws != 0;
        request.draws = {.count = draws, .seed = seed, .threads = threads};
        request.progress = python_progress(progress);
        return study(job, request);
      },
      py::arg("job"), py::arg("heights") = py::none(), py::arg("chance") = 0.95, py::arg("ovality") = 0.0,
      py::arg("sag") = 0.0, py::arg("draws") = 128, py::arg("seed") = 1, py::arg("threads") = 0,
      py::arg("progress") = py::none(),
      "What a job's fill comes to over heights of the surface above the nominal focus [m] (None: two "
      "Rayleigh lengths either\n"
      "way), the room in height nominally and with a chance of coming out good, what moves the part (run-out "
      "of the job,\n"
      "ovality: greatest less least diameter, sag of a long part) against it, and the focus for the coarsest "
      "lines.\n"
      "draws=0 leaves chances out. Raises ValidityError, JobError, Interrupted.");
}

}  // namespace circumfluence::bindings
