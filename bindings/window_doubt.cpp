// What a job leaves open: its unknowns, draws of them, and which of them matters.
#include <algorithm>

#include "quantity/error.h"
#include "window/sobol.h"
#include "window_axes.h"

namespace circumfluence::bindings {

using window::Outlook;
using window::Rank;
using window::Ranking;
using window::Unknown;

namespace {

// Doubt about a scene, and the scene with its art.
struct Held {
  SharedScene scene;
  window::Doubt is;
};

py::array powers_of(const std::vector<double>& logs) {
  std::vector<double> out;
  for (const double log : logs) out.push_back(log > 600 ? quantity::kInfinity : std::exp(log));
  return taken(std::move(out));
}

// By draw, with the wall's warming where it counts.
std::vector<Outlook> outlooks_at(const Held& held, const window::Fill& fill,
                                 const std::vector<double>& speeds, bool warming,
                                 const quantity::Progress& progress) {
  const std::vector<window::WallRise> walls =
      warming ? window::wall_rises(*held.scene, fill, speeds) : std::vector<window::WallRise>{};
  return held.is.over(window::place_of(held.is.scene(), fill), speeds, walls, progress);
}

py::object over(const Held& self, const py::kwargs& kwargs) {
  Keywords given("over", stated(kwargs));
  const Values speeds = take_speeds(given);
  const window::Fill fill = take_fill(given, *self.scene);
  const bool warming = take_flag(given, "warming", false);
  const quantity::Progress progress = take_progress(given);
  given.done();
  std::vector<Outlook> found;
  {
    const py::gil_scoped_release free;
    found = outlooks_at(self, fill, speeds.values, warming, progress);
  }
  return speeds.range ? py::cast(std::move(found)) : py::cast(std::move(found.front()));
}

py::dict chances_at(const Outlook& self, const py::object& power) {
  const Values powers = values_of("power", power, "W");
  std::vector<double> marks, spares, good;
  for (const double one : powers.values) {
    if (!(one > 0 && std::isfinite(one)))
      throw quantity::ValidityError(fmt::format("power = {} W (expected a positive number)", one));
    const window::Chances c = self.at(one);
    marks.push_back(c.marks), spares.push_back(c.spares), good.push_back(c.good);
  }
  py::dict out;
  const auto put = [&](const char* name, std::vector<double>& values) {
    out[name] = powers.range ? py::object(taken(std::move(values))) : py::object(py::float_(values.front()));
  };
  put("marks", marks), put("spares", spares), put("good", good);
  return out;
}

double power_for(const Outlook& self, const py::object& chance, bool least) {
  const double share = si(chance, "%");
  if (!(share >= 0 && share <= 1))
    throw quantity::ValidityError(fmt::format("chance = {} (expected 0 to 1, such as 0.95)", share));
  return least ? self.least(share) : self.greatest(share);
}

void bind_outlook(py::module_& m) {
  py::class_<Outlook>(m, "Outlook", "Where one fill at one speed ends, draw by draw; from Doubt.over.")
      .def_property_readonly(
          "marks", [](const Outlook& o) { return powers_of(o.marks()); },
          "[W] by draw, from which it is marked if what arrives is what is set; infinity where no power does")
      .def_property_readonly(
          "burns", [](const Outlook& o) { return powers_of(o.burns()); },
          "[W] by draw, from which it over-burns")
      .def("at", &chances_at, py::arg("power"),
           "Chances [1] at a power or a range of them, in closed form over what arrives: a dict of marks, "
           "spares (does "
           "not\nover-burn) and good (both).")
      .def(
          "least", [](const Outlook& o, const py::object& chance) { return power_for(o, chance, true); },
          py::arg("chance"), "[W] from which it marks with that chance; infinity where no power does")
      .def(
          "greatest", [](const Outlook& o, const py::object& chance) { return power_for(o, chance, false); },
          py::arg("chance"), "[W] up to which it spares the part with that chance")
      .def("__repr__",
           [](const Outlook& o) { return fmt::format("<Outlook of {} draws>", o.marks().size()); });
}

void bind_doubt(py::module_& m) {
  py::class_<Held>(m, "Doubt",
                   "What a job leaves open, drawn once: Doubt(job, draws=128, seed=1, threads=0).")
      .def(py::init([](const py::object& job, const py::kwargs& kwargs) {
             Keywords given("Doubt", stated(kwargs));
             const SharedScene scene = scene_of(job);
             const window::Draws draws = take_draws(given, 128);
             given.done();
             return std::make_unique<Held>(Held{scene, window::Doubt(*scene, draws)});
           }),
           py::arg("job"))
      .def_property_readonly("scene", [](const Held& d) { return d.scene; })
      .def_property_readonly(
          "unknowns", [](const Held& d) { return d.is.unknowns(); }, "with the power that arrives")
      .def_property_readonly(
          "power_spread", [](const Held& d) { return d.is.power_spread(); },
          "[1] of ln of the power that arrives, which is not drawn")
      .def_property_readonly(
          "count", [](const Held& d) { return d.is.count(); }, "1 where nothing is left open")
      .def("over", &over,
           "The outlook at a speed, or a list of them over a range: over(speed=...). Further keywords: "
           "spacing,\n"
           "focus_offset, passes (the job's own), warming=False (count the heat that earlier lines leave), "
           "progress.")
      .def("__repr__", [](const Held& d) {
        return fmt::format("<Doubt {} unknowns, {} draws>", d.is.unknowns().size(), d.is.count());
      });
}

void bind_unknown(py::module_& m) {
  py::class_<Unknown>(m, "Unknown", "A figure that a prediction rests on and that is not known exactly.")
      .def_readonly("name", &Unknown::name, "\"polyester_powder_black.removal_energy\", \"laser.power\", ...")
      .def_readonly("words", &Unknown::words, "for a person")
      .def_readonly("value", &Unknown::value, "[SI]")
      .def_readonly("spread", &Unknown::spread,
                    "[1] standard deviation of the logarithm where `relative`, else [SI] of the figure")
      .def_property_readonly(
          "unit", [](const Unknown& u) { return std::string(u.unit); }, "to print it in")
      .def_readonly("relative", &Unknown::relative, "lognormal, else normal")
      .def("at", &Unknown::at, py::arg("deviate"), "[SI] the figure so many standard deviations away")
      .def("__repr__", [](const Unknown& u) {
        const std::string spread = quantity::format(u.spread, u.relative ? "%" : u.unit, 3);
        return fmt::format("<Unknown {}: {}, spread {}>", u.name, quantity::format(u.value, u.unit, 3),
                           spread);
      });
}

void bind_ranking(py::module_& m) {
  py::class_<Rank>(m, "Rank",
                   "Shares [1] of the variance of ln(power) that one unknown explains (Sobol indices).")
      .def_readonly("unknown", &Rank::unknown)
      .def_property_readonly("name", [](const Rank& r) { return r.unknown.name; })
      .def_readonly("marks_first", &Rank::marks_first, "alone, of the power that marks")
      .def_readonly("marks_total", &Rank::marks_total, "with all that it acts together with")
      .def_readonly("burns_first", &Rank::burns_first, "alone, of the power that over-burns")
      .def_readonly("burns_total", &Rank::burns_total)
      .def("__repr__", [](const Rank& r) {
        return fmt::format("<Rank {}: {:.2f} of marks, {:.2f} of burns>", r.unknown.name, r.marks_total,
                           r.burns_total);
      });
  py::class_<Ranking>(m, "Ranking", "Which unknown matters most; print it for a table, iterate for the rows.")
      .def_readonly("ranks", &Ranking::ranks, "the greatest total of either first")
      .def_readonly("marks_spread", &Ranking::marks_spread, "[1] standard deviation of ln(power that marks)")
      .def_readonly("burns_spread", &Ranking::burns_spread, "[1] of ln(power that over-burns)")
      .def("__len__", [](const Ranking& r) { return r.ranks.size(); })
      .def(
          "__iter__", [](const Ranking& r) { return py::make_iterator(r.ranks.begin(), r.ranks.end()); },
          py::keep_alive<0, 1>())
      .def(
          "to_dict",
          [](const Ranking& r) { return py::module_::import("json").attr("loads")(window::json(r)); },
          "The figures of the program's JSON.")
      .def("__str__", [](const Ranking& r) { return window::text(r); })
      .def("__repr__",
           [](const Ranking& r) { return fmt::format("<Ranking of {} unknowns>", r.ranks.size()); });
}

Ranking ranked(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("rank", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const window::Fill fill = take_fill(given, *scene);
  const window::Draws draws = take_draws(given, 256);
  const quantity::Progress progress = take_progress(given);
  given.done();
  const py::gil_scoped_release free;
  return window::rank(*scene, window::place_of(*scene, fill), draws, progress);
}

constexpr const char* kDeviates[] = {"uniform", "normal"};

// f is asked by this thread alone, which holds the interpreter throughout.
window::Indices indices(const py::function& f, window::Sampling sampling,
                        const quantity::Progress& progress) {
  sampling.threads = 1;
  const auto ask = [&](std::span<const double> point) {
    return f(taken(std::vector<double>(point.begin(), point.end()))).cast<double>();
  };
  return window::sobol_indices(std::function<double(std::span<const double>)>(ask), sampling, progress);
}

using Points = std::vector<double> (&)(int, int, std::uint64_t);

void bind_points(py::module_& m, const char* name, Points points, const char* doc) {
  m.def(
      name,
      [&points](int dimensions, int count, std::uint64_t seed) {
        return taken(points(dimensions, count, seed), {count, dimensions});
      },
      py::arg("dimensions"), py::arg("count"), py::arg("seed") = 1, doc);
}

void bind_sobol(py::module_& m) {
  using window::Indices;
  py::class_<Indices>(m, "Indices", "What each input explains of a function's variance.")
      .def_property_readonly(
          "first", [](const Indices& i) { return taken(i.first); }, "[1] each alone")
      .def_property_readonly(
          "total", [](const Indices& i) { return taken(i.total); }, "[1] with all it acts together with")
      .def_readonly("mean", &Indices::mean)
      .def_readonly("variance", &Indices::variance)
      .def("__repr__", [](const Indices& i) {
        return fmt::format("<Indices of {} inputs, variance {:.4g}>", i.first.size(), i.variance);
      });
  m.def(
      "sobol_indices",
      [](const py::function& f, int dimensions, int count, std::uint64_t seed, const py::object& deviates,
         const py::object& progress) {
        const auto kind = window::Deviates(Keywords::chosen("deviates", deviates, kDeviates));
        return indices(f, {.dimensions = dimensions, .count = count, .seed = seed, .deviates = kind},
                       python_progress(progress));
      },
      py::arg("f"), py::arg("dimensions"), py::arg("count") = 1024, py::arg("seed") = 1,
      py::arg("deviates") = "uniform", py::arg("progress") = py::none(),
      "Sobol indices of f(point), point a read-only array of `dimensions` independent inputs, \"uniform\" "
      "from 0 to 1 or\n"
      "\"normal\"; f is called count (dimensions + 2) times. Raises ValidityError where f answers infinity "
      "or NaN.\n"
      "Source: Saltelli et al., Comput. Phys. Commun. 181 (2010) 259; Jansen, ibid. 117 (1999) 35.");
  bind_points(m, "uniform_points", window::uniform_points,
              "Quasi-random points [count][dimensions] strictly between 0 and 1: a Sobol sequence, shifted "
              "by the seed.");
  bind_points(m, "normal_points", window::normal_points,
              "Quasi-random standard normal deviates [count][dimensions].");
}

}  // namespace

void bind_doubts(py::module_& m) {
  bind_unknown(m);
  bind_outlook(m);
  bind_doubt(m);
  bind_ranking(m);
  bind_sobol(m);
  m.def(
      "unknowns", [](const py::object& job) { return window::unknowns(*scene_of(job)); }, py::arg("job"),
      "What a prediction of this job rests on and is not known exactly: a list of Unknown.");
  m.def("rank", &ranked, py::arg("job"),
        "Which unknown matters most for the powers at which the job's setting begins to mark and to "
        "over-burn: a Ranking.\n\n"
        "Keywords: spacing, focus_offset, passes (the job's own), draws=256, seed=1, threads=0, progress. "
        "Shares of the\n"
        "variance of ln(power), Sobol's first and total indices; draws (unknowns + 2) fills are solved. The "
        "wall is as cold\n"
        "as the part. Raises ValidityError, JobError.");
}

}  // namespace circumfluence::bindings
