// circumfluence look JOB.toml
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "job/job_file.h"
#include "look/look.h"
#include "look/solid_file.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "program/terminal.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::program {
namespace {

struct Options {
  std::string job, folder = ".", turn, art, by;
  bool no_pictures = false, solid = false, json = false, quick = false;
  int threads = 0;
};

// By artwork::Screen, as job files call them.
constexpr const char* kScreens[] = {"bayer", "floyd_steinberg", "jarvis_judice_ninke", "stucki", "blue_noise"};

// How the job's greys are made, or would best be.
std::optional<artwork::Screen> process_of(const job::Job& job, const std::string& by) {
  if (by.empty()) return job.artwork.tone == artwork::ToneUse::grey ? std::nullopt : std::optional(job.artwork.screen);
  if (by == "power") return std::nullopt;
  for (size_t i = 0; i < std::size(kScreens); ++i)
    if (by == kScreens[i]) return artwork::Screen(i);
  throw quantity::JobError(fmt::format(
      "--by {} (how greys are made; expected power, bayer, floyd_steinberg, jarvis_judice_ninke, stucki or blue_noise)", by));
}

// Wrong words and places show before the work.
void check(const job::Job& job, const Options& options) {
  process_of(job, options.by);
  if (!options.turn.empty()) quantity_of("--turn", options.turn, "deg");
  const bool draws = (!options.json && !options.no_pictures) || options.solid;
  if (draws && !std::filesystem::is_directory(options.folder))
    throw quantity::FileError(options.folder, "cannot write (no such folder)");
  if (options.art.empty()) return;
  if (job.has_path())
    throw quantity::JobError("--art (a tool path's lines are its own; expected a job whose art is filled)");
  std::error_code none;  // of files that do not exist
  for (const std::string& source : {options.job, job.path_to(job.artwork.file)})
    if (std::filesystem::equivalent(options.art, source, none))
      throw quantity::JobError(
          fmt::format("--art {} (would overwrite what the job is made of; expected another name)", options.art));
}

std::string use_of(const std::optional<artwork::Screen>& screen, double dot) {
  if (!screen) return "artwork.tone = \"grey\"";
  return fmt::format("artwork.tone = \"halftone\", artwork.screen = \"{}\", artwork.dot = \"{}\"",
                     kScreens[int(*screen)], quantity::format(dot, "mm"));
}

// As it stands among those told already, or worked out.
look::ToneCurve curve_by(const std::optional<artwork::Screen>& screen, const look::Look& look) {
  for (const look::ToneCurve& curve : look.curves)
    if (curve.screen == screen) return curve;
  const look::Swatches swatches(look.map.scene);
  return look::tone_curve(swatches, look::Finish(look.map.scene, swatches.model()), {.screen = screen});
}

// The job's picture as it is to be fed so that its greys come out as it asks.
void write_art(const job::Job& job, const look::Look& look, const Options& options) {
  const std::optional<artwork::Screen> screen = process_of(job, options.by);
  const look::ToneCurve curve = curve_by(screen, look);
  const artwork::Image image = artwork::read_image(job.path_to(job.artwork.file));
  const artwork::Extent extent = artwork::extent(job.artwork, image);
  const bool sideways = std::abs(std::sin(job.artwork.turn)) > 0.5;
  const double pixel = (extent.axial_to - extent.axial_from) / (sideways ? image.height : image.width);
  artwork::write_image(look::corrected(image, job.artwork.burns, curve), pixel, options.art);
  if (!options.json)
    fmt::print("art        {} (use it with artwork.burns = \"dark\", {})\n", options.art, use_of(screen, curve.dot));
}

double facing(const look::Look& look, const std::string& turn) {
  if (!turn.empty()) return quantity_of("--turn", turn, "deg");
  const artwork::Extent& art = look.map.scene.art;
  return (art.around_from + art.around_to) / 2 / look.map.scene.reference_radius;
}

void write_pictures(const look::Look& look, const Options& options, const std::string& stem) {
  const mark::MarkMap& map = look.map;
  const look::Skin unwiped = look::skin(map, {.wipe = look::Wipe::before, .threads = options.threads});
  // Art that reads along the axis is easier to look at lying.
  const bool stands = std::abs(std::sin(map.scene.job.artwork.turn)) > 0.5;
  look::View view{.turn = facing(look, options.turn), .upright = stands, .threads = options.threads};
  if (!stands) std::swap(view.width, view.height);
  quantity::write_whole(stem + ".round.png", appearance::encode_png(look::render(look.skin, map.scene.profile, view)));
  look::Turning turning{.title = std::filesystem::path(stem).filename().string(), .progress = watched_progress()};
  turning.view.turn = view.turn;
  turning.view.upright = stands;
  if (!stands) std::swap(turning.view.width, turning.view.height);
  turning.view.threads = options.threads;
  turning.lines = look.notes;
  look::write_turning(stem + ".turning.html", map.scene.profile, look.skin, &unwiped, turning);
  std::string also;
  if (!look.curves.empty()) {
    appearance::write_chart(stem + ".tones.png", look::tone_chart(look.curves));
    also = fmt::format(", {}.tones.png", stem);
  }
  for (size_t i = 0; i < look.codes.size(); ++i) {
    const std::string path = fmt::format("{}.code{}.png", stem, i + 1);
    quantity::write_whole(path, appearance::encode_png(look::code_view(map, *look.fine, look.codes[i].symbol)));
    also += ", " + path;
  }
  fmt::print("pictures   {0}.round.png, {0}.turning.html{1}\n", stem, also);
}

void run(const Options& options) {
  const job::Job job = job::read_job(options.job);
  check(job, options);
  const std::string stem =
      (std::filesystem::path(options.folder) / std::filesystem::path(options.job).stem()).string();
  watch_interrupts();
  const look::Look look = look::look(job, {.tones = !options.quick,
                                           .letters = !options.quick,
                                           .codes = !options.quick,
                                           .threads = options.threads,
                                           .progress = watched_progress()});
  fmt::print("{}", options.json ? look::json(look) : look::text(look));
  if (!options.json && !options.no_pictures) write_pictures(look, options, stem);
  if (!options.art.empty()) write_art(job, look, options);
  if (!options.solid) return;
  look::write_solid(stem + ".hdf", look.map);
  if (!options.json) fmt::print("solid      {}.hdf\n", stem);
}

}  // namespace

void add_look(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "look", "What the part will look like: contrast, greys, letters, codes; the part in the round, before and after a wipe");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--folder", options->folder, "Where pictures go")->capture_default_str();
  command->add_option("--turn", options->turn, "Which side faces you: \"90 deg\" from the nearest line to the laser; if absent, the art's middle");
  command->add_option("--art", options->art, "Where the art goes, corrected so that its greys come out as it asks (PNG)");
  command->add_option("--by", options->by,
                      "How greys are made for --art: power, bayer, floyd_steinberg, jarvis_judice_ninke, stucki, blue_noise; if "
                      "absent, the job's way");
  command->add_flag("--solid", options->solid, "Write the maps on the true surface, for visualisation programs (VTKHDF)");
  command->add_flag("--quick", options->quick, "Leave out tone curves, letters and room for codes");
  command->add_flag("--no-pictures", options->no_pictures, "Draw no pictures");
  command->add_option("--threads", options->threads, "Threads; 0 takes all")->capture_default_str()->check(CLI::Range(0, 1024));
  command->add_flag("--json", options->json, "Print the answer as JSON, in SI units; no pictures, but --art and --solid are written");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
