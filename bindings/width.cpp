// How wide art may be on a part that stands still, and where to set the focus for it.
#include "window/width.h"

#include "keywords.h"

namespace circumfluence::bindings {

using window::ArcRow;
using window::Station;
using window::Strip;
using window::Width;

namespace {

template <class Row, class Get>
py::array column(const std::vector<Row>& rows, const Get& get) {
  std::vector<double> values;
  for (const Row& row : rows) values.push_back(get(row));
  return taken(std::move(values));
}

py::dict stations(const Strip& strip) {
  py::dict out;
  const auto put = [&](const char* name, const auto& get) { out[name] = column(strip.stations, get); };
  put("axial", [](const Station& s) { return s.axial; });
  put("radius", [](const Station& s) { return s.radius; });
  put("slope", [](const Station& s) { return s.slope; });
  put("half_width", [](const Station& s) { return s.half_width(); });
  put("half_angle", [](const Station& s) { return s.half_angle(); });
  for (int i = 0; i < 3; ++i) put(window::kBoundNames[i], [i](const Station& s) { return s.by[i]; });
  return out;
}

py::dict table(const Width& width) {
  py::dict out;
  const auto put = [&](const char* name, double ArcRow::*at) {
    out[name] = column(width.table, [at](const ArcRow& row) { return row.*at; });
  };
  put("arc", &ArcRow::arc);
  put("lateral", &ArcRow::lateral);
  put("stretch", &ArcRow::stretch);
  put("drop", &ArcRow::drop);
  put("growth_axial", &ArcRow::growth_axial);
  put("growth_around", &ArcRow::growth_around);
  put("incidence", &ArcRow::incidence);
  return out;
}

py::dict joint(const Width& width) {
  py::dict out;
  out["plain"] = width.joint.plain, out["diameter"] = width.joint.diameter;
  out["offset"] = width.joint.offset, out["index"] = width.joint.index;
  return out;
}

void bind_strip(py::module_& m) {
  py::class_<Strip>(m, "Strip", "How wide art may be on a standing part at one focus offset.")
      .def_readonly("focus_offset", &Strip::focus_offset, "[m] height of the nominal focus above the surface")
      .def_property_readonly(
          "width", [](const Strip& s) { return 2 * s.half_width(); }, "[m] as seen from above, about the top")
      .def_property_readonly(
          "limit", [](const Strip& s) { return window::kBoundNames[int(s.limiting().bound())]; },
          "what ends it: \"chance\", \"growth\" or \"stretch\"")
      .def_readonly("growth", &Strip::growth,
                    "[1] greatest of the spot in it, over its waist; of the tops when it has no width")
      .def_readonly("narrowest", &Strip::narrowest, "the station that is narrowest as seen from above")
      .def_readonly("least_angle", &Strip::least_angle, "the station that covers the least azimuth")
      .def_property_readonly("stations", &stations,
                             "Along the axis: axial, radius [m], slope [1], half_width [m], half_angle "
                             "[rad], and the half-widths [m] that\n"
                             "each limit leaves: chance (infinity: as far as both others), growth, stretch.")
      .def_readonly("why", &Strip::why, "in words, when it has no width")
      .def("__repr__", [](const Strip& s) {
        return fmt::format(
            "<Strip {} wide by {}, focus at {}>", quantity::format(2 * s.half_width(), "mm", 4),
            window::kBoundNames[int(s.limiting().bound())], quantity::format(s.focus_offset, "mm"));
      });
}

void bind_answer(py::module_& m) {
  py::class_<Width>(m, "Width", "How wide art may be on a part that stands still.")
      .def_readonly("set", &Width::set, "the strip at the job's focus offset")
      .def_readonly("best", &Width::best, "the strip at the best one")
      .def_property_readonly(
          "table", &table,
          "From edge to edge of the best strip: arc [m] on the surface, lateral [m] of the head, stretch\n"
          "[1], drop [m] below the top, growth_axial, growth_around [1], incidence [1], a cosine. Art\n"
          "drawn at arc looks right when it is burnt at lateral.")
      .def_readonly("motif", &Width::motif, "[m] arc to cover")
      .def_property_readonly(
          "turns", [](const Width& w) { return w.turns.count; }, "how many strips cover the motif")
      .def_property_readonly(
          "index", [](const Width& w) { return w.turns.index; }, "[rad] from strip to strip")
      .def_property_readonly(
          "strip", [](const Width& w) { return w.turns.strip; }, "[m] arc of one of them, overlaps counted")
      .def_property_readonly(
          "closed", [](const Width& w) { return w.turns.closed; }, "whether they go all the way around")
      .def_property_readonly(
          "joint", &joint,
          "[m] gap at each joint, negative where strips overlap: plain (art not pre-distorted), and from\n"
          "errors of the diameter, of the offset of the axis and of the index angle")
      .def_readonly("asked_chance", &Width::asked_chance, "whether the chance of a mark counted")
      .def_readonly("notes", &Width::notes)
      .def("__repr__", [](const Width& w) {
        return fmt::format(
            "<Width {} with the focus at {}, {} as set; {} strip{}>",
            quantity::format(2 * w.best.half_width(), "mm", 4), quantity::format(w.best.focus_offset, "mm"),
            quantity::format(2 * w.set.half_width(), "mm", 4), w.turns.count, w.turns.count == 1 ? "" : "s");
      });
}

Width asked(const job::Job& job, const py::kwargs& kwargs) {
  Keywords given("usable_width", kwargs);
  window::WidthLimits limits;
  limits.growth = given.number("growth", "1", limits.growth);
  limits.stretch = given.number("stretch", "1", limits.stretch);
  limits.chance = given.number("chance", "%", limits.chance);
  if (kwargs.contains("motif"))
    if (const py::object motif = given.take("motif"); !motif.is_none()) limits.motif = si(motif, "mm");
  limits.overlap = given.number("overlap", "mm", limits.overlap);
  limits.errors.diameter = given.number("diameter_error", "mm", limits.errors.diameter);
  limits.errors.offset = given.number("axis_offset", "mm", limits.errors.offset);
  limits.errors.index = given.number("index_error", "deg", limits.errors.index);
  limits.rows = given.count("rows", limits.rows);
  limits.threads = given.count("threads", limits.threads);
  given.done();
  const py::gil_scoped_release free;
  const mark::Scene scene = mark::prepare(job);
  return window::usable_width(scene, limits, window::standing_chance(scene, limits));
}

}  // namespace

void bind_width(py::module_& m) {
  bind_strip(m);
  bind_answer(m);
  m.def("usable_width", &asked, py::arg("job"),
        "How wide art may be about the top of a part that stands still, as set and at the best focus "
        "offset.\n\n"
        "Keywords: growth=1.1 (most that the spot may grow over its waist), stretch=1.05 (most that the "
        "curve may\n"
        "stretch the art), chance=0.95 (least that an even fill comes out good; 0: don't ask), motif (arc to cover in "
        "strips; the\n"
        "art's own if left out), overlap=0 of those strips, rows=41 of the table, threads=0; and what the "
        "joints are\n"
        "asked about: diameter_error=\"0.1 mm\", axis_offset=\"0.1 mm\", index_error=\"0.1 deg\". Raises "
        "ValidityError,\n"
        "JobError.");
}

}  // namespace circumfluence::bindings
