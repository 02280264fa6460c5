// circumfluence predict JOB.toml
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/predict.h"
#include "program/commands.h"
#include "program/terminal.h"
#include "window/chance.h"

namespace circumfluence::program {
namespace {

struct Options {
  std::string job, folder = ".";
  bool no_file = false, no_pictures = false, compact = false, json = false, no_intervals = false;
  int threads = 0;
};

constexpr int kDraws = 64;

// Puts the object `inner` into the JSON object `outer` under a key.
std::string with(std::string outer, const char* key, const std::string& inner) {
  return outer.substr(0, outer.rfind('}')) + fmt::format(", \"{}\": {}}}\n", key, inner);
}

// The verdict, and how sure its figures are: what is not known exactly, drawn again and again.
std::string told(const mark::MarkMap& map, const Options& options) {
  mark::Verdict verdict = map.verdict;
  const bool no_fill = std::isnan(map.scene.job.scan.spacing);  // a tool path whose lines may lie anyhow
  if (options.no_intervals || no_fill || !(verdict.wanted_area > 0)) return options.json ? mark::json(verdict) : mark::text(verdict);
  const window::Doubt doubt(map.scene, {.count = kDraws, .threads = options.threads});
  const window::Doubts found = window::doubts(doubt, map);
  verdict.chance_marks = found.chances.marks;
  verdict.chance_spares = found.chances.spares;
  verdict.chances_from = "by all that is stated as unsure";
  if (options.json) return with(mark::json(verdict), "intervals", window::json(found));
  const std::string words = mark::text(verdict), after = "\nchance ";
  const size_t line = words.find('\n', words.find(after) + after.size()) + 1;
  return words.substr(0, line) + window::text(found) + words.substr(line);
}

void run(const Options& options) {
  const job::Job job = job::read_job(options.job);
  const std::string stem =
      (std::filesystem::path(options.folder) / std::filesystem::path(options.job).stem()).string();
  watch_interrupts();
  mark::Request request;
  request.file = options.no_file ? "" : stem + ".mark.h5";
  request.compact = options.compact;
  request.threads = options.threads;
  request.progress = watched_progress();
  const mark::MarkMap map = mark::predict(job, request);
  if (!options.no_pictures) {
    mark::write_picture(map, mark::PictureKind::outcome, stem + ".outcome.png");
    mark::write_picture(map, mark::PictureKind::view, stem + ".view.png");
  }
  fmt::print("{}", told(map, options));
  if (options.json) return;
  if (!options.no_pictures) fmt::print("pictures   {0}.outcome.png, {0}.view.png\n", stem);
  if (!options.no_file) fmt::print("record     {}\n", request.file);
}

}  // namespace

void add_predict(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("predict", "Predict the mark of a job: verdict, pictures, file of record");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--folder", options->folder, "Where pictures and the file of record go")
      ->capture_default_str();
  command->add_flag("--no-file", options->no_file, "Write no file of record");
  command->add_flag("--no-pictures", options->no_pictures, "Draw no pictures");
  command->add_flag("--no-intervals", options->no_intervals, "Do not work out how sure the figures are");
  command->add_flag("--compact", options->compact, "Compress the file of record (lossless)");
  command->add_flag("--json", options->json, "Print the verdict as JSON");
  command->add_option("--threads", options->threads, "Threads; 0 means all")->check(CLI::Range(0, 1024));
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
