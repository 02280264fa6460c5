// circumfluence coupon fit JOB.toml REPORT..., and coupon drift JOB.toml THEN NOW
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>

#include "calibration/fitted.h"
#include "calibration/regression.h"
#include "job/job_file.h"
#include "mark/verdict.h"
#include "program/burnt.h"
#include "program/commands.h"
#include "program/terminal.h"
#include "quantity/unfinished_file.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

using calibration::Fit;

struct Options {
  std::string job, table, name, output, picture, records;
  std::vector<std::string> reports;
  int draws = 0;
  bool keep = false, replace = false, json = false;
};

// What a fit is worth in use.
struct Answer {
  Fit fit;
  std::optional<calibration::Fitted> fitted;
  std::optional<mark::Scene> after;  // the job with its records
  std::optional<calibration::BeforeAfter> both;
  calibration::Next next;
};

// Lines of one pass, one direction and one height each: the squared widths of others lie on no common line.
void print_ladder(const Burnt& burnt) {
  std::map<std::pair<int, double>, std::vector<calibration::LineWidth>> ladders;
  for (const calibration::Result& result : burnt.report.results)
    for (const auto& [number, patch, place] : burnt.coupon.slots)
      if (number == result.number && result.width > 0 && patch.passes == 1)
        ladders[{int(patch.direction), patch.focus_offset}].push_back({patch.power / patch.speed, result.width});
  for (const auto& [which, widths] : ladders) {
    if (widths.size() < 3) continue;
    fmt::print("\nlines      {} {}, {} out of focus\n", widths.size(), which.first == 0 ? "along the axis" : "around",
               quantity::format(which.second, "mm"));
    try {
      fmt::print("{}", calibration::text(calibration::squared_width(widths, calibration::Exposed::lines, burnt.report.width_error)));
    } catch (const quantity::ValidityError& error) {
      fmt::print("note       squared widths: {}\n", error.what());
    }
  }
}

Answer answer_to(const Options& options, const mark::Scene& scene, const std::vector<Burnt>& burnt) {
  calibration::FitRequest request{.progress = watched_progress()};
  if (options.draws > 0) request.chains = calibration::Chains{.draws = options.draws};
  Answer out{.fit = fit_all(scene, burnt, request), .fitted = {}, .after = {}, .both = {}, .next = {}};
  out.next = calibration::next(scene, out.fit);
  if (options.name.empty() || !std::isfinite(out.fit.strays)) return out;
  out.fitted = calibration::fitted(scene, out.fit, together(burnt), options.name);
  out.after = out.fitted->scene();
  out.both = calibration::compare(scene, *out.after);
  return out;
}

void write(const Options& options, const mark::Scene& scene, const Answer& answer) {
  if (!answer.fitted && !options.name.empty())
    throw quantity::ValidityError(fmt::format("no record {} was made (nothing was learnt; expected results that agree)", options.name));
  if (!answer.fitted) return;
  const std::string stem = (std::filesystem::path(options.job).parent_path() / options.name).string();
  const std::string output = options.output.empty() ? stem + ".toml" : options.output;
  const std::string picture = options.picture.empty() ? stem + ".before-after.png" : options.picture;
  if (!options.replace && std::filesystem::exists(output))
    throw quantity::FileError(output, "stands already. Give another --output, or --replace");
  calibration::write_picture(picture, scene, *answer.after);
  job::Job job = answer.fitted->job;
  std::string kept = "in the job itself; say --keep to have them in your own file";
  if (options.keep) {
    kept = options.records.empty() ? calibration::own_materials_path() : options.records;
    calibration::keep(answer.fitted->records, kept);
  } else {
    job.materials.insert(job.materials.begin(), answer.fitted->records.begin(), answer.fitted->records.end());
  }
  quantity::write_whole(output, job::write_job(job));
  if (options.json) return;
  for (const std::string& change : answer.fitted->changes) fmt::print("now        {}\n", change);
  fmt::print("job        {}\nrecords    {}\npicture    {}\n", output, kept, picture);
}

void print(const Answer& answer, const std::vector<Burnt>& burnt) {
  fmt::print("{}", calibration::text(answer.fit));
  for (const Burnt& one : burnt) print_ladder(one);
  if (answer.both) fmt::print("\n{}", calibration::text(*answer.both));
  fmt::print("next       {}\n", answer.next.why);
}

void run(const Options& options) {
  if (options.name.empty() && (options.keep || !options.output.empty()))
    throw quantity::JobError(
        "--name is missing (a record that is kept needs one; expected letters, digits and underscores)");
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  const std::vector<Burnt> burnt = read_burnt(options.reports, options.table);
  watch_interrupts();
  const Answer answer = answer_to(options, scene, burnt);
  if (options.json)
    fmt::print("{}\n", calibration::json(answer.fit));
  else
    print(answer, burnt);
  write(options, scene, answer);
}

struct DriftOptions {
  std::string job, then, now;
};

void run(const DriftOptions& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  const std::vector<Burnt> burnt = read_burnt({options.then, options.now}, "");
  watch_interrupts();
  const calibration::Drift drift = calibration::drift(scene, {burnt[0].coupon, burnt[0].report},
                                                      {burnt[1].coupon, burnt[1].report}, {.progress = watched_progress()});
  fmt::print("{}", calibration::text(drift));
}

}  // namespace

void add_coupon_fit(CLI::App& coupon) {
  auto options = std::make_shared<Options>();
  CLI::App* command = coupon.add_subcommand("fit", "What came out says of the material, the spot and the focus");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("reports", options->reports, "Filled tables (CSV), or one report (TOML) with --coupon")->required();
  command->add_option("--coupon", options->table, "The coupon's table, where the report is a file of its own");
  command->add_option("--draws", options->draws, "Sample the posterior: so many draws a chain, of four")->check(CLI::Range(100, 1'000'000));
  command->add_option("--name", options->name, "Make a record of this name, and a job that uses it");
  command->add_option("--output", options->output, "That job; if absent, NAME.toml beside the job");
  command->add_option("--picture", options->picture, "Window before and after; if absent, NAME.before-after.png beside the job");
  command->add_flag("--keep", options->keep, "Keep the records in your own file of materials, not in the job");
  command->add_option("--records", options->records, "That file; if absent, the one that jobs look into")->needs("--keep");
  command->add_flag("--replace", options->replace, "Write over a job that stands already");
  command->add_flag("--json", options->json, "Print the fit as JSON, in SI units");
  command->callback([options] { run(*options); });
}

void add_coupon_drift(CLI::App& coupon) {
  auto options = std::make_shared<DriftOptions>();
  CLI::App* command = coupon.add_subcommand("drift", "Two coupons weeks apart: has the power that arrives changed");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  command->add_option("then", options->then, "Filled table of the earlier coupon")->required();
  command->add_option("now", options->now, "Filled table of the later one")->required();
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
