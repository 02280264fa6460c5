// How the wall warms while a job goes on, line by line.
#include "heat/shell.h"
#include "keywords.h"

namespace circumfluence::bindings {

namespace {

constexpr const char* kDirections[] = {"axial", "around"};
using Floats = py::array_t<float, py::array::c_style | py::array::forcecast>;

// A result, which knows its own shape.
struct Warmed {
  heat::WallWarming is;
  py::ssize_t lines, cells, around, axial;
};

// One number for every line, or one each.
py::array_t<double> each(const py::object& given, const char* name, const char* unit, py::ssize_t lines) {
  const auto values = si_array(given, unit);
  if (!values) throw py::error_already_set();
  if (values.size() != 1 && (values.ndim() != 1 || values.shape(0) != lines))
    throw py::value_error(
        fmt::format("{}: {} values (expected one, or one for each of {} lines)", name, values.size(), lines));
  py::array_t<double> out(lines);
  for (py::ssize_t i = 0; i < lines; ++i) out.mutable_at(i) = values.data()[values.size() == 1 ? 0 : i];
  return out;
}

std::vector<heat::BurntLine> lines_of(Keywords& given, const Floats& energies) {
  const py::ssize_t count = energies.shape(0);
  const auto across = each(given.take("across"), "across", "mm", count);
  const auto start = each(given.take("start"), "start", "s", count);
  const auto duration = each(given.take("duration"), "duration", "s", count);
  const auto forth = given.has("forth") ? each(given.take("forth"), "forth", "1", count)
                                        : each(py::float_(1.0), "forth", "1", count);
  const auto first = given.has("first") ? each(given.take("first"), "first", "1", count)
                                        : each(py::float_(0.0), "first", "1", count);
  std::vector<heat::BurntLine> lines;
  for (py::ssize_t i = 0; i < count; ++i)
    lines.push_back({across.at(i), start.at(i), duration.at(i), forth.at(i) != 0, int(first.at(i)),
                     std::span(energies.data(i, 0), size_t(energies.shape(1)))});
  return lines;
}

heat::Loss loss_of(Keywords& given) {
  heat::Loss loss{given.number("outside", "W/(m^2 K)", 0), given.number("inside", "W/(m^2 K)", 0), {}};
  if (given.has("water_transfer") || given.has("water_capacity"))
    loss.water = {given.number("water_transfer", "W/(m^2 K)"), given.number("water_capacity", "J/K")};
  return loss;
}

std::shared_ptr<Warmed> warm(const py::kwargs& kwargs) {
  Keywords given("warm_wall", kwargs);
  const auto energies = Floats::ensure(given.take("energies"));
  if (!energies) throw py::error_already_set();
  if (energies.ndim() != 2 || energies.shape(1) == 0)
    throw py::value_error("energies: expected [line][cell], J/m, with one cell or more");
  const auto lines = lines_of(given, energies);
  const heat::ShellJob job{.wall = {given.number("thickness", "mm"), given.number("conductivity", "W/(m K)"),
                                    given.number("capacity", "J/(m^3 K)")},
                           .loss = loss_of(given),
                           .tube = {given.number("circumference", "mm"), given.number("length", "mm"),
                                    given.count("around"), given.count("axial")},
                           .direction = motion::Direction(given.choice("direction", kDirections, 0)),
                           .beam = given.number("beam", "um"),
                           .lines = lines,
                           .wait = given.number("wait", "s", 0),
                           .window = given.number("window", "1", 1.5)};
  given.done();
  auto out = std::make_shared<Warmed>();
  {
    const py::gil_scoped_release free;
    out->is = heat::warm_wall(job);
  }
  out->lines = energies.shape(0);
  out->cells = energies.shape(1);
  out->around = job.tube.around;
  out->axial = job.tube.axial;
  return out;
}

constexpr Member<heat::WallWarming> kScalars[] = {
    {"end", "s, the time of the field", &heat::WallWarming::end},
    {"after_job", "K, mean of the wall just after the last line", &heat::WallWarming::after_job},
    {"mean", "K, of the wall at the end", &heat::WallWarming::mean},
    {"water", "K, of the water at the end", &heat::WallWarming::water},
    {"deposited", "J, until the end", &heat::WallWarming::deposited},
    {"lost", "J, until the end; the rest is stored in the wall and the water", &heat::WallWarming::lost}};

void bind_warmed(py::module_& m) {
  using Shared = std::shared_ptr<Warmed>;
  py::class_<Warmed, Shared> type(
      m, "WallWarming", "What warm_wall found. Rises are above ambient; arrays are read-only views.");
  type.def_property_readonly(
          "rises",
          [](const Shared& s) {
            return view(s->is.rises.data(), {s->lines, s->cells}, s);
          },
          "[K] [line][cell] of the lit face under the beam's centre as it passes, without the line's own "
          "heat")
      .def_property_readonly(
          "field",
          [](const Shared& s) {
            return view(s->is.field.data(), {s->around, s->axial}, s);
          },
          "[K] [around][axial] at the end, mean over the thickness")
      .def_property_readonly(
          "greatest", [](const Warmed& s) { return s.is.greatest; }, "[K] of `rises`")
      .def_property_readonly(
          "modes", [](const Warmed& s) { return s.is.modes; }, "how many were needed")
      .def_property_readonly(
          "near", [](const Warmed& s) { return s.is.near; }, "most lines that were answered one by one");
  for (const auto& scalar : kScalars)
    type.def_property_readonly(
        scalar.name, [at = scalar.at](const Warmed& s) { return s.is.*at; },
        fmt::format("[{}]", scalar.unit).c_str());
  type.def("__repr__", [](const Warmed& s) {
    return fmt::format("<WallWarming {} lines, warmest {:.1f} K, mean {:.2f} K after {:.0f} s>", s.lines,
                       s.is.greatest, s.is.mean, s.is.end);
  });
}

}  // namespace

void bind_heat_wall(py::module_& m) {
  bind_warmed(m);
  m.def("warm_wall", &warm,
        "How the wall of a tube warms while lines are burnt one after the other.\n\nThe lines: `energies` "
        "[line][cell], absorbed [J/m] per length, cell by cell from cell `first` on (0); `across`, where "
        "each lies "
        "[m]; `start` and `duration` [s]; `forth` (True), False for a line from its last cell to its first. "
        "All but "
        "`energies` may be one value for all lines. The wall: `thickness` [m], `conductivity` [W/(m K)], "
        "`capacity` "
        "[J/(m^3 K)]; `outside` and `inside` [W/(m^2 K)] (0), to air, see air_transfer; `water_transfer` "
        "[W/(m^2 K)] "
        "and `water_capacity` [J/K] where water stands behind it. The tube: `circumference`, `length` [m], "
        "cells "
        "`around` and `axial`, `direction` of the lines, \"axial\" or \"around\"; `beam`: 1/e^2 radius "
        "across them "
        "[m]. `wait` [s] from the last line to the field; `window` [line times], numerical.\nWithin 5e-4 of "
        "the "
        "greatest rise of the sum over all lines. Raises ValidityError for lines that overlap in time or "
        "leave the "
        "wall.\nSource: docs/theory/shell.md; Carslaw & Jaeger 1959.");
  m.def(
      "air_transfer",
      [](const py::object& convection, const py::object& emissivity, const py::object& temperature) {
        return heat::air_transfer(si(convection, "W/(m^2 K)"), si(emissivity, "%"), si(temperature, "degC"));
      },
      py::kw_only(), py::arg("convection"), py::arg("emissivity"), py::arg("temperature"),
      "Heat transfer to air [W/(m^2 K)]: convection plus linearised radiation, 4 eps sigma T^3, T [K].");
}

}  // namespace circumfluence::bindings
