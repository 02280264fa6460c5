// Stopped half way: where to start again, how the joint will look, and the rest as jobs.
#include "mark/resume.h"

#include "job/job_file.h"
#include "path_given.h"
#include "quantity/error.h"

namespace circumfluence::bindings {

using mark::Joint;

namespace {

// With what it is of.
struct Restarted {
  SharedScene scene;
  mark::Restart at;
};
struct PathRestarted {
  job::Job job;
  PathGiven path;
  mark::PathRestart at;
};

constexpr Member<Joint> kJoint[] = {
    {"overlap", "m along the line that is burnt twice; negative: left out", &Joint::overlap},
    {"least", "1 on power, below which the joint is not marked", &Joint::least},
    {"greatest", "1 on power, above which it over-burns", &Joint::greatest},
    {"tolerance", "m by which the overlap may come out short", &Joint::tolerance}};

void bind_joint(py::module_& m) {
  py::class_<Joint> joint(m, "Joint", "How the place looks where a line is taken up again.");
  define_members(joint, kJoint);
  joint
      .def_property_readonly(
          "ruling", [](const Joint& j) { return mark::kRulingNames[int(j.ruling)]; }, "as a Verdict's")
      .def_property_readonly("margin", &Joint::margin,
                             "[1] on power, the nearer one; below 1 where it is used up")
      .def("__repr__", [](const Joint& j) {
        return fmt::format("<Joint {} burnt twice: {}>", quantity::format(j.overlap, "mm", 3),
                           mark::kRulingNames[int(j.ruling)]);
      });
}

mark::Stop take_stop(Keywords& given) {
  mark::Stop stop;
  stop.elapsed = given.number("after", "s", stop.elapsed);
  stop.doubt = given.number("doubt", "s", stop.doubt);
  stop.line = given.count("line", stop.line);
  stop.cross = given.number("across", "mm", stop.cross);
  stop.along = given.number("along", "mm", stop.along);
  stop.pass = given.count("of_pass", stop.pass);
  return stop;
}

mark::PathStop take_path_stop(Keywords& given) {
  mark::PathStop stop;
  stop.elapsed = given.number("after", "s", stop.elapsed);
  if (given.has("line")) stop.line = given.take("line").cast<std::int64_t>();
  if (given.has("byte")) stop.offset = given.take("byte").cast<std::int64_t>();
  return stop;
}

bool burns_path(const py::object& job) {
  if (py::isinstance<mark::Scene>(job)) return job.cast<const mark::Scene&>().job.has_path();
  return py::isinstance<job::Job>(job) && job.cast<const job::Job&>().has_path();
}

py::object restart_lines(const py::object& job, Keywords& given) {
  const mark::Stop stop = take_stop(given);
  take_progress(given);
  given.done();
  Restarted out{scene_of(job), {}};
  {
    const py::gil_scoped_release free;
    out.at = mark::restart(*out.scene, stop);
  }
  return py::cast(std::move(out));
}

// A prepared scene's job has what its path said filled in.
job::Job as_read(const py::object& given) {
  if (!py::isinstance<mark::Scene>(given)) return given.cast<const job::Job&>();
  const job::Job& job = given.cast<const mark::Scene&>().job;
  return job::parse_job(job.text, job.name, job.folder);
}

py::object restart_path(const py::object& job, Keywords& given) {
  const mark::PathStop stop = take_path_stop(given);
  const quantity::Progress progress = take_progress(given);
  given.done();
  PathRestarted out{as_read(job), path_of(job), {}};
  {
    const py::gil_scoped_release free;
    out.at = mark::restart(out.path.file, out.path.how, out.path.machine, stop, progress);
  }
  return py::cast(std::move(out));
}

py::object restart(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("restart", stated(kwargs));
  return burns_path(job) ? restart_path(job, given) : restart_lines(job, given);
}

// The file is written, and a job that burns it.
std::vector<job::Job> rest_of_path(const PathRestarted& self, const py::object& file) {
  const std::string to = py::module_::import("os").attr("fspath")(file).cast<std::string>();
  mark::write_rest(self.path.file, self.path.how, self.at.move, to);
  const std::string full = py::module_::import("os.path").attr("abspath")(to).cast<std::string>();
  return {job::replaced(self.job, "path.file", full)};
}

template <class Class, class Get>
void define_times(Class& type, const Get& get) {
  type.def_property_readonly("words", [get](const typename Class::type& r) { return get(r).words; })
      .def("__str__", [get](const typename Class::type& r) { return get(r).words; })
      .def_property_readonly(
          "elapsed", [get](const typename Class::type& r) { return get(r).elapsed; },
          "[s] gone by at the beginning of what is burnt again");
}

void bind_lines(py::module_& m) {
  py::class_<Restarted> lines(m, "Restart", "Where to start lines again; print it for words.");
  define_times(lines, [](const Restarted& r) -> const mark::Restart& { return r.at; });
  lines
      .def_property_readonly(
          "of_pass", [](const Restarted& r) { return r.at.pass; }, "from 0")
      .def_property_readonly(
          "line", [](const Restarted& r) { return r.at.line; },
          "to start again with, of those that the job burns, from 0")
      .def_property_readonly("backward", [](const Restarted& r) { return r.at.backward; })
      .def_property_readonly(
          "across", [](const Restarted& r) { return r.at.cross; },
          "[m] where that line lies, as the art is fed")
      .def_property_readonly(
          "along", [](const Restarted& r) { return r.at.along; },
          "[m] where the beam went out; NaN: not known")
      .def_property_readonly(
          "lines_twice", [](const Restarted& r) { return r.at.lines_twice; },
          "beside it, as the time is in doubt")
      .def_property_readonly(
          "left", [](const Restarted& r) { return r.at.left; }, "[s] still to come from its beginning")
      .def_property_readonly(
          "repeated", [](const Restarted& r) { return r.at.repeated; },
          "the Joint of the line burnt again from its beginning; None: it had not begun")
      .def_property_readonly(
          "joined", [](const Restarted& r) { return r.at.joined; },
          "the Joint where the line is taken up where the beam went out; None: not known, or not begun")
      .def_property_readonly(
          "repeat", [](const Restarted& r) { return r.at.repeat; }, "rather than join")
      .def("__repr__", [](const Restarted& r) { return fmt::format("<Restart with line {}>", r.at.line); });
}

void bind_path(py::module_& m) {
  py::class_<PathRestarted> path(m, "PathRestart", "Where to start a tool path again; print it for words.");
  define_times(path, [](const PathRestarted& r) -> const mark::PathRestart& { return r.at; });
  path.def_property_readonly(
          "line", [](const PathRestarted& r) { return r.at.move.line; },
          "of the file, from 1, that was under way")
      .def_property_readonly(
          "lit_since", [](const PathRestarted& r) { return r.at.chain.line; },
          "the line at which the beam had last come on")
      .def_property_readonly(
          "axial", [](const PathRestarted& r) { return r.at.place.axial; }, "[m] where the beam was")
      .def_property_readonly(
          "around", [](const PathRestarted& r) { return r.at.place.around; }, "[m]")
      .def_property_readonly(
          "along", [](const PathRestarted& r) { return r.at.along; }, "[m] of the move that are behind it")
      .def_property_readonly(
          "since", [](const PathRestarted& r) { return r.at.since; }, "[m] behind it since the beam came on")
      .def_property_readonly(
          "left", [](const PathRestarted& r) { return r.at.total - r.at.elapsed; },
          "[s] still to come from that move on")
      .def("__repr__", [](const PathRestarted& r) {
        return fmt::format("<PathRestart with line {} of the file>", r.at.move.line);
      });
}

}  // namespace

void bind_resume(py::module_& m) {
  bind_joint(m);
  bind_lines(m);
  bind_path(m);
  m.def("restart", &restart, py::arg("job"),
        "Where a job that stopped half way is started again, and how the joint will look: a Restart, of a "
        "tool path a\n"
        "PathRestart.\n\nKeywords: after (time since it began) with doubt=0; or what is seen on the part: "
        "line (from 0, of those that\n"
        "the job burns) or across (where it lies), along (where it ends), of_pass (from 0). Of a tool path: "
        "after, line (of the\n"
        "file, from 1) or byte, and progress. `job` is a Job or a prepared Scene. Raises ValidityError: "
        "nothing is left, or that\n"
        "does not say enough.");
  m.def(
      "rest", [](const Restarted& r) { return mark::rest(*r.scene, r.at); }, py::arg("restart"),
      "The rest as jobs to be burnt in order. Raises ValidityError where scan.interleave leaves lines that "
      "no job can name.");
  m.def("rest", &rest_of_path, py::arg("restart"), py::arg("file"),
        "Of a tool path: writes the rest to `file`, and gives a job that burns it.");
}

}  // namespace circumfluence::bindings
