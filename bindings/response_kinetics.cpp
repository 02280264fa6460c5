// What a thermal cycle does to a surface.
#include "keywords.h"
#include "quantity/error.h"
#include "response/kinetics.h"

namespace circumfluence::bindings {

using response::CharDepth;
using response::Dose;
using response::MeltReach;
using response::Reaction;

namespace {

// Of growth (m^2/s), or of conversion (1/s).
double rate(const py::object& given) {
  if (!py::isinstance<py::str>(given)) return si(given, "1/s");
  try {
    return si(given, "m^2/s");
  } catch (const quantity::JobError&) {
    return si(given, "1/s");
  }
}

std::vector<double> row(const py::object& given, const char* unit) {
  const auto values = si_array(given, unit);
  if (!values) throw py::error_already_set();
  if (values.ndim() != 1) throw py::value_error("expected one row of numbers");
  std::vector<double> out;
  for (py::ssize_t i = 0; i < values.shape(0); ++i) out.push_back(values.at(i));
  return out;
}

Dose make_dose(const py::kwargs& kwargs) {
  Keywords given("Dose", kwargs);
  const auto reaction = given.take("reaction").cast<Reaction>();
  response::Shape shape{row(given.take("times"), "ms"), row(given.take("shares"), "1")};
  const response::Ground ground{
      {given.number("conductivity", "W/(m K)", 1), given.number("conductivity_slope", "W/(m K^2)", 0)},
      given.number("start", "degC")};
  const double greatest = given.number("greatest", "K");
  given.done();
  return {reaction, shape, ground, greatest};
}

py::object dose_of(const Dose& self, const py::object& rise, const py::object& background) {
  if (background.is_none())
    return py::vectorize([&self](double r) { return self.of(r); })(si_array(rise, "K"));
  return py::vectorize([&self](double r, double b) {
    const float rises[] = {float(r)}, backgrounds[] = {float(b)};
    float out[] = {0};
    self.add(rises, backgrounds, out);
    return double(out[0]);
  })(si_array(rise, "K"), si_array(background, "K"));
}

void bind_reaction(py::module_& m) {
  py::class_<Reaction>(m, "Reaction", "An Arrhenius law, rate exp(-activation / T).")
      .def(py::init([](const py::object& front, const py::object& activation) {
             return Reaction{rate(front), si(activation, "K")};
           }),
           py::kw_only(), py::arg("rate"), py::arg("activation"),
           "`rate` [1/s], or [m^2/s] for parabolic growth; `activation` E/R [K].")
      .def_readonly("rate", &Reaction::rate, "[1/s] or [m^2/s]")
      .def_readonly("activation", &Reaction::activation, "[K]")
      .def("__repr__", [](const Reaction& s) {
        return fmt::format("<Reaction {:g} exp(-{:g} K / T)>", s.rate, s.activation);
      });
  m.def(
      "temperature_of",
      [](const Reaction& reaction, const py::object& dwell) {
        return response::temperature_of(reaction, si(dwell, "ms"));
      },
      py::arg("reaction"), py::kw_only(), py::arg("dwell"),
      "Temperature [K] at which a hold for `dwell` [s] gives a dose of 1 (63 % converted). Raises "
      "ValidityError "
      "where none does.");
}

void bind_dose(py::module_& m) {
  py::class_<Dose>(
      m, "Dose",
      "The dose of one passage as a function of its linear peak rise.\n\nKeywords: `reaction`; `times` "
      "[s], ascending, and `shares` [1] of the peak, as LayeredSpot.cycle gives them; `start` [K]; "
      "`conductivity` [W/(m K)] and `conductivity_slope` [W/(m K^2)] for true temperatures (none: "
      "constant); `greatest` rise [K]. Within 0.5 % of the quadrature. Raises ValidityError for a shape or "
      "reaction that cannot be.\nSource: docs/theory/kinetics.md.")
      .def(py::init(&make_dose))
      .def("of", &dose_of, py::arg("rise"), py::arg("background") = py::none(),
           "Dose [1] or [m^2] for linear peak rises [K], broadcast; with `background`, of a wall that is "
           "warm by that "
           "much already, which `rise` includes.");
  m.def(
      "oxide",
      [](const py::object& native, const py::object& dose) {
        return py::vectorize([](double x, double sum) { return response::oxide(x, sum); })(
            si_array(native, "nm"), si_array(dose, "m^2"));
      },
      py::kw_only(), py::arg("native"), py::arg("dose"),
      "Thickness [m] of a film that was `native` [m] after a sum of doses [m^2], broadcast: parabolic "
      "growth.");
  m.def(
      "bleached",
      [](const py::object& dose) {
        return py::vectorize([](double sum) { return response::bleached(sum); })(si_array(dose, "1"));
      },
      py::arg("dose"), "Share [1] converted after a sum of doses [1], broadcast: first order.");
}

void bind_reaches(py::module_& m) {
  py::class_<MeltReach>(
      m, "MeltReach",
      "How far from the hottest point melting reaches.\n\nKeywords: `distances` [m] against `shares` "
      "[1] of the peak of the linear problem, falling from 1 at 0.")
      .def(py::init([](const py::object& distances, const py::object& shares) {
             return MeltReach(row(distances, "um"), row(shares, "1"));
           }),
           py::kw_only(), py::arg("distances"), py::arg("shares"))
      .def(
          "of",
          [](const MeltReach& self, const py::object& ratio) {
            return py::vectorize([&self](double r) { return self.of(r); })(si_array(ratio, "1"));
          },
          py::arg("ratio"), "[m] for linear peak rise over linear rise of melting, broadcast; 0 up to 1.");
  py::class_<CharDepth>(
      m, "CharDepth",
      "Depth of char under a surface that is removed, against absorbed fluence / threshold."
      "\n\nKeywords: `reaction`; `start`, `surface` (while it is removed) [K]; `dwell` w/v [s]; "
      "`diffusivity` [m^2/s]; `sensible` [1], rho c (surface - start) over the removal energy.\nSource: "
      "Carslaw & Jaeger 1959, 2.9, and heat balances; docs/theory/kinetics.md.")
      .def(py::init([](const py::kwargs& kwargs) {
        Keywords given("CharDepth", kwargs);
        const auto reaction = given.take("reaction").cast<Reaction>();
        const response::CharBody body{given.number("start", "degC"), given.number("surface", "degC"),
                                      given.number("dwell", "ms"), given.number("diffusivity", "mm^2/s"),
                                      given.number("sensible", "1")};
        given.done();
        return CharDepth(reaction, body);
      }))
      .def(
          "of",
          [](const CharDepth& self, const py::object& strength) {
            return py::vectorize([&self](double s) { return self.of(s); })(si_array(strength, "1"));
          },
          py::arg("strength"), "[m] below the surface that is left, broadcast.");
}

}  // namespace

void bind_kinetics(py::module_& m) {
  bind_reaction(m);
  bind_dose(m);
  bind_reaches(m);
}

}  // namespace circumfluence::bindings
