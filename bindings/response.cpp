// Thresholds and the model of a part's answer.
#include <fmt/format.h>

#include "bind.h"
#include "response/model.h"
#include "response/threshold.h"

namespace circumfluence::bindings {

void bind_response(py::module_& m) {
  using response::Model;
  m.def(
      "threshold",
      [](const workpiece::Material& material, const py::object& start, const py::object& dwell) {
        return response::threshold(material, si(start, "degC"), si(dwell, "ms"));
      },
      py::arg("material"), py::kw_only(), py::arg("start"), py::arg("dwell"),
      "Absorbed fluence that starts removal [J/m^2], at a starting temperature [K] and a dwell w/v "
      "[s].\n\nFrom the record's measured threshold, else constant flux on a thick film (Carslaw & Jaeger "
      "1959, 2.9).");
  py::class_<Model>(m, "Model", "A part's answer to light as numbers.")
      .def_property_readonly("body",
                             [](const Model& s) { return response::kBodyNames[int(s.body)]; })
      .def_property_readonly(
          "thresholds", [](const Model& s) { return taken(s.thresholds); }, "[J/m^2] absorbed, by spot state")
      .def_readonly("start", &Model::start, "[K]")
      .def_readonly("onset", &Model::onset, "[K] from which a bare base is marked")
      .def_readonly("limit", &Model::limit, "[K] from which it counts as over-burned")
      .def_readonly("transmitted", &Model::transmitted,
                    "[1] share of the light that passes through a clear base")
      .def_readonly("notes", &Model::notes)
      .def("__repr__", [](const Model& s) {
        return fmt::format("<Model {} base, over-burned from {:.0f} K>",
                           response::kBodyNames[int(s.body)],
                           s.limit);
      });
}

}  // namespace circumfluence::bindings
