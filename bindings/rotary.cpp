// What turns the part: its steps, how it sits, whether a full turn closes, what trials say, and how art
// lands.
#include "motion/rotary.h"

#include "measured.h"
#include "quantity/error.h"

namespace circumfluence::bindings {

using motion::Band;
using motion::Closure;
using motion::Landing;
using motion::Seat;
using motion::Steps;

namespace {

// Steps of what, and how they were asked for.
struct Corrected {
  std::optional<Measured> steps;
  Measured art_scale;
  double left;
};

constexpr Member<Steps> kSteps[] = {{"a_turn", "1", &Steps::a_turn},
                                    {"exact", "1/m", &Steps::exact},
                                    {"stored", "1/m", &Steps::stored},
                                    {"travel", "m of the surface, a turn of the output", &Steps::travel},
                                    {"smallest", "m of the surface, one step", &Steps::smallest}};
constexpr Member<Seat> kSeat[] = {
    {"contact", "m, axial; NaN where all of the widest counts", &Seat::contact},
    {"radius", "m, there", &Seat::radius},
    {"above", "m, of the part's axis above the rollers'", &Seat::above},
    {"angle", "rad from the vertical at which the rollers bear", &Seat::angle},
    {"tilt", "rad of the part's axis, up towards greater positions", &Seat::tilt},
    {"walk", "m a turn, along the axis, if one roller alone grips", &Seat::walk}};
constexpr Member<Band> kBand[] = {
    {"axial_from", "m", &Band::from},
    {"axial_to", "m", &Band::to},
    {"radius", "m, half way", &Band::radius},
    {"scale_around", "1, half way: multiply the art's size around by it", &Band::scale_around},
    {"around_from", "1, at axial_from", &Band::around_from},
    {"around_to", "1, at axial_to", &Band::around_to},
    {"scale_axial", "1, likewise along the axis", &Band::scale_axial},
    {"level", "rad, tilt of the axis that lays its top level", &Band::level}};

// [m] of the surface that the rotary drives: where rollers touch it, in a chuck where the focus was set.
double own_diameter(const mark::Scene& scene) {
  const motion::Rotary& rotary = scene.job.rotary;
  const workpiece::Profile& profile = scene.profile;
  if (rotary.drive == motion::Drive::chuck) return 2 * profile.radius(scene.focus_at);
  return 2 * (std::isnan(rotary.contact) ? profile.greatest_radius() : profile.radius(rotary.contact));
}

Steps steps(const py::object& job, const py::object& diameter, int decimals) {
  const SharedScene scene = scene_of(job);
  return motion::steps(scene->job.rotary, diameter.is_none() ? own_diameter(*scene) : si(diameter, "mm"),
                       decimals);
}

Closure closure(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("closure", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const double own = own_diameter(*scene);
  motion::FullTurn turn{.entered = given.number("entered", "mm", own), .diameter = own};
  if (given.has("diameter")) {
    const motion::Measure diameter = measure_of(given.take("diameter"), "mm");
    turn.diameter = diameter.value, turn.diameter_spread = diameter.spread;
  }
  turn.diameter_spread = given.number("diameter_spread", "mm", turn.diameter_spread);
  turn.decimals = given.count("decimals", turn.decimals);
  given.done();
  return motion::closure(scene->job.rotary, turn);
}

double chance_in_step(const py::object& job, const py::object& spacing) {
  const SharedScene scene = scene_of(job);
  return motion::chance_in_step(scene->job.rotary,
                                spacing.is_none() ? scene->job.scan.spacing : si(spacing, "mm"));
}

Corrected correction(const py::object& asked, const py::object& got, const py::object& reading,
                     const py::object& set_steps) {
  const bool known = !set_steps.is_none();
  const motion::Trial trial{si(asked, "mm"), si(got, "mm"), si(reading, "mm")};
  const motion::Correction found = motion::correction(known ? si(set_steps, "1/mm") : 1.0, trial);
  Corrected out{{}, {found.art_scale, "1"}, found.left};
  if (known) out.steps = Measured{found.steps, "1/mm"};
  return out;
}

std::vector<double> readings(const char* name, const py::object& given) {
  return values_of(name, given, "mm").values;
}

std::vector<Band> bands(const py::object& job, const py::object& from, const py::object& to) {
  const SharedScene scene = scene_of(job);
  const double length = scene->profile.length();
  const double low = from.is_none() ? std::max(0.0, scene->art.axial_from) : si(from, "mm");
  const double high = to.is_none() ? std::min(length, scene->art.axial_to) : si(to, "mm");
  return motion::bands(scene->job.workpiece, low, high, scene->reference_radius);
}

std::string landing_text(const Landing& landing) {
  std::string out = motion::words(landing) + "\n";
  for (const std::string& row : motion::letter(landing)) out += row + "\n";
  return out;
}

void bind_measure(py::module_& m) {
  py::class_<Measured>(m, "Measure",
                       "A figure and its standard deviation, SI; it can be given wherever a quantity can.")
      .def_property_readonly("value", [](const Measured& x) { return x.measure.value; })
      .def_property_readonly(
          "spread", [](const Measured& x) { return x.measure.spread; }, "standard deviation")
      .def("__float__", [](const Measured& x) { return x.measure.value; })
      .def("__str__", &words_of)
      .def("__repr__", [](const Measured& x) { return "<Measure " + words_of(x) + ">"; });
}

void bind_drive(py::module_& m) {
  py::class_<Steps> found(m, "Steps", "Steps that put a diameter right.");
  define_members(found, kSteps);
  found.def("__repr__", [](const Steps& s) {
    return fmt::format("<Steps {} a turn, {} stored>", quantity::format(s.a_turn, "1", 8),
                       quantity::format(s.stored, "1/mm", 8));
  });
  py::class_<Seat> lies(m, "Seat", "How a part lies on two rollers.");
  define_members(lies, kSeat);
  lies.def("__repr__", [](const Seat& s) {
    return fmt::format("<Seat axis {} above the rollers', tilted by {}>", quantity::format(s.above, "mm", 4),
                       quantity::format(s.tilt, "deg", 3));
  });
  py::class_<Closure> seam(
      m, "Closure", "What a full turn leaves open (+) or overlaps (-) at the seam, by cause: Measures [m].");
  const auto part = [&seam](const char* name, motion::Measure Closure::*at) {
    seam.def_property_readonly(name, [at](const Closure& c) { return Measured{c.*at, "mm"}; });
  };
  part("diameter", &Closure::diameter), part("whole_steps", &Closure::whole_steps),
      part("set_steps", &Closure::set_steps);
  part("slip", &Closure::slip), part("backlash", &Closure::backlash), part("sum", &Closure::sum);
  seam.def(
          "chance", [](const Closure& c, const py::object& most) { return c.chance(si(most, "mm")); },
          py::arg("most"), "[1] that the gap or overlap is at most this wide.")
      .def("__repr__", [](const Closure& c) {
        return "<Closure " + words_of({c.sum, "mm"}) + ">";
      });
  m.def("steps", &steps, py::arg("job"), py::kw_only(), py::arg("diameter") = py::none(),
        py::arg("decimals") = 3,
        "Steps that make arcs come out as drawn, on `diameter`: where the focus is set, if left out. On "
        "rollers the diameter\n"
        "makes no difference. `decimals` of 1/mm is what the controller keeps. `job` is a Job or a prepared "
        "Scene, here and\n"
        "below. Raises JobError naming the key of [rotary] that is missing.");
  m.def(
      "seat",
      [](const py::object& job) {
        const SharedScene scene = scene_of(job);
        return motion::seat(scene->job.rotary, scene->profile);
      },
      py::arg("job"), "How the part lies on the rollers of its [rotary]. Raises JobError.");
  m.def("closure", &closure, py::arg("job"),
        "Whether a commanded full turn closes.\n\nKeywords: entered (diameter that the turn is reckoned "
        "from), diameter (the true "
        "one\nthat is driven, a Measure too), both the part's own if left out; diameter_spread, decimals=3 "
        "(of steps per mm,\n"
        "where rotary.set_steps is not stated). Raises JobError, ValidityError.");
  m.def("chance_in_step", &chance_in_step, py::arg("job"), py::kw_only(), py::arg("spacing") = py::none(),
        "[1] the chance that backlash displaces lines around, burnt both ways, by no more than half a "
        "spacing.");
}

void bind_trials(py::module_& m) {
  py::class_<Corrected>(m, "Correction", "What a trial says is to be set.")
      .def_readonly("steps", &Corrected::steps, "[1/m] to set; None where set_steps was not given")
      .def_readonly("art_scale", &Corrected::art_scale, "[1] by which to stretch the art instead")
      .def_readonly("left", &Corrected::left,
                    "[1] share of any travel that stays open, as the reading has an error")
      .def("__repr__", [](const Corrected& c) {
        return fmt::format("<Correction {}art times {}>",
                           c.steps ? "steps " + words_of(*c.steps) + ", or " : "", words_of(c.art_scale));
      });
  m.def("correction", &correction, py::kw_only(), py::arg("asked"), py::arg("got"),
        py::arg("reading") = "0.2 mm", py::arg("set_steps") = py::none(),
        "Asked for a travel, got another: correction(asked=\"100 mm\", got=\"97.4 mm\", set_steps=\"80 "
        "1/mm\").\n\n"
        "reading: standard deviation of `got`. Raises ValidityError.");
  m.def(
      "slip_of",
      [](const py::object& shifts, const py::object& diameter, int turns, const py::object& reading,
         double steps) {
        const std::vector<double> all = readings("shifts", shifts);
        return Measured{motion::slip(all, {turns, measure_of(diameter, "mm"), si(reading, "mm"), steps}),
                        "%"};
      },
      py::arg("shifts"), py::kw_only(), py::arg("diameter"), py::arg("turns") = 1,
      py::arg("reading") = "0.2 mm", py::arg("steps") = 1.0,
      "Slip, from how far the last mark falls short of the first after so many turns: one shift or "
      "several.\n\n"
      "diameter: of the part, a Measure too. steps: those that were set over the right ones, since wrong ones "
      "leave the turn open as well. Several shifts have their own spread.");
  m.def(
      "backlash_of",
      [](const py::object& distances, const py::object& reading) {
        return Measured{motion::backlash(readings("distances", distances), si(reading, "mm")), "mm"};
      },
      py::arg("distances"), py::kw_only(), py::arg("reading") = "0.2 mm",
      "Backlash, from how far apart marks lie that were made at one place from both sides.");
  m.def(
      "diameter_round",
      [](const py::object& length, const py::object& reading, const py::object& thickness,
         const py::object& askew, const py::object& askew_spread) {
        return Measured{
            motion::diameter(motion::Wrapped{si(length, "mm"), si(reading, "mm"), si(thickness, "mm"),
                                             si(askew, "deg"), si(askew_spread, "deg")}),
            "mm"};
      },
      py::arg("length"), py::kw_only(), py::arg("reading") = "0.5 mm", py::arg("thickness") = 0.0,
      py::arg("askew") = 0.0, py::arg("askew_spread") = 0.0,
      "A diameter from the length once round, by strip, string or tape of a thickness, askew by an angle "
      "from square.");
  m.def(
      "diameter_across",
      [](const py::object& across, const py::object& reading) {
        return Measured{motion::diameter(readings("across", across), si(reading, "mm")), "mm"};
      },
      py::arg("across"), py::kw_only(), py::arg("reading") = "0.05 mm",
      "A diameter by caliper, several turned against each other.");
}

void bind_art(py::module_& m) {
  py::class_<Band> band(
      m, "Band", "A stretch of the part, and what art drawn in lengths of its surface is multiplied by.");
  define_members(band, kBand);
  band.def("__repr__", [](const Band& b) {
    return fmt::format("<Band {} to {}: art times {:.5g} around, {:.5g} along>",
                       quantity::format(b.from, "mm", 5), quantity::format(b.to, "mm", 5), b.scale_around,
                       b.scale_axial);
  });
  m.def("bands", &bands, py::arg("job"), py::kw_only(), py::arg("axial_from") = py::none(),
        py::arg("axial_to") = py::none(),
        "The bands of a turning part, those that its art covers if no limits are given. Raises JobError.");
  py::class_<Landing>(m, "Landing", "Which way round art lands; print it for words and the letter F.")
      .def_readonly("mirrored", &Landing::mirrored)
      .def_property_readonly("words", [](const Landing& l) { return motion::words(l); })
      .def_property_readonly(
          "letter", [](const Landing& l) { return motion::letter(l); },
          "Seven rows of an F as it lands, mouth up, '#' where it is marked.")
      .def("__str__", &landing_text)
      .def("__repr__", [](const Landing& l) { return "<Landing " + motion::words(l) + ">"; });
  m.def(
      "landing",
      [](const py::object& job) {
        const SharedScene scene = scene_of(job);
        return motion::landing(scene->job.artwork, scene->job.mount);
      },
      py::arg("job"), "Which way round the job's art lands. Raises JobError.");
}

}  // namespace

std::string words_of(const Measured& measured) {
  const auto& [value, spread] = measured.measure;
  const std::string said = quantity::format(value, measured.unit, 6);
  return spread > 0 ? said + ", give or take " + quantity::format(spread, measured.unit, 2) : said;
}

motion::Measure measure_of(const py::handle& value, const char* unit) {
  if (py::isinstance<Measured>(value)) return value.cast<const Measured&>().measure;
  return {si(value, unit), 0};
}

void bind_rotary(py::module_& m) {
  bind_measure(m);
  bind_drive(m);
  bind_trials(m);
  bind_art(m);
}

}  // namespace circumfluence::bindings
