// circumfluence coupon: the trial piece; here its plan.
#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "calibration/coupon_drawing.h"
#include "calibration/plan.h"
#include "job/job_file.h"
#include "mark/verdict.h"
#include "program/burnt.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "program/terminal.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::program {
namespace {

using calibration::Patch;
using calibration::Planned;
using quantity::format;

struct Options {
  std::string job, folder = ".", name, table, width = "60 mm", height = "40 mm", side = "4 mm", ground = "flat", lines = "none";
  std::optional<std::string> power, speed, spacing, focus_offset, passes, time;
  std::vector<std::string> reports;
  int patches = 12;
  double full_power_word = quantity::kUnset;
  bool replace = false, json = false;
};

calibration::Candidates candidates_of(const job::Job& job, const Options& options) {
  calibration::Candidates out;
  const auto set = [&](std::vector<double>& axis, const std::optional<std::string>& text, const Range& range) {
    if (text) axis = values(job, range, *text);
  };
  set(out.power, options.power, {"--power", "W", "0.5 W:10 W:8", ""});
  set(out.speed, options.speed, {"--speed", "mm/min", "500 mm/min:8000 mm/min:5", "scan.speed", true});
  set(out.spacing, options.spacing, {"--spacing", "mm", "0.05 mm:0.2 mm:3", "scan.spacing"});
  set(out.focus_offset, options.focus_offset, {"--focus-offset", "mm", "-2 mm:2 mm:5", "scan.focus_offset"});
  if (options.passes) out.passes = whole_values(job, {"--passes", "1", "1:3", "scan.passes"}, *options.passes);
  return out;
}

calibration::PlanRequest request_of(const job::Job& job, const Options& options) {
  return {.wanted = {},
          .candidates = candidates_of(job, options),
          .patches = options.patches,
          .duration = options.time ? above_zero("--time", *options.time, "min") : quantity::kUnset,
          .width = above_zero("--width", options.width, "mm"),
          .height = above_zero("--height", options.height, "mm"),
          .side = above_zero("--side", options.side, "mm"),
          .ground = options.ground == "strip" ? calibration::Ground::strip : calibration::Ground::flat,
          .power_ladder = options.lines == "powers" || options.lines == "both",
          .height_ladder = options.lines == "heights" || options.lines == "both",
          .progress = watched_progress()};
}

// Where the coupon's files go. A table may hold what somebody wrote into it: it is not lost by mistake.
std::string stem_of(const Options& options) {
  const std::string name = options.name.empty() ? std::filesystem::path(options.job).stem().string() + ".coupon" : options.name;
  const std::string stem = (std::filesystem::path(options.folder) / name).string();
  if (!options.replace && std::filesystem::exists(stem + ".csv"))
    throw quantity::FileError(stem + ".csv", "stands already (results may be in it). Give another --name, or --replace");
  return stem;
}

// What the machine burns, where its words are known.
std::string write_words(const std::string& stem, const calibration::Coupon& coupon, job::Job job, const Options& options) {
  if (!std::isnan(options.full_power_word)) job.path.full_power_word = options.full_power_word;
  if (std::isnan(job.path.full_power_word)) return "";
  calibration::write_path(stem + ".nc", coupon, job);
  return stem + ".nc";
}

// [1] of each class, by slot.
std::vector<std::array<double, 4>> chances_of(const mark::Scene& scene, const calibration::Coupon& coupon,
                                              calibration::PlanRequest request) {
  constexpr int kDraws = 512;
  request.wanted = {calibration::job_setting(scene)};
  std::vector<Patch> patches;
  for (const calibration::Slot& slot : coupon.slots) patches.push_back(slot.patch);
  const auto means = calibration::foresee(scene, patches, request, kDraws).candidates.colwise().mean().eval();
  std::vector<std::array<double, 4>> out(patches.size());
  for (size_t i = 0; i < out.size(); ++i)
    for (size_t c = 0; c < 4; ++c) out[i][c] = means[Eigen::Index(4 * i + c)];
  return out;
}

void print_json(const Planned& planned, double duration) {
  std::string entropies, chosen;
  for (const double bits : planned.entropies) entropies += (entropies.empty() ? "" : ", ") + mark::json_number(bits);
  for (const int number : planned.chosen) chosen += fmt::format("{}{}", chosen.empty() ? "" : ", ", number);
  fmt::print(R"({{"slots": {}, "duration": {}, "entropy_before": {}, "entropies": [{}], "chosen": [{}], "notes": {}}})" "\n",
             planned.coupon.slots.size(), mark::json_number(duration), mark::json_number(planned.entropy_before), entropies,
             chosen, mark::json_list(planned.notes));
}

void print(const Planned& planned, double duration) {
  const calibration::Coupon& coupon = planned.coupon;
  fmt::print("coupon     {} patches on {} by {}, about {}\n", coupon.slots.size(), format(coupon.width, "mm", 3),
             format(coupon.height, "mm", 3), mark::clock(duration));
  fmt::print("unsure     {:.2f} bit about the outcome as set; {:.2f} bit expected afterwards\n", planned.entropy_before,
             planned.entropies.empty() ? planned.entropy_before : planned.entropies.back());
  if (!planned.chosen.empty()) {
    std::string order;
    for (const int number : planned.chosen) order += fmt::format("{}{}", order.empty() ? "" : ", ", number);
    fmt::print("order      most telling first: {}\n", order);
  }
  for (const std::string& note : planned.notes) fmt::print("note       {}\n", note);
}

void run(const Options& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  const std::string stem = stem_of(options);
  watch_interrupts();
  calibration::PlanRequest request = request_of(scene.job, options);
  const calibration::Fit known = fit_all(scene, read_burnt(options.reports, options.table), {.progress = watched_progress()});
  request.known = &known;
  const Planned planned = calibration::plan(scene, request);
  const double duration = calibration::duration(planned.coupon, scene.job.scan);
  const calibration::Shading shading{chances_of(scene, planned.coupon, request)};
  const std::string words = write_words(stem, planned.coupon, scene.job, options);
  calibration::write_art(stem + "-art.png", planned.coupon);
  calibration::write_picture(stem + ".png", planned.coupon, shading);
  calibration::write_table(stem + ".csv", planned.coupon);
  if (options.json) {
    print_json(planned, duration);
    return;
  }
  print(planned, duration);
  fmt::print("table      {}.csv: fill in what came out, or photograph the coupon\n", stem);
  fmt::print("pictures   {}.png and, to be burnt, {}-art.png\n", stem, stem);
  if (words.empty())
    fmt::print("path       none; say --full-power-word, the S that asks for the rated power\n");
  else
    fmt::print("path       {}\n", words);
  for (const std::string& caution : mark::cautions(scene)) fmt::print("caution    {}\n", caution);
}

void add_plan(CLI::App& coupon) {
  auto options = std::make_shared<Options>();
  CLI::App* command = coupon.add_subcommand("plan", "Which patches tell most, laid out to be burnt");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("--after", options->reports, "Results so far: filled tables of earlier coupons");
  command->add_option("--coupon", options->table, "The table of the one coupon that --after reports on");
  command->add_option("--folder", options->folder, "Where the files go")->capture_default_str();
  command->add_option("--name", options->name, "Their name; if absent, the job's with .coupon");
  command->add_flag("--replace", options->replace, "Write over a table that stands already");
  command->add_option("--patches", options->patches, "At most so many")->capture_default_str()->check(CLI::Range(1, 10'000));
  command->add_option("--width", options->width, "Room along the axis")->capture_default_str();
  command->add_option("--height", options->height, "Room around or across")->capture_default_str();
  command->add_option("--side", options->side, "Side of a patch")->capture_default_str();
  command->add_option("--time", options->time, "At most so long, such as \"20 min\"");
  command->add_option("--ground", options->ground, "A flat piece, or a strip of the part that turns")
      ->capture_default_str()
      ->check(CLI::IsMember({"flat", "strip"}));
  command->add_option("--lines", options->lines, "Single lines too, over powers or heights")
      ->capture_default_str()
      ->check(CLI::IsMember({"none", "powers", "heights", "both"}));
  command->add_option("--power", options->power, "Powers to choose from, low:high:count");
  command->add_option("--speed", options->speed, "Speeds to choose from");
  command->add_option("--spacing", options->spacing, "Line spacings to choose from");
  command->add_option("--focus-offset", options->focus_offset, "Focus offsets to choose from");
  command->add_option("--passes", options->passes, "Passes to choose from, low:high");
  command->add_option("--full-power-word", options->full_power_word, "Write a path too; the S that asks for the rated power")
      ->check(CLI::PositiveNumber);
  command->add_flag("--json", options->json, "Print the plan as JSON, in SI units");
  command->callback([options] { run(*options); });
}

}  // namespace

void add_coupon(CLI::App& app) {
  CLI::App* coupon = app.add_subcommand("coupon", "A small trial piece: plan it, read it, learn from it");
  coupon->require_subcommand(1);
  add_plan(*coupon);
  add_coupon_read(*coupon);
  add_coupon_fit(*coupon);
  add_coupon_drift(*coupon);
}

}  // namespace circumfluence::program
