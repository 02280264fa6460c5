// circumfluence focus JOB.toml
#include <fmt/format.h>

#include <filesystem>
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
#include "window/focus.h"

namespace circumfluence::program {
namespace {

constexpr int kHeights = 81;

struct Options {
  std::string job, folder = ".", ovality, sag, range;
  window::FocusRequest request;
  bool no_chances = false, no_pictures = false, json = false;
};

std::vector<double> heights_within(double range) {
  if (!(range > 0))
    throw quantity::JobError(
        fmt::format("--range = \"{}\" (expected more than 0 mm)", quantity::format(range, "mm")));
  std::vector<double> out;
  for (int i = 0; i < kHeights; ++i) out.push_back(range * (2 * i - (kHeights - 1)) / (kHeights - 1));
  return out;
}

void run(Options options) {
  window::FocusRequest& request = options.request;
  if (!options.ovality.empty()) request.ovality = quantity_of("--ovality", options.ovality, "mm");
  if (!options.sag.empty()) request.sag = quantity_of("--sag", options.sag, "mm");
  if (!options.range.empty()) request.heights = heights_within(quantity_of("--range", options.range, "mm"));
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  watch_interrupts();
  request.chances = !options.no_chances;
  request.progress = watched_progress();
  const window::Focus focus = window::focus_study(scene, request);
  const std::string name = std::filesystem::path(options.job).stem().string();
  const std::string picture = (std::filesystem::path(options.folder) / (name + ".focus.png")).string();
  if (!options.no_pictures) window::write_picture(picture, focus, name);
  const std::vector<std::string> cautions = mark::cautions(scene);
  if (options.json) {
    fmt::print("{}", window::json(focus, cautions));
    return;
  }
  fmt::print("{}", window::text(focus));
  for (const std::string& caution : cautions) fmt::print("caution    {}\n", caution);
  if (!options.no_pictures) fmt::print("picture    {}\n", picture);
}

}  // namespace

void add_focus(CLI::App& app) {
  auto options = std::make_shared<Options>();
  window::FocusRequest& request = options->request;
  CLI::App* command = app.add_subcommand("focus",
                                         "How a setting answers to height: what it forgives, what moves the "
                                         "part, and the focus for the coarsest lines");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--chance", request.chance, "Least chance of coming out good")
      ->capture_default_str()
      ->check(CLI::Range(0.0, 1.0));
  command->add_option("--ovality", options->ovality, "Greatest less least diameter of the part: \"0.4 mm\"");
  command->add_option("--sag", options->sag, "How far a long part bends within the art: \"0.2 mm\"");
  command->add_option(
      "--range", options->range,
      "Heights to look at, either way from the nominal focus: \"6 mm\"; if absent, two Rayleigh lengths");
  command->add_option("--draws", request.draws.count, "How many draws of what is not known")
      ->capture_default_str();
  command->add_option("--seed", request.draws.seed, "Seed of the draws")->capture_default_str();
  command->add_option("--threads", request.draws.threads, "Threads; 0 means all")->check(CLI::Range(0, 1024));
  command->add_flag("--no-chances", options->no_chances, "Draw no chances: faster");
  command->add_option("--folder", options->folder, "Where the picture goes")->capture_default_str();
  command->add_flag("--no-pictures", options->no_pictures, "Draw no picture");
  command->add_flag("--json", options->json, "Print the answer as JSON, in SI units");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
