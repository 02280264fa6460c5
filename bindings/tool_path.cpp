// Tool paths as arrays of moves: as the file has them, as the machine runs them, and what is wrong with them.
#include "motion/tool_path.h"

#include "motion/rotary.h"
#include "path_given.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::bindings {

using motion::Move;

namespace {

// A row of `moves`.
struct Row {
  std::uint8_t kind;
  bool follows_speed, darkened;
  float power;
  double axial_from, around_from, height_from, axial_to, around_to, height_to, arc_axial, arc_around,
      arc_angle;
  double length, speed, pause;
  std::int64_t line, offset;
};
// And of `travels`: the same with the times.
struct TimedRow {
  Row move;
  double start, duration, entry, top, leave, acceleration;
};

Row row_of(const Move& m) {
  return {.kind = std::uint8_t(m.kind),
          .follows_speed = m.follows_speed,
          .darkened = m.darkened,
          .power = m.power,
          .axial_from = m.from.axial,
          .around_from = m.from.around,
          .height_from = m.from.height,
          .axial_to = m.to.axial,
          .around_to = m.to.around,
          .height_to = m.to.height,
          .arc_axial = m.arc.axial,
          .arc_around = m.arc.around,
          .arc_angle = m.arc.angle,
          .length = m.length(),
          .speed = m.speed,
          .pause = m.pause,
          .line = m.line,
          .offset = m.offset};
}

Move move_of(const Row& r) {
  Move m;
  m.kind = Move::Kind(r.kind);
  m.power = r.power;
  m.from = {r.axial_from, r.around_from, r.height_from};
  m.to = {r.axial_to, r.around_to, r.height_to};
  m.arc = {r.arc_axial, r.arc_around, r.arc_angle};
  return m;
}

// A page of a path's moves.
struct ToolPath {
  std::string file;
  std::vector<TimedRow> rows;  // without times: those of a move
  bool timed = false, complete = true;
  std::int64_t skip = 0;
  double duration = quantity::kUnset;  // [s] of the whole
  motion::PathNotes notes;
};

// Which moves to keep.
struct Page {
  std::int64_t skip, most;

