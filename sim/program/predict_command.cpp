// circumfluence predict JOB.toml
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/predict.h"
#include "program/commands.h"
#include "program/terminal.h"

namespace circumfluence::program {
namespace {

struct Options {
  std::string job, folder = ".";
  bool no_file = false, no_pictures = false, compact = false, json = false;
  int threads = 0;
};

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
  fmt::print("{}", options.json ? mark::json(map.verdict) : mark::text(map.verdict));
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
  command->add_flag("--compact", options->compact, "Compress the file of record (lossless)");
  command->add_flag("--json", options->json, "Print the verdict as JSON");
  command->add_option("--threads", options->threads, "Threads; 0 means all")->check(CLI::Range(0, 1024));
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
