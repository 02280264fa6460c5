// What of a tool path is to be looked at before it is burnt.
#include "motion/path_check.h"

#include "path_given.h"

namespace circumfluence::bindings {

using motion::Finding;
using motion::Move;

namespace {

// For this part, laser and machine: what a line clears is for the model to say.
std::vector<Finding> check_prepared(const py::object& given, const quantity::Progress& progress) {
  if (py::isinstance<mark::Scene>(given)) {
    const SharedScene scene = given.cast<SharedScene>();
    const py::gil_scoped_release free;
    return mark::check_path(*scene, progress);
  }
  const job::Job job = given.cast<const job::Job&>();
  const py::gil_scoped_release free;
  return mark::check_path(mark::prepare(job), progress);
}

std::vector<Finding> check_path(const py::object& job, const py::object& clear_width,
                                const py::object& progress) {
  const PathGiven path = path_of(job);
  const quantity::Progress watched = python_progress(progress);
  if (clear_width.is_none()) return check_prepared(job, watched);
  motion::PathSetting setting{.length = path.length, .turn = path.turn, .machine = path.machine};
  if (path.standing) setting.standing = &*path.standing, setting.beam_offset = path.beam_offset;
  if (const double clears = si(clear_width, "mm"); clears > 0) setting.clear_width = clears;
  const py::gil_scoped_release free;
  motion::PathCheck check(setting);
  const auto take = [&check](const Move& move) {
    check.take(move);
    return true;
  };
  return check.finish(motion::read_path(path.file, path.how, take, watched));
}

}  // namespace

void bind_path_check(py::module_& m) {
  py::class_<Finding>(m, "Finding", "Something of a tool path to look at before it is burnt.")
      .def_property_readonly("kind", [](const Finding& f) { return motion::name(f.kind); })
      .def_readonly("count", &Finding::count)
      .def_readonly("lines", &Finding::lines, "the first few, from 1")
      .def_readonly("worst", &Finding::worst, "[SI] of what the words say")
      .def_readonly("worst_line", &Finding::worst_line)
      .def_property_readonly("words", [](const Finding& f) { return motion::words(f); })
      .def("__str__", [](const Finding& f) { return motion::words(f); })
      .def("__repr__",
           [](const Finding& f) { return fmt::format("<Finding {} x {}>", motion::name(f.kind), f.count); });
  m.def("check_path", &check_path, py::arg("job"), py::kw_only(), py::arg("clear_width") = py::none(),
        py::arg("progress") = py::none(),
        "What of a job's tool path the machine would do badly, or surely was not meant: a list of Findings, "
        "none for a path\n"
        "without fault.\n\nclear_width: that a line clears, for the spacings of fills; left out, the job is "
        "prepared and the model says;\n"
        "0: spacings are not looked at. Speeds are checked where [machine] states accelerations. Ctrl-C "
        "stops it.");
}

}  // namespace circumfluence::bindings
