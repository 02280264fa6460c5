// How sure the figures of a prediction are.
#include <fmt/format.h>

#include "bind.h"
#include "window/chance.h"

namespace circumfluence::bindings {

using window::Doubtful;
using window::Doubts;

namespace {

struct Told {
  Doubts is;
  mark::MarkMap map;
};

py::tuple interval(const Doubtful& figure) {
  return py::make_tuple(figure.interval.low, figure.interval.middle, figure.interval.high);
}

Told told(const mark::MarkMap& map, int draws, std::uint64_t seed, int threads) {
  const py::gil_scoped_release free;
  const window::Doubt doubt(map.scene, {.count = draws, .seed = seed, .threads = threads});
  return {window::doubts(doubt, map), map};
}

}  // namespace

void bind_intervals(py::module_& m) {
  py::class_<Told>(m, "Doubts", "How sure the figures of a prediction are: (5th, 50th, 95th percentile) of each.")
      .def_property_readonly("least_factor", [](const Told& d) { return interval(d.is.least_factor); }, "[1] as a verdict's")
      .def_property_readonly("greatest_factor", [](const Told& d) { return interval(d.is.greatest_factor); }, "[1] as a verdict's")
      .def_property_readonly("marked", [](const Told& d) { return interval(d.is.marked); }, "[1] share of the wanted area")
      .def_property_readonly("over_burned", [](const Told& d) { return interval(d.is.over_burned); }, "[1] against the wanted area")
      .def_property_readonly("hottest", [](const Told& d) { return interval(d.is.hottest); }, "[K]")
      .def_property_readonly("chance_marks", [](const Told& d) { return d.is.chances.marks; }, "[1] by all that is stated as unsure")
      .def_property_readonly("chance_spares", [](const Told& d) { return d.is.chances.spares; }, "[1] that it doesn't over-burn")
      .def_property_readonly("chance_good", [](const Told& d) { return d.is.chances.good; }, "[1] both")
      .def(
          "chance_map", [](const Told& d) { return view(window::chance_map(d.is, d.map)); },
          "float32 [1] [around][axial]: the chance that each cell comes out marked.")
      .def("__str__", [](const Told& d) { return window::text(d.is); })
      .def("__repr__", [](const Told& d) {
        return fmt::format("<Doubts: {:.0f} % to mark, {:.0f} % to spare the part>", 100 * d.is.chances.marks, 100 * d.is.chances.spares);
      });
  m.def("doubts", &told, py::arg("mark"), py::kw_only(), py::arg("draws") = 64, py::arg("seed") = 1, py::arg("threads") = 0,
        "How sure a prediction's figures are, from draws of all that is stated as unsure: the job's own spreads and the\n"
        "material records'. Costs less than a millisecond a draw on a coated part. Raises ValidityError.");
}

}  // namespace circumfluence::bindings
