// Many parts of one job: how many blanks, how long, how much energy.
#include "window/chance.h"

#include "window_axes.h"

namespace circumfluence::bindings {

namespace {

// What was asked, and what it comes to.
struct Batched {
  window::Batch of;
  window::Effort effort;
  window::Supply supply;
};

double chance_good(const mark::Scene& scene, const window::Draws& draws, bool warming,
                   const quantity::Progress& progress) {
  const window::Doubt doubt(scene, draws);
  const double speed = scene.job.scan.speed;
  const window::Fill fill = window::fill_of(scene.job);
  std::vector<window::WallRise> walls;
  if (warming) walls = window::wall_rises(scene, fill, {&speed, 1});
  return doubt.over(window::place_of(doubt.scene(), fill), {&speed, 1}, walls, progress)
      .front()
      .at(scene.power())
      .good;
}

Batched batch(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("batch", stated(kwargs));
  const SharedScene scene = scene_of(job);
  Batched out{{.parts = given.count("parts"),
               .chance_good = given.number("chance_good", "%", quantity::kUnset),
               .confidence = given.number("confidence", "%", 0.95),
               .handling = given.number("handling", "s", 0),
               .mains_power = given.number("mains_power", "W", 0)},
              {},
              {}};
  const window::Draws draws = take_draws(given, 128);
  const bool warming = take_flag(given, "warming", true);
  const quantity::Progress progress = take_progress(given);
  given.done();
  const py::gil_scoped_release free;
  if (std::isnan(out.of.chance_good)) out.of.chance_good = chance_good(*scene, draws, warming, progress);
  out.effort = window::effort(*scene);
  out.of.duration = out.effort.duration, out.of.energy = out.effort.energy;
  out.supply = window::supply(out.of);
  return out;
}

}  // namespace

void bind_batch(py::module_& m) {
  py::class_<Batched> type(m, "Batch", "Blanks, time and energy for a number of good parts.");
  const auto put = [&type](const char* name, const auto& get, const char* doc) {
    type.def_property_readonly(name, get, doc);
  };
  put(
      "parts", [](const Batched& b) { return b.of.parts; }, "good ones wanted");
  put(
      "chance_good", [](const Batched& b) { return b.of.chance_good; }, "[1] of one part");
  put(
      "confidence", [](const Batched& b) { return b.of.confidence; }, "[1] that the blanks suffice");
  put(
      "blanks", [](const Batched& b) { return b.supply.blanks; }, "to have at hand");
  put(
      "spares", [](const Batched& b) { return b.supply.spares; }, "of them, beyond the parts");
  put(
      "tries", [](const Batched& b) { return b.supply.tries; }, "until all are good, on average");
  put(
      "expected_good", [](const Batched& b) { return b.supply.expected_good; }, "of as many tries as parts");
  put(
      "duration", [](const Batched& b) { return b.effort.duration; }, "[s] a part, without handling");
  put(
      "beam_on", [](const Batched& b) { return b.effort.beam_on; }, "[s] of it with the beam on");
  put(
      "time", [](const Batched& b) { return b.supply.time; }, "[s] of all tries, with handling");
  put(
      "energy", [](const Batched& b) { return b.supply.energy; }, "[J] of light, of all tries");
  put(
      "mains_energy", [](const Batched& b) { return b.supply.mains_energy; }, "[J] of all tries");
  type.def("__repr__", [](const Batched& b) {
    return fmt::format("<Batch of {}: {} blanks, {} to spare>", b.of.parts, b.supply.blanks, b.supply.spares);
  });
  m.def("batch", &batch, py::arg("job"),
        "How many blanks to have at hand for so many good parts, and what they take.\n\n"
        "Keywords: parts; confidence=\"95 %\" that the blanks suffice; chance_good of one part, by default "
        "as chances() says for\n"
        "the job's own setting; handling=\"0 s\" a part; mains_power=\"0 W\"; draws=128, seed=1, "
        "warming=True, threads=0, progress.\n"
        "Parts count as independent. `job` is a Job or a prepared Scene. Raises ValidityError, JobError.");
}

}  // namespace circumfluence::bindings
