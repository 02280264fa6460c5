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
                       const py::object& acceleration) {
             return Sweep({si(run_up, "mm"), si(length, "mm")},
                          {si(speed, "mm/s"), si(acceleration, "mm/s^2")});
           }),
           py::kw_only(), py::arg("run_up"), py::arg("length"), py::arg("speed"), py::arg("acceleration"))
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
      .def("__repr__", [](const Sweep& s) {
        return fmt::format("<Sweep {} in {}>", quantity::format(s.distance(), "mm"),
                           quantity::format(s.duration(), "s", 4));
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
      .def("start", &Raster::start, py::arg("line"), py::arg("of_pass") = 0,
           "[s] when a line's run-up begins.")
      .def("__repr__", [](const Raster& r) {
        return fmt::format("<Raster {} lines x {} passes, {} apart, {}>", r.lines, r.passes,
                           quantity::format(r.spacing, "mm"), quantity::format(r.duration, "s", 5));
      });
}

}  // namespace circumfluence::bindings
