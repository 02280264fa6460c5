// Fluence: what arrives, before anything answers.
#include <fmt/format.h>

#include "bind.h"
#include "exposure/expose.h"
#include "mark/scene.h"
#include "quantity/bands.h"

namespace circumfluence::bindings {

using exposure::Exposure;

namespace {

// Sums the events of each row; the same walk as a prediction's, without responses.
quantity::Map<float> fluence(const Exposure& exposure, int around, int axial,
                             const quantity::Progress& progress) {
  quantity::Map<float> map(around, axial);
  const quantity::Bands bands{.count = around, .band = 64, .threads = 0};
  quantity::for_bands(
      bands,
      [&](int first, int last, int) {
        const auto cursor = exposure.cursor();
        for (int row = first; row < last; ++row) {
          const std::span<float> out = map.row(row);
          std::fill(out.begin(), out.end(), 0.0f);
          for (const exposure::EventRow& event : cursor->at(row))
            for (int i = 0; i < axial; ++i)
              out[i] += event.energy[i] * (event.uniform ? event.share : event.shares[i]);
        }
      },
      progress);
  return map;
}

}  // namespace

void bind_exposure(py::module_& m) {
  py::class_<exposure::SpotState>(
      m, "SpotState",
      "A state of the spot: radii along and across the line [m], speed over the surface [m/s].")
      .def_readonly("along", &exposure::SpotState::along)
      .def_readonly("across", &exposure::SpotState::across)
      .def_readonly("speed", &exposure::SpotState::speed)
      .def("__repr__", [](const exposure::SpotState& s) {
        return fmt::format("<SpotState {} along, {} across, {}>", quantity::format(s.along, "um", 4),
                           quantity::format(s.across, "um", 4), quantity::format(s.speed, "mm/s", 4));
      });
  py::class_<Exposure>(m, "Exposure", "The events of a job: passages of the beam over rows of cells.")
      .def_property_readonly("states", [](const Exposure& e) { return e.states(); })
      .def(
          "fluence",
          [](const Exposure& self, const workpiece::Surface& surface, const py::object& progress) {
            const quantity::Progress watched = python_progress(progress);
            quantity::Map<float> map;
            {
              const py::gil_scoped_release free;
              map = fluence(self, surface.around, surface.axial, watched);
            }
            return view(map);
          },
          py::arg("surface"), py::arg("progress") = py::none(),
          "float32 [around][axial], incident J/m^2 of all events.");
}

}  // namespace circumfluence::bindings
