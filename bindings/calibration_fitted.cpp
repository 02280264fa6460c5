// What a fit leaves behind: records, the job with what was learnt, before and after, drift.
#include "calibration/fitted.h"

#include "calibration_fit.h"

namespace circumfluence::bindings {

using calibration::BeforeAfter;
using calibration::Coupon;
using calibration::Drift;
using calibration::Fit;
using calibration::Fitted;
using calibration::Report;
using calibration::Side;

namespace {

void bind_fitted_type(py::module_& m) {
  py::class_<Fitted>(m, "Fitted",
                     "Records with the fitted figures, and the job with what was learnt of the machine.")
      .def_property_readonly(
          "records", [](const Fitted& f) { return f.records; }, "a list of Material, the coat's first")
      .def_property_readonly(
          "job", [](const Fitted& f) { return f.job; },
          "with these records' names; they must be kept before it can be prepared")
      .def_property_readonly(
          "scene", [](const Fitted& f) { return std::make_shared<mark::Scene>(f.scene()); },
          "the job prepared with the records, kept or not")
      .def_readonly("changes", &Fitted::changes, "a line a figure")
      .def("__str__",
           [](const Fitted& f) {
             std::string out;
             for (const std::string& line : f.changes) out += line + "\n";
             return out;
           })
      .def("__repr__", [](const Fitted& f) {
        std::string names;
        for (const workpiece::Material& record : f.records) names += " " + record.name;
        return fmt::format("<Fitted{}, {} changes>", names, f.changes.size());
      });
}

void bind_compared(py::module_& m) {
  py::class_<Side>(m, "Side", "Where the job's fill ends at its speed, and how likely it comes out good.")
      .def_property_readonly(
          "marks", [](const Side& s) { return tuple_of(s.marks); }, "[W] the 5th, 50th and 95th percentile")
      .def_property_readonly(
          "burns", [](const Side& s) { return tuple_of(s.burns); }, "[W] likewise")
      .def_property_readonly(
          "chance_marks", [](const Side& s) { return s.chances.marks; }, "[1]")
      .def_property_readonly(
          "chance_spares", [](const Side& s) { return s.chances.spares; }, "[1]")
      .def_property_readonly(
          "chance_good", [](const Side& s) { return s.chances.good; }, "[1]")
      .def("__repr__", [](const Side& s) {
        return fmt::format("<Side marks from {}, over-burns from {}, {} good>",
                           quantity::format(s.marks.middle, "W", 3), quantity::format(s.burns.middle, "W", 3),
                           mark::chance_text(s.chances.good));
      });
  py::class_<BeforeAfter>(m, "BeforeAfter", "A job's setting before and after a fit; print it for words.")
      .def_readonly("before", &BeforeAfter::before)
      .def_readonly("after", &BeforeAfter::after)
      .def_readonly("power", &BeforeAfter::power, "[W] as set")
      .def("__str__", [](const BeforeAfter& b) { return calibration::text(b); })
      .def("__repr__", [](const BeforeAfter& b) {
        return fmt::format("<BeforeAfter {} to {} to come out good>",
                           mark::chance_text(b.before.chances.good), mark::chance_text(b.after.chances.good));
      });
}

// A Fitted stands for its scene.
SharedScene side_of(const py::object& value) {
  if (py::isinstance<Fitted>(value))
    return std::make_shared<mark::Scene>(value.cast<const Fitted&>().scene());
  return scene_of(value);
}

BeforeAfter compare(const py::object& before, const py::object& after, const py::kwargs& kwargs) {
  Keywords given("compare", stated(kwargs));
  const SharedScene first = side_of(before), second = side_of(after);
  const window::Draws draws = take_draws(given, 128);
  given.done();
  const py::gil_scoped_release free;
  return calibration::compare(*first, *second, draws);
}

void write_windows(const py::object& path, const py::object& before, const py::object& after) {
  const std::string file = file_path(path);
  const SharedScene first = side_of(before), second = side_of(after);
  const py::gil_scoped_release free;
  calibration::write_picture(file, *first, *second);
}

using Pair = std::pair<Coupon, Report>;
Pair pair_of(const char* name, const py::object& value) {
  if (!py::isinstance<py::sequence>(value)) throw expected(name, "a coupon and its report", value);
  const auto pair = py::reinterpret_borrow<py::sequence>(value);
  if (pair.size() != 2) throw py::value_error(fmt::format("{}: expected a coupon and its report", name));
  return {held<Coupon>(name, pair[0]), held<Report>(name, pair[1])};
}

Drift drift(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("drift", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const py::object then = given.take("then"), now = given.take("now");
  const Pair first = pair_of("then", then), second = pair_of("now", now);
  const FitAsked asked = take_fit(given);
  given.done();
  const py::gil_scoped_release free;
  return calibration::drift(*scene, {first.first, first.second}, {second.first, second.second},
                            asked.request);
}

void bind_drift(py::module_& m) {
  py::class_<Drift>(m, "Drift", "What power arrives now of what arrived then; print it for words.")
      .def_property_readonly(
          "ratio", [](const Drift& d) { return tuple_of(d.ratio); }, "[1] the 5th, 50th and 95th percentile")
      .def_readonly("chance_lower", &Drift::chance_lower, "[1] that it has fallen")
      .def_readonly("notes", &Drift::notes)
      .def("__str__", [](const Drift& d) { return calibration::text(d); })
      .def("__repr__", [](const Drift& d) {
        return fmt::format("<Drift {:.3f}, {:.3f} to {:.3f}>", d.ratio.middle, d.ratio.low, d.ratio.high);
      });
  m.def("drift", &drift, py::arg("job"),
        "What has changed between two coupons on the same material: drift(job, then=(coupon, report), "
        "now=(coupon, "
        "report)).\n\nFurther keywords as of fit. Raises ValidityError, Interrupted.");
}

void keep(const std::vector<workpiece::Material>& records, const py::object& path) {
  calibration::keep(records, path.is_none() ? calibration::own_materials_path() : file_path(path));
}

}  // namespace

void bind_fitted(py::module_& m) {
  bind_fitted_type(m);
  bind_compared(m);
  bind_drift(m);
  m.def(
      "fitted",
      [](const py::object& job, const Fit& fit, const Report& report, const std::string& name) {
        return calibration::fitted(*scene_of(job), fit, report, name);
      },
      py::arg("job"), py::arg("fit"), py::arg("report"), py::arg("name"),
      "Records under a name of their own, and the job with what was learnt of the machine. Raises "
      "ValidityError.");
  m.def("keep", &keep, py::arg("records"), py::arg("path") = py::none(),
        "Adds records to a material file, the user's own if left out, in place of those of the same names. "
        "Raises FileError, "
        "JobError.");
  m.def("own_materials_path", &calibration::own_materials_path, "The user's own material file.");
  m.def("compare", &compare, py::arg("before"), py::arg("after"),
        "A job's setting before and after: jobs, prepared scenes or a Fitted. Keywords: draws=128, seed=1, "
        "threads=0.");
  m.def("write_windows", &write_windows, py::arg("path"), py::arg("before"), py::arg("after"),
        "Both windows over power and speed in one picture, PNG. Raises FileError.");
}

}  // namespace circumfluence::bindings
