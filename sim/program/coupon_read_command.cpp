// circumfluence coupon read JOB.toml PHOTO --coupon TABLE
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <string>

#include "calibration/coupon_drawing.h"
#include "job/job_file.h"
#include "mark/predict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::program {
namespace {

using calibration::PatchReading;
using calibration::Reading;
using quantity::format;

struct Options {
  std::string photo, job, table, output, picture;
  bool replace = false;
};

calibration::Looks looks_of(const mark::Scene& scene) {
  const appearance::Palette palette = mark::palette(scene);
  return {palette.ground, palette.marked, palette.over};
}

void print(const Reading& reading) {
  for (const PatchReading& patch : reading.patches) {
    std::string line = fmt::format("{:5}  {:12}  {:>3.0f} %", patch.number, response::kOutcomeNames[int(patch.outcome)],
                                   100 * patch.sure);
    if (patch.sure < calibration::kSure) line += "  left open: look for yourself";
    if (!std::isnan(patch.width)) line += fmt::format("  {} +- {}", format(patch.width, "um", 3), format(patch.width_error, "um", 2));
    fmt::print("{}\n", line);
  }
  for (const std::string& note : reading.notes) fmt::print("note   {}\n", note);
}

void run(const Options& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  const calibration::Coupon coupon = calibration::read_coupon(options.table);
  const std::string stem = (std::filesystem::path(options.table).parent_path() / std::filesystem::path(options.table).stem()).string();
  const std::string output = options.output.empty() ? stem + ".read.csv" : options.output;
  const std::string picture = options.picture.empty() ? stem + ".read.png" : options.picture;
  if (!options.replace && std::filesystem::exists(output))
    throw quantity::FileError(output, "stands already (corrections may be in it). Give another --output, or --replace");
  const double radius = coupon.ground == calibration::Ground::strip ? scene.profile.radius(scene.focus_at) : quantity::kUnset;
  const Reading reading =
      calibration::read_coupon_photo(calibration::read_photo(options.photo), coupon, looks_of(scene), radius);
  calibration::write_reading(picture, coupon, reading);
  quantity::write_whole(output, calibration::filled_table(coupon, reading.report()));
  print(reading);
  fmt::print("\ntable    {}\npicture  {}: look at it, and correct the table where it is wrong\n", output, picture);
}

}  // namespace

void add_coupon_read(CLI::App& coupon) {
  auto options = std::make_shared<Options>();
  CLI::App* command = coupon.add_subcommand("read", "Read a photograph or scan of a burnt coupon");
  command->add_option("job", options->job, "Job file (TOML): what the material's states look like")->required();
  command->add_option("photo", options->photo, "PNG or JPEG with all four corner marks in it")->required();
  command->add_option("--coupon", options->table, "The coupon's table (CSV)")->required();
  command->add_option("--output", options->output, "Filled table; if absent, the coupon's name with .read.csv");
  command->add_option("--picture", options->picture, "What was read, drawn; if absent, with .read.png");
  command->add_flag("--replace", options->replace, "Write over a filled table that stands already");
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
