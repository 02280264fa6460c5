// The textbook ways: threshold and spot from line widths, a caustic from radii.
#include "calibration/regression.h"

#include "measured.h"
#include "quantity/error.h"

namespace circumfluence::bindings {

using calibration::CausticFit;
using calibration::Estimate;
using calibration::Exposed;
using calibration::SquaredWidth;

namespace {

Measured measured(const Estimate& estimate, const char* unit) {
  return {{estimate.value, estimate.error}, unit};
}

// Two columns of one length, as pairs.
template <class Pair>
std::vector<Pair> pairs(const char* names, const Values& first, const Values& second) {
  if (first.values.size() != second.values.size())
    throw py::value_error(fmt::format("{}: {} and {} of them (expected as many of both)", names,
                                      first.values.size(), second.values.size()));
  std::vector<Pair> out;
  for (size_t i = 0; i < first.values.size(); ++i) out.push_back({first.values[i], second.values[i]});
  return out;
}

SquaredWidth squared_width(const py::object& energy, const py::object& width, const py::object& exposed,
                           const py::object& error) {
  const auto how = Exposed(Keywords::chosen("exposed", exposed, calibration::kExposedNames));
  const char* unit = how == Exposed::lines ? "J/m" : "J";
  const auto widths = pairs<calibration::LineWidth>("energy and width", values_of("energy", energy, unit),
                                                    values_of("width", width, "um"));
  return calibration::squared_width(widths, how, si(error, "%"));
}

CausticFit caustic_fit(const py::object& height, const py::object& radius, const py::object& wavelength,
                       const py::object& error) {
  const auto radii = pairs<calibration::RadiusAt>("height and radius", values_of("height", height, "mm"),
                                                  values_of("radius", radius, "um"));
  return calibration::caustic_fit(radii, si(wavelength, "nm"), si(error, "%"));
}

void bind_squared_width(py::module_& m) {
  py::class_<SquaredWidth>(m, "SquaredWidth",
                           "Spot and threshold from squared widths against the logarithm of energy; print it "
                           "for words.")
      .def_property_readonly(
          "exposed", [](const SquaredWidth& s) { return calibration::kExposedNames[int(s.exposed)]; },
          "\"lines\" or \"pulses\"")
      .def_property_readonly(
          "radius", [](const SquaredWidth& s) { return measured(s.radius, "um"); },
          "Measure [m], 1/e^2, across the line")
      .def_property_readonly(
          "threshold_energy",
          [](const SquaredWidth& s) {
            return measured(s.threshold_energy, s.exposed == Exposed::lines ? "J/m" : "uJ");
          },
          "Measure [J/m] of lines, [J] of pulses")
      .def_property_readonly(
          "threshold", [](const SquaredWidth& s) { return measured(s.threshold, "J/cm^2"); },
          "Measure [J/m^2]")
      .def_readonly("correlation", &SquaredWidth::correlation, "of ln radius and ln threshold")
      .def_readonly("scatter", &SquaredWidth::scatter, "[1] of widths about the line")
      .def_readonly("notes", &SquaredWidth::notes)
      .def(
          "width",
          [](const SquaredWidth& s, const py::object& energy) {
            const char* unit = s.exposed == Exposed::lines ? "J/m" : "J";
            return py::vectorize([&s](double e) { return s.width(e); })(si_array(energy, unit));
          },
          py::arg("energy"), "[m] of the line fitted; 0 below the threshold")
      .def("__str__", [](const SquaredWidth& s) { return calibration::text(s); })
      .def("__repr__", [](const SquaredWidth& s) {
        return fmt::format("<SquaredWidth radius {}; threshold {}>", words_of(measured(s.radius, "um")),
                           words_of(measured(s.threshold, "J/cm^2")));
      });
}

void bind_caustic_fit(py::module_& m) {
  py::class_<CausticFit> type(m, "CausticFit",
                              "A caustic fitted to radii, as of ISO 11146-1; print it for words.");
  const std::tuple<const char*, Estimate CausticFit::*, const char*, const char*> figures[] = {
      {"waist", &CausticFit::waist, "um", "Measure [m], 1/e^2 radius"},
      {"waist_height", &CausticFit::waist_height, "mm", "Measure [m] above the nominal focus"},
      {"m2", &CausticFit::m2, "1", "Measure [1]"},
      {"rayleigh", &CausticFit::rayleigh, "mm", "Measure [m]"}};
  for (const auto& [name, at, unit, doc] : figures)
    type.def_property_readonly(
        name, [at = at, unit = unit](const CausticFit& c) { return measured(c.*at, unit); }, doc);
  type.def_readonly("scatter", &CausticFit::scatter, "[1] of radii about the curve")
      .def_readonly("notes", &CausticFit::notes)
      .def(
          "radius_at",
          [](const CausticFit& c, const py::object& height) {
            return py::vectorize([&c](double z) { return c.radius_at(z); })(si_array(height, "mm"));
          },
          py::arg("height"), "[m]")
      .def("__str__", [](const CausticFit& c) { return calibration::text(c); })
      .def("__repr__", [](const CausticFit& c) {
        return fmt::format("<CausticFit waist {}; M2 {}>", words_of(measured(c.waist, "um")),
                           words_of(measured(c.m2, "1")));
      });
}

}  // namespace

void bind_regression(py::module_& m) {
  bind_squared_width(m);
  bind_caustic_fit(m);
  m.def("squared_width", &squared_width, py::arg("energy"), py::arg("width"), py::kw_only(),
        py::arg("exposed") = "lines", py::arg("error") = 0.03,
        "Spot and threshold from widths of marks over a ladder of energies: power over speed [J/m], or, "
        "exposed=\"pulses\",\n"
        "of single pulses [J]. A width of 0 is no mark. error: relative, one standard deviation. Raises "
        "ValidityError.");
  m.def("caustic_fit", &caustic_fit, py::arg("height"), py::arg("radius"), py::kw_only(),
        py::arg("wavelength"), py::arg("error") = 0.03,
        "Waist, its height and M2 from 1/e^2 radii over heights above the nominal focus. Raises "
        "ValidityError.");
}

}  // namespace circumfluence::bindings
