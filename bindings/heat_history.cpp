// How a place remembers a line's power.
#include <limits>

#include "heat/warmth.h"
#include "keywords.h"

namespace circumfluence::bindings {

using exposure::Echo;

namespace {

constexpr const char* kSenses[] = {"forth", "back"};
using Floats = py::array_t<float, py::array::c_style | py::array::forcecast>;

py::array heard(const Echo& echo, const py::object& sent, const py::object& sense) {
  const auto row = Floats::ensure(sent);
  if (!row) throw py::error_already_set();
  if (row.ndim() != 1 || row.size() == 0)
    throw py::value_error("sent: expected one row, the energy of each column of the line [J/m]");
  std::vector<float> out(size_t(row.size()));
  exposure::Listener(echo).row(std::span(row.data(), out.size()), 0,
                               exposure::Sense(Keywords::chosen("sense", sense, kSenses)), out);
  return taken(std::move(out));
}

py::list moments(const std::shared_ptr<Echo>& echo) {
  py::list out;
  for (const Echo::Moment& m : echo->moments)
    out.append(py::make_tuple(m.ahead, view(m.near.data(), {py::ssize_t(m.near.size())}, echo),
                              view(m.far.data(), {py::ssize_t(m.far.size())}, echo)));
  return out;
}

}  // namespace

void bind_heat_history(py::module_& m) {
  py::class_<Echo, std::shared_ptr<Echo>>(
      m, "Echo",
      "How a place remembers a line's power: weights of the columns that the "
      "beam has passed; made by history().")
      .def_property_readonly(
          "moments", &moments,
          "[(ahead, near, far)]: the beam's column less the place's, weights [1] of single "
          "columns counted back, of older boxes of twice the width each (read-only)")
      .def_property_readonly("reach", &Echo::reach, "columns that matter")
      .def("heard", &heard, py::arg("sent"), py::arg("sense") = "forth",
           "The steady line's energy [J/m] that would heat each column as much, [column].\n\n`sent`: energy "
           "per "
           "length of each column [J/m]; the outermost is continued beyond either end. `sense`: \"forth\" "
           "toward "
           "growing columns, or \"back\".")
      .def("__repr__", [](const Echo& s) {
        return fmt::format("<Echo {} moments, {} columns one by one, {} in all>", s.moments.size(), s.near,
                           s.reach());
      });
  m.def(
      "history",
      [](const py::kwargs& kwargs) {
        Keywords given("history", kwargs);
        const heat::Solid solid{given.number("conductivity", "W/(m K)"),
                                given.number("diffusivity", "mm^2/s")};
        const heat::Spot spot{given.number("along", "um"), given.number("across", "um"),
                              given.number("speed", "mm/s")};
        const heat::Track track{given.number("column", "um"),
                                given.number("wall", "mm", std::numeric_limits<double>::infinity()),
                                given.count("octaves", 5)};
        given.done();
        return std::make_shared<Echo>(heat::history(solid, spot, track));
      },
      "How a place on a line remembers the line's power: an Echo.\n\nKeywords: `conductivity` [W/(m K)], "
      "`diffusivity` [m^2/s], `along`, `across` (1/e^2 radii) [m], `speed` [m/s], `column`: step of the "
      "power along "
      "the line [m], `wall`: its thickness [m], back insulated (math.inf), `octaves` of columns kept (5). "
      "Within 4 % "
      "of the steady line's peak on the line, 8 % up to two radii beside it. Raises ValidityError unless all "
      "is "
      "positive.\nSource: instantaneous Gaussian sources, Carslaw & Jaeger 1959, section 10.");
}

}  // namespace circumfluence::bindings
