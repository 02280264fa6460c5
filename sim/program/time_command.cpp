// circumfluence time JOB.toml
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/resume.h"
#include "mark/scene.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

using quantity::format;

struct Options {
  std::string job, elapsed;
  bool lines = false;
};

void print_raster(const mark::Scene& scene, const motion::Raster& raster) {
  const motion::Sweep& sweep = raster.sweep;
  const double art = sweep.time_at(sweep.distance() - sweep.run_up()) - sweep.time_at(sweep.run_up());
  fmt::print("total      {} for {} lines{}\n", mark::clock(raster.duration), raster.lines * raster.passes,
             raster.passes > 1 ? fmt::format(" in {} passes", raster.passes) : "");
  fmt::print("line       {}: {} over the art, {} gaining and losing speed beyond it\n",
             mark::clock(sweep.duration()), mark::clock(art), mark::clock(sweep.duration() - art));
  fmt::print("between    {} from the end of a line to the start of the next\n",
             mark::clock(raster.turn_round));
  if (!sweep.steady())
    fmt::print(
        "note       the run-up of {} is too short for {}: the head is still gaining speed over the art\n",
        format(scene.job.scan.run_up, "mm"), format(scene.job.scan.speed, "mm/min"));
}

void print_path(const mark::ToolPath& path) {
  fmt::print("total      {} for {} moves in {} lines of the file\n", mark::clock(path.duration),
             path.notes.moves, path.notes.lines);
  fmt::print("burning    {}, mostly {} at {}; {:.4g} J on the part\n", mark::clock(path.burning),
             format(path.power, "W", 3), format(path.speed, "mm/min", 4), path.path.energy());
}

// Where a path is after so long.
void print_moment(const mark::Scene& scene, double elapsed) {
  const mark::PathRestart at = mark::restart(scene.job.path_to(scene.job.path.file), mark::path_file(scene),
                                             scene.job.machine, {.elapsed = elapsed});
  fmt::print("after {}  line {} of the file, {} along, {} around; {} left\n", mark::clock(elapsed),
             at.move.line, format(at.place.axial, "mm", 5), format(at.place.around, "mm", 5),
             mark::clock(at.total - elapsed));
}

void print_moment(const motion::Raster& raster, double elapsed) {
  const motion::Moment at = motion::moment(raster, elapsed);
  fmt::print("after {}  pass {}, line {} of {}, {} along; {} left\n", mark::clock(elapsed), at.pass + 1,
             raster.first_line + at.line + 1, raster.first_line + raster.lines, format(at.along, "mm", 5),
             mark::clock(at.left));
}

void print_lines(const motion::Raster& raster) {
  fmt::print("pass,line,cross_mm,start_s,burns_from_s,burns_to_s,left_s\n");
  const motion::Sweep& sweep = raster.sweep;
  const double from = sweep.time_at(sweep.run_up()), to = sweep.time_at(sweep.distance() - sweep.run_up());
  for (int pass = 0; pass < raster.passes; ++pass)
    for (int turn = 0; turn < raster.lines; ++turn) {
      const int line = raster.line_of_turn(turn);
      const double start = raster.start(line, pass);
      fmt::print("{},{},{:.6g},{:.6g},{:.6g},{:.6g},{:.6g}\n", pass + 1, raster.first_line + line + 1,
                 1e3 * raster.cross(line), start, start + from, start + to,
                 std::max(0.0, raster.duration - start - sweep.duration()));
    }
}

void run(const Options& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  const motion::Raster raster = mark::plan(scene);
  const double elapsed = options.elapsed.empty() ? 0 : at_least_zero("--after", options.elapsed, "s");
  if (options.lines) {
    if (scene.path)
      throw quantity::JobError("--lines is of a job with lines of its own; this one burns a tool path");
    return print_lines(raster);
  }
  if (scene.path)
    print_path(*scene.path);
  else
    print_raster(scene, raster);
  if (options.elapsed.empty()) return;
  if (elapsed >= raster.duration)
    fmt::print("after {}  all is done\n", mark::clock(elapsed));
  else if (scene.path)
    print_moment(scene, elapsed);
  else
    print_moment(raster, elapsed);
}

}  // namespace

void add_time(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("time", "How long a job takes, by line, and where it is at any moment");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  CLI::Option* after =
      command->add_option("--after", options->elapsed, "Where the job is after so long: \"1200 s\"");
  command->add_flag("--lines", options->lines, "Every line with its times, as CSV")->excludes(after);
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
