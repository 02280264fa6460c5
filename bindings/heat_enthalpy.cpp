// The reference solver: conduction, melting and ablation in a patch.
#include "heat/enthalpy.h"
#include "keywords.h"

namespace circumfluence::bindings {

using heat::EnthalpyLayer;
using heat::EnthalpyPatch;
using heat::EnthalpyResult;
using heat::EnthalpyRun;
using heat::EnthalpySteps;

namespace {

constexpr const char* kEdges[] = {"insulated", "open", "held", "cooled"};

constexpr Member<EnthalpyLayer> kLayer[] = {
    {"thickness", "um", &EnthalpyLayer::thickness},
    {"conductivity", "W/(m K)", &EnthalpyLayer::conductivity},
    {"conductivity_slope", "W/(m K^2)", &EnthalpyLayer::conductivity_slope},
    {"capacity", "J/(m^3 K)", &EnthalpyLayer::capacity},
    {"capacity_slope", "J/(m^3 K^2)", &EnthalpyLayer::capacity_slope},
    {"solidus", "degC", &EnthalpyLayer::solidus},
    {"liquidus", "degC", &EnthalpyLayer::liquidus},
    {"latent", "J/m^3", &EnthalpyLayer::latent},
    {"absorptivity", "%", &EnthalpyLayer::absorptivity},
    {"optical_depth", "um", &EnthalpyLayer::optical_depth},
    {"removal_temperature", "degC", &EnthalpyLayer::removal_temperature},
    {"removal_heat", "J/m^3", &EnthalpyLayer::removal_heat},
    {"cell", "um", &EnthalpyLayer::cell},
    {"growth", "1", &EnthalpyLayer::growth}};

constexpr Member<EnthalpyPatch> kPatch[] = {
    {"length", "um", &EnthalpyPatch::length},
    {"half_width", "um", &EnthalpyPatch::half_width},
    {"margin", "um", &EnthalpyPatch::margin},
    {"cell_along", "um", &EnthalpyPatch::cell_along},
    {"cell_across", "um", &EnthalpyPatch::cell_across},
    {"growth", "1", &EnthalpyPatch::growth},
    {"back_coefficient", "W/(m^2 K)", &EnthalpyPatch::back_coefficient}};

constexpr Member<EnthalpyRun> kRun[] = {{"order_along", "1", &EnthalpyRun::order_along},
                                        {"order_across", "1", &EnthalpyRun::order_across},
                                        {"begin_at", "um", &EnthalpyRun::from},
                                        {"duration", "ms", &EnthalpyRun::duration},
                                        {"after", "ms", &EnthalpyRun::after},
                                        {"start", "degC", &EnthalpyRun::start}};

constexpr Member<EnthalpySteps> kSteps[] = {{"travel", "1", &EnthalpySteps::travel},
                                            {"front", "1", &EnthalpySteps::front}};

EnthalpyLayer make_layer(const py::kwargs& kwargs) {
  Keywords given("EnthalpyLayer", kwargs);
  const auto out = read_members(given, kLayer);
  given.done();
  return out;
}

EnthalpyPatch make_patch(const py::kwargs& kwargs) {
  Keywords given("EnthalpyPatch", kwargs);
  auto out = read_members(given, kPatch);
  out.sides = heat::Edge(given.choice("sides", kEdges, int(out.sides)));
  out.back = heat::Edge(given.choice("back", kEdges, int(out.back)));
  given.done();
  return out;
}

// One power or several, each a quantity.
std::vector<double> powers(const py::object& given) {
  if (py::isinstance<py::str>(given) || PyFloat_Check(given.ptr()) || PyLong_Check(given.ptr()))
    return {si(given, "W")};
  std::vector<double> out;
  for (const py::handle& one : given) out.push_back(si(one, "W"));
  return out;
}

EnthalpyRun make_run(const py::kwargs& kwargs) {
  Keywords given("EnthalpyRun", kwargs);
  auto out = read_members(given, kRun);
  out.spot = {given.number("along", "um"), given.number("across", "um"), given.number("speed", "mm/s")};
  out.power = powers(given.take("power"));
  if (given.has("probes"))
    for (const py::handle& probe : given.take("probes")) {
      if (py::len(probe) != 3) throw py::value_error("probes: expected (x, y, z) [m] each");
      const auto at = py::reinterpret_borrow<py::sequence>(probe);
      out.probes.push_back({si(at[0], "um"), si(at[1], "um"), si(at[2], "um")});
    }
  given.done();
  return out;
}

EnthalpySteps make_steps(const py::kwargs& kwargs) {
  Keywords given("EnthalpySteps", kwargs);
  auto out = read_members(given, kSteps);
  out.least = given.count("least", out.least);
  out.threads = given.count("threads", out.threads);
  given.done();
  return out;
}

void bind_inputs(py::module_& m) {
  py::class_<EnthalpyLayer> layer(
      m, "EnthalpyLayer",
      "A layer for solve_enthalpy.\n\nKeywords: `thickness`, `cell` (height of its top cell) [m], "
      "`conductivity` "
      "[W/(m K)], `capacity` [J/(m^3 K)] and `absorptivity` [1] must be given; `conductivity_slope`, "
      "`capacity_slope` "
      "per K above the start, `solidus`, `liquidus` [K] and `latent` [J/m^3], `optical_depth` [m] (0: in the "
      "top "
      "cell), `removal_temperature` [K] and `removal_heat` [J/m^3] of a film, `growth` [1] of the cells.");
  layer.def(py::init(&make_layer)).def("__repr__", [](const EnthalpyLayer& s) {
    return shown("EnthalpyLayer", s, kLayer);
  });
  define_members(layer, kLayer);
  py::class_<EnthalpyPatch> patch(m, "EnthalpyPatch",
                                  "Where solve_enthalpy has fine cells: 0 <= x <= length, 0 <= y <= "
                                  "half_width; coarser ones to the margin."
                                  "\n\nKeywords: `length`, `half_width`, `margin`, `cell_along`, "
                                  "`cell_across` [m]; `growth` [1] (1.25); `sides`, "
                                  "`back`: \"open\", \"insulated\", \"held\", and for the back \"cooled\" "
                                  "with `back_coefficient` [W/(m^2 K)].");
  patch.def(py::init(&make_patch)).def("__repr__", [](const EnthalpyPatch& s) {
    return shown("EnthalpyPatch", s, kPatch);
  });
  define_members(patch, kPatch);
  patch.def_property_readonly("sides", [](const EnthalpyPatch& s) { return kEdges[int(s.sides)]; })
      .def_property_readonly("back", [](const EnthalpyPatch& s) { return kEdges[int(s.back)]; });
  py::class_<EnthalpyRun> run(m, "EnthalpyRun",
                              "What the beam does in solve_enthalpy: along y = 0, toward +x.\n\nKeywords: "
                              "`along`, `across`: 1/e^2 radii [m]; "
                              "`speed` [m/s]; `power` [W] arriving, one or equal pieces of the way; "
                              "`begin_at` [m]; `duration` [s]; `start`: "
                              "temperature [K]; `after` [s] without light; `order_along`, `order_across` "
                              "[1]; `probes`: (x, y, z) [m].");
  run.def(py::init(&make_run)).def("__repr__", [](const EnthalpyRun& s) {
    return shown("EnthalpyRun", s, kRun);
  });
  define_members(run, kRun);
  run.def_property_readonly(
         "along", [](const EnthalpyRun& s) { return s.spot.along; }, "[m]")
      .def_property_readonly(
          "across", [](const EnthalpyRun& s) { return s.spot.across; }, "[m]")
      .def_property_readonly(
          "speed", [](const EnthalpyRun& s) { return s.spot.speed; }, "[m/s]")
      .def_readonly("power", &EnthalpyRun::power, "[W]");
  py::class_<EnthalpySteps> steps(m, "EnthalpySteps",
                                  "Steps in time of solve_enthalpy.\n\nKeywords: `travel` [1], radii that "
                                  "the beam moves in one at most (0.05); "
                                  "`least`, how many at least (200); `front` [1], film cells ablated in one, "
                                  "about, at most; `threads`, 0: all.");
  steps.def(py::init(&make_steps)).def("__repr__", [](const EnthalpySteps& s) {
    return shown("EnthalpySteps", s, kSteps);
  });
  define_members(steps, kSteps);
  steps.def_readonly("least", &EnthalpySteps::least).def_readonly("threads", &EnthalpySteps::threads);
}

using Shared = std::shared_ptr<EnthalpyResult>;

py::array row(const std::vector<double>& values, const Shared& owner) {
  return view(values.data(), {py::ssize_t(values.size())}, owner);
}

py::array plane(const std::vector<double>& values, const Shared& owner) {
  return view(values.data(), {py::ssize_t(owner->y.size()), py::ssize_t(owner->x.size())}, owner);
}

py::array cycles(const Shared& owner) {
  std::vector<double> all;
  for (const auto& probe : owner->cycle) all.insert(all.end(), probe.begin(), probe.end());
  return taken(std::move(all), {py::ssize_t(owner->cycle.size()), py::ssize_t(owner->time.size())});
}

py::dict balance(const Shared& s) {
  const heat::EnthalpyBalance& b = s->balance;
  return py::dict(py::arg("absorbed") = b.absorbed, py::arg("stored") = b.stored,
                  py::arg("ablated") = b.ablated, py::arg("lost") = b.lost,
                  py::arg("imbalance") = b.imbalance);
}

void bind_result(py::module_& m) {
  py::class_<EnthalpyResult, Shared>(m, "EnthalpyResult",
                                     "What solve_enthalpy found; arrays are read-only and keep it alive.")
      .def_property_readonly(
          "x", [](const Shared& s) { return row(s->x, s); }, "[m] centres of the cells along")
      .def_property_readonly(
          "y", [](const Shared& s) { return row(s->y, s); }, "[m] across; y[0] = 0")
      .def_property_readonly(
          "z", [](const Shared& s) { return row(s->z, s); }, "[m] from the original surface")
      .def_readonly("base", &EnthalpyResult::base, "index in z of the base's top cell")
      .def_property_readonly(
          "peak", [](const Shared& s) { return plane(s->peak, s); },
          "[K] [y][x] reached at the surface of the base")
      .def_property_readonly(
          "removed", [](const Shared& s) { return plane(s->removed, s); }, "[m] [y][x] film")
      .def_property_readonly(
          "peak_below", [](const Shared& s) { return row(s->peak_below, s); },
          "[K] [z] reached under the track in the middle of the patch")
      .def_readonly("melted_depth", &EnthalpyResult::melted_depth,
                    "[m] of the base there, as if wholly melted")
      .def_readonly("melted_width", &EnthalpyResult::melted_width, "[m] of its top cell there")
      .def_property_readonly(
          "time", [](const Shared& s) { return row(s->time, s); }, "[s] ends of the steps")
      .def_property_readonly("cycle", &cycles, "[K] [probe][time]")
      .def_property_readonly(
          "balance", &balance,
          "[J] absorbed, stored, ablated, lost, of both halves; imbalance [1] of the absorbed")
      .def_readonly("steps", &EnthalpyResult::steps)
      .def_readonly("stages", &EnthalpyResult::stages)
      .def_readonly("cells", &EnthalpyResult::cells)
      .def("__repr__", [](const EnthalpyResult& s) {
        return fmt::format("<EnthalpyResult {} cells, {} steps, energy closes to {:.1e}>", s.cells, s.steps,
                           std::abs(s.balance.imbalance));
      });
}

}  // namespace

void bind_heat_enthalpy(py::module_& m) {
  bind_inputs(m);
  bind_result(m);
  m.def(
      "solve_enthalpy",
      [](const py::iterable& layers, const py::object& patch, const py::object& run, const py::object& steps,
         const py::object& progress) {
        std::vector<EnthalpyLayer> stack;
        for (const py::handle& one : layers) stack.push_back(one_of<EnthalpyLayer>(one));
        const auto where = one_of<EnthalpyPatch>(patch);
        const auto what = one_of<EnthalpyRun>(run);
        const auto pace = steps.is_none() ? EnthalpySteps{} : one_of<EnthalpySteps>(steps);
        const quantity::Progress report = python_progress(progress);
        const py::gil_scoped_release free;
        return std::make_shared<EnthalpyResult>(heat::solve_enthalpy(stack, where, what, pace, report));
      },
      py::kw_only(), py::arg("layers"), py::arg("patch"), py::arg("run"), py::arg("steps") = py::none(),
      py::arg("progress") = py::none(),
      "The reference solver: conduction in space and time under a passing beam, with melting and a film that "
      "is "
      "ablated.\n\n`layers` from the top, the last is the base; each, and `patch`, `run`, `steps`, an "
      "EnthalpyLayer, "
      "EnthalpyPatch, EnthalpyRun, EnthalpySteps, or a dict of its keywords. `progress` is called with the "
      "share done; "
      "returning False stops (Interrupted), Ctrl-C raises KeyboardInterrupt. Other Python threads run "
      "on.\nEnergy "
      "closes to 1e-10; what else was measured is in docs/theory/reference_solver.md. Raises ValidityError "
      "for what "
      "cannot be computed.\nSources: Meyer, Balsara, Aslam 2014; Voller, Cross 1981.");
}

}  // namespace circumfluence::bindings
