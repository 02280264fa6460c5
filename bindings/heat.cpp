// Heat under a moving spot.
#include "bind.h"
#include "heat/kirchhoff.h"
#include "heat/moving_spot.h"
#include "heat/spot_table.h"

namespace circumfluence::bindings {

namespace {

heat::Solid solid(const py::object& conductivity, const py::object& diffusivity) {
  return {si(conductivity, "W/(m K)"), si(diffusivity, "mm^2/s")};
}

heat::Spot spot(const py::object& along, const py::object& across, const py::object& speed) {
  return {si(along, "um"), si(across, "um"), si(speed, "mm/s")};
}

}  // namespace

void bind_heat(py::module_& m) {
  using heat::SpotTable;
  m.def(
      "rise",
      [](const py::object& k, const py::object& a, const py::object& along, const py::object& across,
         const py::object& v, const py::object& x, const py::object& y, const py::object& z) {
        const heat::Solid body = solid(k, a);
        const heat::Spot beam = spot(along, across, v);
        return py::vectorize([&](double px, double py_, double pz) {
          return heat::rise(body, beam, {px, py_, pz});
        })(si_array(x, "um"), si_array(y, "um"), si_array(z, "um"));
      },
      py::kw_only(), py::arg("conductivity"), py::arg("diffusivity"), py::arg("along"), py::arg("across"),
      py::arg("speed"), py::arg("x") = 0.0, py::arg("y") = 0.0, py::arg("z") = 0.0,
      "Temperature rise of a half-space under a moving Gaussian spot [K per absorbed W].\n\n`along`, "
      "`across`: 1/e^2 radii [m]; x ahead of the beam, y beside its line, z depth [m], broadcast.\nSources: "
      "Lax 1977; Cline & Anthony 1977; Nissim et al. 1980.");
  m.def(
      "peak",
      [](const py::object& k, const py::object& a, const py::object& along, const py::object& across,
         const py::object& v, const py::object& y, const py::object& z) {
        const heat::Peak peak = heat::peak(solid(k, a), spot(along, across, v), si(y, "um"), si(z, "um"));
        return py::make_tuple(peak.rise, peak.x);
      },
      py::kw_only(), py::arg("conductivity"), py::arg("diffusivity"), py::arg("along"), py::arg("across"),
      py::arg("speed"), py::arg("y") = 0.0, py::arg("z") = 0.0,
      "The most that a point beside the line reaches while the spot passes: (rise [K/W], where along the "
      "line [m]).");
  py::class_<SpotTable>(m, "SpotTable",
                        "The peak rise beside the line, dimensionless: T = P / (k sqrt(w_along w_across)) "
                        "Theta(Pe, aspect, eta).")
      .def(py::init([](std::pair<double, double> pe, std::pair<double, double> aspect) {
             return SpotTable({pe.first, pe.second}, {aspect.first, aspect.second});
           }),
           py::kw_only(), py::arg("peclet"), py::arg("aspect"))
      .def(
          "at",
          [](const SpotTable& self, const py::array_t<double>& pe, const py::array_t<double>& aspect,
             const py::array_t<double>& eta) {
            return py::vectorize([&self](double p, double s, double e) { return self.at(p, s, e); })(
                pe, aspect, eta);
          },
          py::kw_only(), py::arg("peclet"), py::arg("aspect"), py::arg("eta"), "Theta [1], broadcast.");
  m.def(
      "true_rise",
      [](const py::object& at_start, const py::object& slope, const py::array_t<double>& linear) {
        const heat::Conductivity k{si(at_start, "W/(m K)"), si(slope, "W/(m K^2)")};
        return py::vectorize([&k](double theta) { return heat::true_rise(k, theta); })(linear);
      },
      py::kw_only(), py::arg("at_start"), py::arg("slope"), py::arg("linear"),
      "Kirchhoff transform: the true rise [K] for a linear rise, k(T) = at_start + slope (T - T0).");
  m.def(
      "linear_rise",
      [](const py::object& at_start, const py::object& slope, const py::array_t<double>& rise) {
        const heat::Conductivity k{si(at_start, "W/(m K)"), si(slope, "W/(m K^2)")};
        return py::vectorize([&k](double t) { return heat::linear_rise(k, t); })(rise);
      },
      py::kw_only(), py::arg("at_start"), py::arg("slope"), py::arg("rise"), "The inverse of true_rise.");
}

}  // namespace circumfluence::bindings
