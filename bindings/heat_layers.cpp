// Heat in layers under a moving spot.
#include "heat/layered_spot.h"
#include "heat/spot_table.h"
#include "keywords.h"

namespace circumfluence::bindings {

using heat::Layer;
using heat::LayeredSpot;

namespace {

constexpr const char* kBacks[] = {"insulated", "ambient", "wetted"};

Layer layer(const py::handle& given) {
  if (py::isinstance<Layer>(given)) return given.cast<Layer>();
  if (!py::isinstance<py::sequence>(given) || py::isinstance<py::str>(given) || py::len(given) != 3)
    throw py::type_error("expected a Layer or (thickness, conductivity, capacity)");
  const auto three = py::reinterpret_borrow<py::sequence>(given);
  return {si(three[0], "um"), si(three[1], "W/(m K)"), si(three[2], "J/(m^3 K)")};
}

// The spot with what it was made of.
struct Seen {
  heat::Stack stack;
  heat::Spot spot;
  double z;
  heat::Orders orders;
  LayeredSpot answer{stack, spot, z, orders};
};

Seen seen(const py::kwargs& kwargs) {
  Keywords given("LayeredSpot", kwargs);
  heat::Stack stack;
  for (const py::handle& one : given.take("layers")) stack.layers.push_back(layer(one));
  stack.back = heat::Back(given.choice("back", kBacks, 0));
  stack.back_transfer = given.number("back_transfer", "W/(m^2 K)", 0);
  stack.depth = given.number("depth", "um", 0);
  const heat::Spot spot{given.number("along", "um"), given.number("across", "um"),
                        given.number("speed", "mm/s")};
  const double z = given.number("z", "um", 0);
  const heat::Orders orders{given.number("order_along", "1", 2), given.number("order_across", "1", 2)};
  given.done();
  return {stack, spot, z, orders};
}

py::tuple profile(const Seen& self) {
  std::vector<float> rises(heat::SpotTable::kNodes);
  self.answer.profile(rises);
  std::vector<double> y;
  for (size_t i = 0; i < rises.size(); ++i)
    y.push_back(double(i) * self.spot.across / heat::SpotTable::kStepsPerRadius);
  return py::make_tuple(taken(std::move(y)), taken(std::move(rises)));
}

py::tuple cycle(const Seen& self, const py::object& y, double least) {
  std::vector<double> times, rises;
  for (const LayeredSpot::Sample& sample : self.answer.cycle(si(y, "um"), least)) {
    times.push_back(sample.time);
    rises.push_back(sample.rise);
  }
  return py::make_tuple(taken(std::move(times)), taken(std::move(rises)));
}

void bind_layer(py::module_& m) {
  py::class_<Layer>(m, "Layer", "One layer of a stack; only the last may be endless (thickness math.inf).")
      .def(py::init(
               [](const py::object& thickness, const py::object& conductivity, const py::object& capacity) {
                 return Layer{si(thickness, "um"), si(conductivity, "W/(m K)"), si(capacity, "J/(m^3 K)")};
               }),
           py::kw_only(), py::arg("thickness"), py::arg("conductivity"), py::arg("capacity"))
      .def_readonly("thickness", &Layer::thickness, "[m]")
      .def_readonly("conductivity", &Layer::conductivity, "[W/(m K)]")
      .def_readonly("capacity", &Layer::capacity, "[J/(m^3 K)] by volume")
      .def("__repr__", [](const Layer& s) {
        return fmt::format("<Layer {}, {:g} W/(m K), {:g} J/(m^3 K)>",
                           std::isinf(s.thickness) ? "endless" : quantity::format(s.thickness, "um"),
                           s.conductivity, s.capacity);
      });
}

}  // namespace

void bind_heat_layers(py::module_& m) {
  bind_layer(m);
  py::class_<Seen>(
      m, "LayeredSpot",
      "Temperature rise per absorbed watt in a stack of layers under a moving spot, at one depth."
      "\n\nKeywords: `layers`, from the lit surface down, each a Layer or (thickness [m], "
      "conductivity [W/(m K)], capacity [J/(m^3 K)]), the last may have thickness math.inf; `along`, "
      "`across`: 1/e^2 radii [m]; `speed` [m/s]; `z`: depth seen [m]; `depth`: optical depth of the "
      "first layer [m], 0: absorbed at the surface; `back`: \"insulated\", \"ambient\" or \"wetted\" "
      "behind a last layer that ends, with `back_transfer` [W/(m^2 K)]; `order_along`, "
      "`order_across`: 2 Gaussian to 40 flat.\nExact to 1e-4 of the peak (flat tops 3e-4). "
      "Raises ValidityError for a stack or spot that cannot be computed.\nSources: Burgener & Reedy "
      "1982; Rosenthal 1946; docs/theory/layers.md.")
      .def(py::init(&seen))
      .def(
          "rise",
          [](const Seen& self, const py::object& x, const py::object& y) {
            return py::vectorize([&self](double px, double py_) { return self.answer.rise(px, py_); })(
                si_array(x, "um"), si_array(y, "um"));
          },
          py::arg("x") = 0.0, py::arg("y") = 0.0,
          "Rise [K/W] at x ahead of the beam and y beside its line [m], broadcast.")
      .def(
          "peak",
          [](const Seen& self, const py::object& y) {
            const heat::Peak peak = self.answer.peak(si(y, "um"));
            return py::make_tuple(peak.rise, peak.x);
          },
          py::arg("y") = 0.0,
          "The most that a point beside the line reaches: (rise [K/W], where relative to the beam [m]).")
      .def("profile", &profile, "That peak across the line, on one side: (y [m], rise [K/W]).")
      .def(
          "cycle", &cycle, py::arg("y") = 0.0, py::arg("least") = 0.02,
          "What a point beside the line goes through: (time [s], 0 when the spot is abreast; rise [K/W]).\n\n"
          "From `least` of its peak to `least` again; straight lines between samples are good to 1e-3 of the "
          "peak. Raises ValidityError for a spot at rest.")
      .def("__repr__", [](const Seen& s) {
        return fmt::format("<LayeredSpot {} layer{}, {} x {}, {}, seen at {}>", s.stack.layers.size(),
                           s.stack.layers.size() == 1 ? "" : "s", quantity::format(s.spot.along, "um"),
                           quantity::format(s.spot.across, "um"), quantity::format(s.spot.speed, "mm/s"),
                           quantity::format(s.z, "um"));
      });
}

}  // namespace circumfluence::bindings
