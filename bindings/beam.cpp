// The caustic, the beam's cross-section, Fresnel absorptivity.
#include <fmt/format.h>

#include "beam/caustic.h"
#include "beam/fresnel.h"
#include "beam/modulation.h"
#include "beam/spot_profile.h"
#include "bind.h"

namespace circumfluence::bindings {

void bind_beam(py::module_& m) {
  using beam::Caustic;
  using beam::SpotProfile;
  using beam::Waist;
  py::class_<Waist>(m, "Waist", "One direction of a caustic (ISO 11146-1).")
      .def_readonly("radius", &Waist::radius, "[m] 1/e^2 radius at the waist")
      .def_readonly("height", &Waist::height, "[m] of the waist above the nominal focus")
      .def_readonly("rayleigh", &Waist::rayleigh, "[m] Rayleigh length")
      .def(
          "radius_at",
          [](const Waist& self, const py::object& height) {
            return py::vectorize([&self](double z) { return self.radius_at(z); })(si_array(height, "mm"));
          },
          py::arg("height"), "[m] 1/e^2 radius at heights above the nominal focus [m]; same shape.")
      .def("__repr__", [](const Waist& w) {
        return fmt::format("<Waist {} radius, Rayleigh length {}, {} above focus>",
                           quantity::format(w.radius, "um"), quantity::format(w.rayleigh, "mm", 4),
                           quantity::format(w.height, "mm", 4));
      });
  py::class_<Caustic>(m, "Caustic",
                      "How a beam grows away from its waist, along the axis and around the part.")
      .def_readonly("axial", &Caustic::axial)
      .def_readonly("around", &Caustic::around)
      .def("__repr__", [](const Caustic& c) {
        return fmt::format("<Caustic {} x {}>", quantity::format(2 * c.axial.radius, "um"),
                           quantity::format(2 * c.around.radius, "um"));
      });
  py::class_<SpotProfile>(
      m, "SpotProfile",
      "Cross-section of a beam along one axis, t = x / w with w the second-moment radius.\n\norder 2 is "
      "Gaussian, higher orders are flat-topped; power and second moment stay the same.")
      .def(py::init<double>(), py::arg("order") = 2.0)
      .def_property_readonly("order", &SpotProfile::order)
      .def_property_readonly("reach", &SpotProfile::reach)
      .def(
          "density",
          [](const SpotProfile& self, const py::array_t<double>& t) {
            return py::vectorize([&self](double x) { return self.density(x); })(t);
          },
          py::arg("t"), "[1]; same shape as t.")
      .def(
          "cumulative",
          [](const SpotProfile& self, const py::array_t<double>& t) {
            return py::vectorize([&self](double x) { return self.cumulative(x); })(t);
          },
          py::arg("t"), "[1]; same shape as t.")
      .def("__repr__",
           [](const SpotProfile& self) { return fmt::format("SpotProfile(order={:g})", self.order()); });
  m.def(
      "fresnel",
      [](const py::array_t<double>& n, const py::array_t<double>& k, const py::array_t<double>& incidence) {
        const auto s = [](double re, double im, double cosine) { return beam::fresnel({re, im}, cosine).s; };
        const auto p = [](double re, double im, double cosine) { return beam::fresnel({re, im}, cosine).p; };
        return py::make_tuple(py::vectorize(s)(n, k, incidence), py::vectorize(p)(n, k, incidence));
      },
      py::kw_only(), py::arg("n"), py::arg("k"), py::arg("incidence"),
      "Absorptivities (s, p) of a smooth surface of index n + ik, broadcast; incidence is the cosine to the "
      "normal.");
  m.def(
      "pulse_ripple",
      [](const py::object& pitch, const py::object& radius, double duty) {
        return beam::pulse_ripple(si(pitch, "um"), si(radius, "um"), duty);
      },
      py::kw_only(), py::arg("pitch"), py::arg("radius"), py::arg("duty"),
      "Peak-to-mean ripple of a line written by pulses.");
}

}  // namespace circumfluence::bindings
