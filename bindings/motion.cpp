// The raster plan and the speed along a line.
#include <fmt/format.h>

#include "bind.h"
#include "motion/raster.h"

namespace circumfluence::bindings {

void bind_motion(py::module_& m) {
  using motion::Raster;
  using motion::Sweep;
  py::class_<Sweep>(m, "Sweep",
                    "One line's motion from rest to rest. Distances [m] count from the start of the run-up.")
      .def(py::init([](const py::object& run_up, const py::object& length, const py::object& speed,
                       const py::object& acceleration, const py::object& jerk) {
             return Sweep({si(run_up, "mm"), si(length, "mm")},
                          {si(speed, "mm/s"), si(acceleration, "mm/s^2"),
                           jerk.is_none() ? quantity::kUnset : si(jerk, "mm/s^3")});
           }),
           py::kw_only(), py::arg("run_up"), py::arg("length"), py::arg("speed"), py::arg("acceleration"),
           py::arg("jerk") = py::none(), "jerk None: the acceleration sets in at once.")
      .def_property_readonly("distance", &Sweep::distance, "[m]")
      .def_property_readonly("duration", &Sweep::duration, "[s]")
      .def_property_readonly("steady", &Sweep::steady,
                             "Whether the head is at full speed over the whole art.")
      .def(
          "speed_at",
          [](const Sweep& self, const py::object& d) {
            return py::vectorize([&self](double x) { return self.speed_at(x); })(si_array(d, "mm"));
          },
          py::arg("distance"), "[m/s]; same shape.")
      .def(
          "time_at",
          [](const Sweep& self, const py::object& d) {
            return py::vectorize([&self](double x) { return self.time_at(x); })(si_array(d, "mm"));
          },
          py::arg("distance"), "[s]; same shape.")
      .def(
          "distance_at",
          [](const Sweep& self, const py::object& t) {
            return py::vectorize([&self](double x) { return self.distance_at(x); })(si_array(t, "s"));
          },
          py::arg("time"), "[m] since the start; same shape.")
      .def("__repr__", [](const Sweep& s) {
        return fmt::format("<Sweep {} in {}>", quantity::format(s.distance(), "mm"),
                           quantity::format(s.duration(), "s", 4));
      });
  using motion::Moment;
  py::class_<Moment>(m, "Moment", "Where a job has got to.")
      .def_readonly("of_pass", &Moment::pass, "from 0")
      .def_readonly("line", &Moment::line, "of those that the job burns, from 0")
      .def_readonly("along", &Moment::along, "[m] along the lines; in the run-up beyond the art")
      .def_readonly("left", &Moment::left, "[s] still to come")
      .def("__repr__", [](const Moment& at) {
        return fmt::format("<Moment in line {} of pass {}, {} left>", at.line, at.pass, quantity::format(at.left, "s", 5));
      });
  py::class_<Raster>(m, "Raster", "The plan of a fill: parallel lines over the art.")
      .def_property_readonly(
          "direction",
          [](const Raster& r) { return r.direction == motion::Direction::axial ? "axial" : "around"; })
      .def_readonly("lines", &Raster::lines, "a pass")
      .def_readonly("passes", &Raster::passes)
      .def_readonly("spacing", &Raster::spacing, "[m]")
      .def_readonly("along_from", &Raster::along_from, "[m]")
      .def_readonly("along_to", &Raster::along_to, "[m]")
      .def_readonly("turn_round", &Raster::turn_round, "[s] between lines")
      .def_readonly("duration", &Raster::duration, "[s] of the whole job")
      .def_readonly("sweep", &Raster::sweep)
      .def("cross", &Raster::cross, py::arg("line"), "[m] position of a line across.")
      .def("turn", &Raster::turn, py::arg("line"), "its place in the order of a pass")
      .def("backward", &Raster::backward, py::arg("line"), "whether it runs against the coordinate")
      .def_readonly("interleave", &Raster::interleave, "every so-manieth line is burnt first")
      .def_readonly("first_line", &Raster::first_line, "of the art's lines, how many before line 0 are left out")
      .def(
          "moment", [](const Raster& r, const py::object& elapsed) { return motion::moment(r, si(elapsed, "s")); },
          py::arg("elapsed"), "Where the job is after so long: a Moment. Before the start and after the end it is there.")
      .def("start", &Raster::start, py::arg("line"), py::arg("of_pass") = 0,
           "[s] when a line's run-up begins.")
      .def("__repr__", [](const Raster& r) {
        return fmt::format("<Raster {} lines x {} passes, {} apart, {}>", r.lines, r.passes,
                           quantity::format(r.spacing, "mm"), quantity::format(r.duration, "s", 5));
      });
}

}  // namespace circumfluence::bindings
