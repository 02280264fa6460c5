// circumfluence art JOB.toml
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/predict.h"
#include "mark/set_up.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "program/terminal.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::program {
namespace {

struct Options {
  std::string job, folder = ".", pixel, truth = "level";
  mark::FeedWish wish;
  bool keep_tones = false, no_pictures = false;
};

// What the eye would see, or what became of it where the records have no colours.
void write_landing(const mark::MarkMap& map, const std::string& path) {
  try {
    mark::write_picture(map, mark::PictureKind::view, path);
  } catch (const quantity::ValidityError&) {
    mark::write_picture(map, mark::PictureKind::outcome, path);
  }
}

// How the art lies on the part shows only now, and is told with its place in the job's file.
mark::FedArt distorted(const mark::Scene& meant, const mark::FeedWish& wish) {
  try {
    return mark::pre_distort(meant, wish);
  } catch (const quantity::JobError& error) {
    throw job::placed(meant.job, error);
  }
}

void run(Options options) {
  mark::FeedWish& wish = options.wish;
  wish.truth = options.truth == "level" ? motion::Truth::level : motion::Truth::developed;
  wish.invert = !options.keep_tones;
  if (!options.pixel.empty()) wish.pixel = quantity_of("--pixel", options.pixel, "mm");
  const mark::Scene meant = mark::prepare(job::read_job(options.job));
  const mark::FedArt art = distorted(meant, wish);
  const std::string name = std::filesystem::path(options.job).stem().string();
  const std::string stem = (std::filesystem::path(options.folder) / name).string();
  artwork::write_image(art.image, art.pixel, stem + ".fed.png");
  job::Job fed = mark::fed_job(meant, art, name + ".fed.png");
  fed.folder = options.folder;
  quantity::write_whole(stem + ".fed.toml", job::write_job(fed));
  fmt::print("{}", art.words);
  if (!options.no_pictures) {
    watch_interrupts();
    mark::Request request;
    request.threads = wish.threads;
    request.progress = watched_progress();
    const mark::MarkMap map = mark::predict(fed, request);
    write_landing(map, stem + ".lands.png");
    fmt::print("lands      {}: {}.lands.png\n", mark::kRulingNames[int(map.verdict.ruling)], stem);
  }
  fmt::print("picture    {0}.fed.png\njob        {0}.fed.toml\n", stem);
}

}  // namespace

void add_art(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "art",
      "Write the art as it has to be fed, so that it comes out true on a tapered, stepped or standing part");
  command->add_option("job", options->job, "Job file (TOML); its art has its sizes on the part's own surface")
      ->required();
  command
      ->add_option("--truth", options->truth,
                   "level: lines stay parallel to the rim; developed: a flat label laid on a cone")
      ->capture_default_str()
      ->check(CLI::IsMember({"level", "developed"}));
  command->add_option(
      "--pixel", options->pixel,
      "Pixel of the picture: \"0.05 mm\"; if absent, the line spacing or a third of the spot");
  command->add_flag("--keep-tones", options->keep_tones,
                    "Leave light art light; else what is burnt is written black");
  command->add_option("--folder", options->folder, "Where the files go")->capture_default_str();
  command->add_flag("--no-pictures", options->no_pictures, "Do not predict how it lands");
  command->add_option("--threads", options->wish.threads, "Threads; 0 means all")->check(CLI::Range(0, 1024));
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
