// circumfluence batch JOB.toml --parts N
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/scene.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "program/terminal.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/chance.h"

namespace circumfluence::program {
namespace {

using quantity::format;

struct Options {
  std::string job, confidence = "95 %", good, handling = "0 s", mains = "0 W";
  int parts = 1;
  bool json = false;
};

// Above 0 %, and no more than 100 % or, where only certainty would do, below it.
double share(const char* option, const std::string& text, bool whole) {
  const double value = quantity_of(option, text, "%");
  if (!(value > 0) || value > 1 || (value == 1 && !whole))
    throw quantity::JobError(fmt::format("{} = \"{}\" (expected above 0 % {} 100 %)", option, text,
                                         whole ? "and up to" : "and below"));
  return value;
}

// A tool path has its own time and light.
window::Effort effort_of(const mark::Scene& scene) {
  if (!scene.path) return window::effort(scene);
  return {.duration = scene.path->duration,
          .beam_on = scene.path->burning,
          .energy = scene.path->path.energy() / (1 - scene.job.laser.losses)};
}

// That an even fill of the job's settings comes out good, by all that is stated as unsure.
double chance_good(const mark::Scene& scene) {
  if (std::isnan(scene.job.scan.spacing))
    throw quantity::JobError(
        "--good is missing (a tool path whose scan.spacing is not stated has no fill to predict it from; "
        "expected the chance that a part comes out good, \"90 %\")");
  const window::Doubt doubt(scene);
  const double speed = scene.job.scan.speed;
  const window::Place place = window::place_of(scene, window::fill_of(scene.job));
  return doubt.over(place, {&speed, 1}, {}, watched_progress()).front().at(scene.power()).good;
}

void run(const Options& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  watch_interrupts();
  const window::Effort effort = effort_of(scene);
  const double confidence = share("--confidence", options.confidence, false);
  const window::Batch batch{
      .parts = options.parts,
      .chance_good = options.good.empty() ? chance_good(scene) : share("--good", options.good, true),
      .confidence = confidence,
      .duration = effort.duration,
      .energy = effort.energy,
      .handling = at_least_zero("--handling", options.handling, "s"),
      .mains_power = at_least_zero("--mains", options.mains, "W")};
  const window::Supply supply = window::supply(batch);
  if (options.json) {
    fmt::print(
        R"({{"parts": {}, "chance_good": {}, "confidence": {}, "blanks": {}, "spares": {}, "tries": {}, )"
        R"("expected_good": {}, "time": {}, "energy": {}, "mains_energy": {}}})"
        "\n",
        batch.parts, mark::json_number(batch.chance_good), mark::json_number(batch.confidence), supply.blanks,
        supply.spares, mark::json_number(supply.tries), mark::json_number(supply.expected_good),
        mark::json_number(supply.time), mark::json_number(supply.energy),
        mark::json_number(supply.mains_energy));
    return;
  }
  fmt::print("a part     {}, of it {} with the beam on; {:.4g} J of light\n", mark::clock(effort.duration),
             mark::clock(effort.beam_on), effort.energy);
  fmt::print("good       a part comes out good with a chance of {}{}\n",
             options.good.empty() ? mark::chance_text(batch.chance_good) : format(batch.chance_good, "%"),
             options.good.empty() ? ", by all that is stated as unsure" : ", as given");
  fmt::print("blanks     {} for {} good: {} to spare, for a chance of {} that they suffice\n", supply.blanks,
             batch.parts, supply.spares, format(batch.confidence, "%"));
  fmt::print("tries      {:.4g} on average until {} are good\n", supply.tries, batch.parts);
  fmt::print("time       {} on average{}\n", mark::clock(supply.time),
             batch.handling > 0 ? ", handling included" : "");
  if (batch.mains_power > 0)
    fmt::print("mains      {}\n", format(supply.mains_energy / 3.6e6, "", 4) + " kWh");
  fmt::print(
      "note       Parts count as independent. What they share, a figure of the coat or a wrong focus, spoils "
      "all of them "
      "alike: burn one, look at it, then the others.\n");
  for (const std::string& caution : mark::cautions(scene)) fmt::print("caution    {}\n", caution);
}

}  // namespace

void add_batch(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("batch", "Many parts of one job: how many blanks, how long, how much energy");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--parts", options->parts, "Good parts wanted")
      ->required()
      ->check(CLI::Range(1, 1'000'000));
  command->add_option("--confidence", options->confidence, "Chance that the blanks suffice")
      ->capture_default_str();
  command->add_option("--good", options->good, "Chance that a part comes out good; if absent, as predicted");
  command->add_option("--handling", options->handling, "Time to change a part")->capture_default_str();
  command->add_option("--mains", options->mains, "Power that machine and extraction draw")
      ->capture_default_str();
  command->add_flag("--json", options->json, "Print the answer as JSON, in SI units");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
