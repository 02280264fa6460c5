// circumfluence sheet JOB.toml
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/set_up.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::program {
namespace {

struct Options {
  std::string job, folder = ".", tube_wall = "1 mm";
  bool text = false, json = false;
};

void run(const Options& options) {
  const double wall = above_zero("--tube-wall", options.tube_wall, "mm");
  const mark::SetUp sheet = mark::set_up(mark::prepare(job::read_job(options.job)), wall);
  const std::string stem = std::filesystem::path(options.job).stem().string();
  const std::string path = (std::filesystem::path(options.folder) / (stem + ".sheet.html")).string();
  if (!options.text) quantity::write_whole(path, mark::sheet_html(sheet));
  fmt::print("{}", options.json ? mark::sheet_json(sheet) : mark::sheet_text(sheet));
  if (!options.text && !options.json) fmt::print("\nsheet      {}\n", path);
}

}  // namespace

void add_sheet(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "sheet", "The set-up sheet: what to set at the machine, in which order, what to put back");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--folder", options->folder, "Where the page for paper (HTML) goes")
      ->capture_default_str();
  command->add_option("--tube-wall", options->tube_wall, "Wall of the card tube for the trial")
      ->capture_default_str();
  command->add_flag("--text", options->text, "Print it only, write no page");
  command->add_flag("--json", options->json, "Print it as JSON, in SI units");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