  bool holds(std::int64_t index) const { return index >= skip && index - skip < most; }
};

Page page_of(std::int64_t skip, std::int64_t most) {
  if (skip < 0 || most < 0)
    throw quantity::ValidityError(fmt::format("skip = {}, most = {} (expected 0 or more)", skip, most));
  return {skip, most};
}

using Shared = std::shared_ptr<ToolPath>;

Shared read_path(const py::object& job, std::int64_t most, std::int64_t skip, const py::object& progress) {
  const PathGiven path = path_of(job);
  const Page page = page_of(skip, most);
  const quantity::Progress watched = python_progress(progress);
  auto out = std::make_shared<ToolPath>();
  out->file = path.file, out->skip = skip;
  const py::gil_scoped_release free;
  std::int64_t index = 0;
  out->notes = motion::read_path(
      path.file, path.how,
      [&](const Move& move) {
        if (index - skip >= most) return out->complete = false;
        if (page.holds(index++)) out->rows.push_back({row_of(move), 0, 0, 0, 0, 0, 0});
        return true;
      },
      watched);
  return out;
}

Shared travel_times(const py::object& job, std::int64_t most, std::int64_t skip, const py::object& progress) {
  const PathGiven path = path_of(job);
  const Page page = page_of(skip, most);
  const quantity::Progress watched = python_progress(progress);
  auto out = std::make_shared<ToolPath>();
  out->file = path.file, out->skip = skip, out->timed = true;
  const py::gil_scoped_release free;
  std::int64_t index = 0;
  motion::Planner planner(path.machine, [&](const motion::Travel& t) {
    if (page.holds(index++))
      out->rows.push_back({row_of(t.move), t.start, t.duration, t.entry, t.top, t.leave, t.acceleration});
    return true;
  });
  out->notes = motion::read_path(
      path.file, path.how, [&planner](const Move& move) { return planner.take(move); }, watched);
  planner.finish();
  out->duration = planner.elapsed();
  out->complete = index - skip <= most;
  return out;
}

// Only the fields of a move, where there are no times. The array shares the rows' memory.
py::array moves(const Shared& path) {
  const py::dtype timed = py::dtype::of<TimedRow>();
  py::list names, formats, offsets;
  const py::dtype move = py::dtype::of<Row>();
  const auto add = [&](const py::dtype& fields, std::ptrdiff_t shift) {
    for (const py::handle& name : fields.attr("names")) {
      const py::tuple field = fields.attr("fields")[name];
      names.append(name), formats.append(field[0]), offsets.append(field[1].cast<std::ptrdiff_t>() + shift);
    }
  };
  add(move, offsetof(TimedRow, move));
  if (path->timed)
    for (const py::handle& name : timed.attr("names"))
      if (name.cast<std::string>() != "move") {
        const py::tuple field = timed.attr("fields")[name];
        names.append(name), formats.append(field[0]), offsets.append(field[1]);
      }
  const py::dtype flat(names, formats, offsets, sizeof(TimedRow));
  const py::capsule keeper(new Shared(path), [](void* p) { delete static_cast<Shared*>(p); });
  py::array array(flat, {py::ssize_t(path->rows.size())}, {py::ssize_t(sizeof(TimedRow))}, path->rows.data(),
                  keeper);
  array.attr("setflags")(py::arg("write") = false);
  return array;
}

// Straight pieces: [piece][end][axial, around, height], and which of the moves each belongs to.
py::tuple pieces(const Shared& path, const py::object& tolerance) {
  const double within = si(tolerance, "mm");
  if (!(within > 0)) throw quantity::ValidityError("tolerance of chords (expected above 0 mm)");
  std::vector<double> ends;
  std::vector<std::int64_t> of;
  {
    const py::gil_scoped_release free;
    for (size_t i = 0; i < path->rows.size(); ++i)
      motion::chords(move_of(path->rows[i].move), within,
                     [&](const motion::PathPoint& a, const motion::PathPoint& b) {
                       ends.insert(ends.end(), {a.axial, a.around, a.height, b.axial, b.around, b.height});
                       of.push_back(std::int64_t(i));
                     });
  }
  const auto count = py::ssize_t(of.size());
  return py::make_tuple(taken(std::move(ends), {count, 2, 3}), taken(std::move(of)));
}

py::dict ignored(const ToolPath& path) {
  py::dict out;
  for (const motion::Ignored& one : path.notes.ignored)
    out[one.word.c_str()] = py::make_tuple(one.line, one.count);
  return out;
}

void bind_moves(py::module_& m) {
  PYBIND11_NUMPY_DTYPE(Row, kind, follows_speed, darkened, power, axial_from, around_from, height_from,
                       axial_to, around_to, height_to, arc_axial, arc_around, arc_angle, length, speed, pause,
                       line, offset);
  PYBIND11_NUMPY_DTYPE(TimedRow, move, start, duration, entry, top, leave, acceleration);
  py::class_<ToolPath, Shared>(m, "ToolPath", "Moves of a tool path, all of them or a page.")
      .def_property_readonly("moves", &moves,
                             "A structured array, SI, one row a move: kind (0 rapid, 1 feed, 2 dwell), "
                             "follows_speed, darkened, power [1] of the\n"
                             "rated one, axial_from, around_from, height_from, axial_to, around_to, "
                             "height_to [m], arc_axial, arc_around [m] its\n"
                             "centre, arc_angle [rad] (0: straight), length [m], speed [m/s] asked for, "
                             "pause [s], line of the file from 1, offset\n"
                             "[B]; from travel_times also start, duration [s], entry, top, leave [m/s], "
                             "acceleration [m/s^2]. A view.")
      .def_property_readonly(
          "complete", [](const ToolPath& p) { return p.complete; }, "whether no more moves follow")
      .def_property_readonly(
          "duration",
          [](const ToolPath& p) { return p.timed ? py::object(py::float_(p.duration)) : py::none(); },
          "[s] of the whole path; None from read_path")
      .def_property_readonly("file", [](const ToolPath& p) { return p.file; })
      .def_property_readonly(
          "lines", [](const ToolPath& p) { return p.notes.lines; }, "read")
      .def_property_readonly(
          "bytes", [](const ToolPath& p) { return p.notes.bytes; }, "read")
      .def_property_readonly(
          "ended", [](const ToolPath& p) { return p.notes.ended; }, "by M2, M30 or a closing %")
      .def_property_readonly(
          "beam_on", [](const ToolPath& p) { return p.notes.beam_on; },
          "the line whose M3 or M4 no M5 followed; 0: the beam was off")
      .def_property_readonly("ignored", &ignored,
                             "words read past without effect: {\"T1\": (line of the first, how often)}")
      .def("pieces", &pieces, py::arg("tolerance") = "0.02 mm",
           "(ends, move): straight pieces of the moves, [piece][from, to][axial, around, height] in metres, "
           "arcs within the\n"
           "tolerance; and which of `moves` each is a piece of.")
      .def("__len__", [](const ToolPath& p) { return p.rows.size(); })
      .def("__repr__", [](const ToolPath& p) {
        return fmt::format("<ToolPath {}{} moves{}{}>", p.skip > 0 ? fmt::format("after {}: ", p.skip) : "",
                           p.rows.size(), p.complete ? "" : ", more follow",
                           p.timed ? ", " + quantity::format(p.duration, "s", 5) + " in all" : "");
      });
  m.def("read_path", &read_path, py::arg("job"), py::kw_only(), py::arg("most") = 1'000'000,
        py::arg("skip") = 0, py::arg("progress") = py::none(),
        "The moves that the file of a job's [path] asks for, in the fed plane: `most` of them (some 200 "
        "bytes each) after the\n"
        "first `skip`. Words that are unknown or refused raise JobError with file, line and column. Ctrl-C "
        "stops it.");
  m.def("travel_times", &travel_times, py::arg("job"), py::kw_only(), py::arg("most") = 1'000'000,
        py::arg("skip") = 0, py::arg("progress") = py::none(),
        "The same moves with the times and speeds at which the axes of [machine] run them, planned over the "
        "whole path.");
}

// Where nothing but the art says where the focus is, and the diameter depends on that, the art is looked at.
double driven_diameter(const job::Job& job, const py::object& given) {
  const double focus_at = job.mount.focus_at;
  if (std::isnan(focus_at) && job.workpiece.shape != workpiece::Shape::straight)
    return 2 * scene_of(given)->reference_radius;
  const workpiece::Profile profile(job.workpiece);
  return 2 * motion::driven_radius(job.rotary, job.mount, profile, std::isnan(focus_at) ? 0.0 : focus_at);
}

}  // namespace

PathGiven path_of(const py::object& given) {
  const bool prepared = py::isinstance<mark::Scene>(given);
  if (!prepared && !py::isinstance<job::Job>(given)) scene_of(given);  // says what is expected
  const job::Job& job = prepared ? given.cast<const mark::Scene&>().job : given.cast<const job::Job&>();
  if (!job.has_path())
    throw quantity::JobError(
        "path.file is missing (this job burns lines of its own: plan(prepare(job)) has them)");
  PathGiven out{job.path_to(job.path.file), job.path, job.machine};
  out.how.driven_diameter =
      prepared ? 2 * given.cast<const mark::Scene&>().reference_radius : driven_diameter(job, given);
  if (job.mount.hold == motion::Hold::turning)
    out.turn = quantity::kPi * out.how.driven_diameter;
  else
    out.standing.emplace(job.workpiece);
  out.beam_offset = job.mount.beam_offset;
  out.length = job.workpiece.length;
  return out;
}

void bind_tool_path(py::module_& m) {
  bind_moves(m);
}

}  // namespace circumfluence::bindings
