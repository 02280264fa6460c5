// Which patches tell most: plans, ladders, the next patch.
#include "calibration/plan.h"

#include "calibration_given.h"

namespace circumfluence::bindings {

using calibration::Candidates;
using calibration::Fit;
using calibration::Next;
using calibration::Patch;
using calibration::Planned;
using calibration::PlanRequest;

namespace {

// With what the request points to.
struct PlanAsked {
  PlanRequest request;
  std::shared_ptr<Fit> known;
};

Candidates candidates_of(const py::object& value, const mark::Scene& scene) {
  if (!py::isinstance<py::dict>(value)) throw expected("candidates", "a dict of lists", value);
  Keywords given("candidates", py::kwargs(py::reinterpret_borrow<py::dict>(value)));
  Candidates out;
  const auto take = [&](const char* name, std::vector<double>& into, const char* unit) {
    if (given.has(name)) into = values_of(name, given.take(name), unit).values;
  };
  if (given.has("power"))
    for (const py::handle& power : py::list(given.take("power"))) out.power.push_back(power_of(power, scene));
  take("speed", out.speed, "mm/min"), take("spacing", out.spacing, "mm"),
      take("focus_offset", out.focus_offset, "mm");
  if (given.has("passes"))
    for (const double passes : values_of("passes", given.take("passes"), "1").values) {
      if (passes != std::round(passes))
        throw py::value_error(fmt::format("passes = {} (expected whole numbers)", passes));
      out.passes.push_back(int(passes));
    }
  given.done();
  return out;
}

void take_room(Keywords& given, PlanRequest& request) {
  request.width = given.number("width", "mm", request.width);
  request.height = given.number("height", "mm", request.height);
  request.side = given.number("side", "mm", request.side);
  request.ground =
      calibration::Ground(given.choice("ground", calibration::kGroundNames, int(request.ground)));
  if (given.has("duration")) request.duration = given.number("duration", "s");
}

PlanAsked take_plan(Keywords& given, const mark::Scene& scene) {
  PlanAsked out;
  PlanRequest& request = out.request;
  if (given.has("wanted")) request.wanted = patches_of(given.take("wanted"));
  if (given.has("candidates")) request.candidates = candidates_of(given.take("candidates"), scene);
  request.patches = given.count("patches", request.patches);
  take_room(given, request);
  request.power_ladder = take_flag(given, "power_ladder", false);
  request.height_ladder = take_flag(given, "height_ladder", false);
  if (given.has("known")) out.known = held<Fit, std::shared_ptr<Fit>>("known", given.take("known"));
  request.known = out.known.get();
  const window::Draws draws = take_draws(given, request.draws);
  request.draws = draws.count, request.seed = draws.seed, request.threads = draws.threads;
  request.progress = take_progress(given);
  return out;
}

Planned plan(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("plan", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const PlanAsked asked = take_plan(given, *scene);
  given.done();
  const py::gil_scoped_release free;
  return calibration::plan(*scene, asked.request);
}

Next next(const py::object& job, const std::shared_ptr<Fit>& known, const py::kwargs& kwargs) {
  Keywords given("next", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const PlanAsked asked = take_plan(given, *scene);
  given.done();
  const py::gil_scoped_release free;
  return calibration::next(*scene, *known, asked.request);
}

calibration::Coupon lay_out(const py::object& job, const py::object& patches, const py::kwargs& kwargs) {
  Keywords given("lay_out", stated(kwargs));
  const SharedScene scene = scene_of(job);
  const PlanAsked asked = take_plan(given, *scene);
  given.done();
  const std::vector<Patch> all = patches_of(patches);
  const py::gil_scoped_release free;
  return calibration::lay_out(*scene, all, asked.request);
}

py::dict candidates_around(const py::object& job, const py::object& wanted) {
  const Candidates found = calibration::candidates_around(*scene_of(job), patch_of(wanted));
  py::dict out;
  out["power"] = taken(std::vector<double>(found.power));
  out["speed"] = taken(std::vector<double>(found.speed));
  out["spacing"] = taken(std::vector<double>(found.spacing));
  out["focus_offset"] = taken(std::vector<double>(found.focus_offset));
  out["passes"] = found.passes;
  return out;
}

using Ladder = std::vector<Patch> (*)(const mark::Scene&, const Patch&, int);
auto ladder(Ladder of) {
  return [of](const py::object& job, const py::object& wanted, int lines) {
    const SharedScene scene = scene_of(job);
    const Patch setting = wanted.is_none() ? calibration::job_setting(*scene) : patch_of(wanted);
    const py::gil_scoped_release free;
    return of(*scene, setting, lines);
  };
}

void bind_planned(py::module_& m) {
  py::class_<Planned>(m, "Planned", "The coupon that tells most, and how much.")
      .def_readonly("coupon", &Planned::coupon)
      .def_readonly("entropy_before", &Planned::entropy_before, "[bit] of the outcome at the wanted settings")
      .def_property_readonly(
          "entropies", [](const Planned& p) { return taken(std::vector<double>(p.entropies)); },
          "[bit] expected after 1, 2, ... patches, in the order of `chosen`")
      .def_readonly("chosen", &Planned::chosen, "slots' numbers, the most telling one first")
      .def_readonly("notes", &Planned::notes)
      .def("__repr__", [](const Planned& p) {
        return fmt::format("<Planned {} patches: {:.2f} bit before, {:.2f} bit expected after>",
                           p.coupon.slots.size(), p.entropy_before,
                           p.entropies.empty() ? p.entropy_before : p.entropies.back());
      });
  py::class_<Next>(m, "Next", "The next most telling patch, or that one may stop; print it for words.")
      .def_readonly("stop", &Next::stop)
      .def_readonly("patch", &Next::patch, "with stop: the one that would tell most all the same")
      .def_readonly("entropy", &Next::entropy, "[bit] now")
      .def_readonly("gain", &Next::gain, "[bit] expected of that patch")
      .def_readonly("why", &Next::why, "a sentence")
      .def("__str__", [](const Next& n) { return n.why; })
      .def("__repr__", [](const Next& n) {
        return fmt::format("<Next {}: {:.2f} bit now, {:.2f} bit to gain>", n.stop ? "stop" : "patch",
                           n.entropy, n.gain);
      });
}

}  // namespace

void bind_plan(py::module_& m) {
  bind_planned(m);
  m.def("plan_coupon", &plan, py::arg("job"),
        "The coupon that tells most about whether the wanted settings are safe: a Planned.\n\n"
        "Keywords: wanted (a Patch or several; the job's own setting), candidates (a dict of lists power, "
        "speed, spacing, "
        "focus_offset, passes),\npatches=12, duration (of the whole, at most), width=\"60 mm\", height=\"40 "
        "mm\", side=\"4 mm\" "
        "of a patch, ground=\"flat\" or\n\"strip\", power_ladder=False, height_ladder=False (single lines as "
        "well), known (a "
        "Fit: results so far), draws=256, seed=1,\nthreads=0, progress. `job` is a Job or a prepared Scene. "
        "Raises "
        "ValidityError, Interrupted.");
  m.def("next_patch", &next, py::arg("job"), py::arg("known"),
        "After results: the next most telling patch, and when to stop. Keywords as of plan. Raises "
        "ValidityError, Interrupted.");
  m.def("lay_out", &lay_out, py::arg("job"), py::arg("patches"),
        "A Coupon of patches, in rows within a width and height, as many as fit. Keywords as of plan. Raises "
        "ValidityError.");
  m.def("candidates_around", &candidates_around, py::arg("job"), py::arg("wanted"),
        "What plan chooses from around a setting: a dict of arrays.");
  m.def("power_ladder", ladder(&calibration::power_ladder), py::arg("job"), py::arg("wanted") = py::none(),
        py::kw_only(), py::arg("lines") = 8,
        "Single lines over a ladder of powers, for squared_width: a list of Patch.");
  m.def("height_ladder", ladder(&calibration::height_ladder), py::arg("job"), py::arg("wanted") = py::none(),
        py::kw_only(), py::arg("lines") = 9,
        "Single lines over a ladder of heights, for caustic_fit: a list of Patch.");
}

}  // namespace circumfluence::bindings
