// circumfluence resume JOB.toml
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/resume.h"
#include "mark/scene.h"
#include "program/commands.h"
#include "program/ranges.h"
#include "program/terminal.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

using quantity::format;

namespace fs = std::filesystem;

struct Options {
  std::string job, after, doubt, across, along, folder = ".";
  std::int64_t line = 0, pass = 0, byte = -1;
};

std::string file_in(const Options& options, const std::string& ending) {
  return (fs::path(options.folder) / (fs::path(options.job).stem().string() + ending)).string();
}

std::string seen_from(const fs::path& file, const fs::path& folder) {
  return fs::absolute(file)
      .lexically_normal()
      .lexically_relative(fs::absolute(folder).lexically_normal())
      .string();
}

// A file that a job names, as a job in the folder of the rest has to name it.
std::string named_from(const Options& options, const job::Job& job, const std::string& file) {
  if (file.empty() || fs::path(file).is_absolute()) return file;
  return seen_from(fs::path(job.folder) / file, options.folder);
}

void write_job(const Options& options, job::Job job, const std::string& path) {
  job.artwork.file = named_from(options, job, job.artwork.file);
  job.path.file = named_from(options, job, job.path.file);
  quantity::write_whole(path, job::write_job(job));
}

[[noreturn]] void refuse(const std::string& problem) {
  throw quantity::JobError(problem);
}

// Of several ways to say where it stopped, one.
void check_ways(const Options& options, bool path) {
  const int others = path ? int(options.byte >= 0) : int(!options.across.empty());
  const int given = int(!options.after.empty()) + int(options.line > 0) + others;
  if (given != 1)
    refuse(fmt::format("{} says where it stopped (expected one of --after, --line, {})",
                       given == 0 ? "nothing" : "more than one option", path ? "--byte" : "--across"));
}

void check_raster_ways(const Options& options) {
  if (options.byte >= 0)
    refuse("--byte is of a tool path; this job burns lines of its own (expected --after or --line)");
  check_ways(options, false);
  if (!options.after.empty() && (!options.along.empty() || options.pass > 0))
    refuse("--after says where along which line it stopped; --along and --pass go with --line or --across");
}

void check_path_ways(const Options& options) {
  if (!options.across.empty() || !options.along.empty() || options.pass > 0 || !options.doubt.empty())
    refuse(
        "--across, --along, --pass and --doubt are of a job with lines of its own; this one burns a tool "
        "path "
        "(expected --after, --line or --byte)");
  check_ways(options, true);
}

// Counted from 1 among `first` to `last`; from 0 in the library.
int counted(const char* option, std::int64_t number, int first, int last) {
  if (number < first || number > last)
    refuse(fmt::format("{} = {} (this job burns {} to {})", option, number, first, last));
  return static_cast<int>(number) - first;
}

void print_joint(const char* what, const std::optional<mark::Joint>& joint) {
  if (!joint) return;
  fmt::print("{}{}; {} (marks from {:.3g} times this power, over-burns from {:.3g} times)\n", what,
             joint->overlap < 0
                 ? fmt::format("{} left out between the ends", format(-joint->overlap, "mm", 3))
                 : fmt::format("{} burnt twice", format(joint->overlap, "mm", 3)),
             mark::kRulingNames[int(joint->ruling)], joint->least, joint->greatest);
}

mark::Stop stop_of(const mark::Scene& scene, const Options& options) {
  const motion::Raster raster = mark::plan(scene);
  mark::Stop stop;
  if (!options.after.empty()) stop.elapsed = at_least_zero("--after", options.after, "s");
  if (!options.doubt.empty()) stop.doubt = at_least_zero("--doubt", options.doubt, "s");
  if (!options.along.empty()) stop.along = quantity_of("--along", options.along, "mm");
  if (options.line > 0)
    stop.line = counted("--line", options.line, raster.first_line + 1, raster.first_line + raster.lines);
  if (!options.across.empty()) {
    stop.cross = quantity_of("--across", options.across, "mm");
    const double beyond = std::max(raster.cross(0) - stop.cross, stop.cross - raster.cross(raster.lines - 1));
    if (beyond > raster.spacing)
      refuse(fmt::format("--across = \"{}\" (no line lies there; this job burns {} to {})", options.across,
                         format(raster.cross(0), "mm", 5), format(raster.cross(raster.lines - 1), "mm", 5)));
  }
  if (options.pass > 0) stop.pass = counted("--pass", options.pass, 1, raster.passes);
  if (options.after.empty() && options.pass == 0 && raster.passes > 1)
    refuse(
        fmt::format("--pass is missing (every line is burnt {} times; expected the pass under way, 1 to {})",
                    raster.passes, raster.passes));
  return stop;
}

void print_restart(const mark::Scene& scene, const mark::Restart& restart) {
  const motion::Raster raster = mark::plan(scene);
  fmt::print("again      from line {} of {}{}, {} across{}\n", raster.first_line + restart.line + 1,
             raster.first_line + raster.lines,
             raster.passes > 1 ? fmt::format(" of pass {} of {}", restart.pass + 1, raster.passes) : "",
             format(restart.cross, "mm", 5), restart.backward ? ", which runs backward" : "");
  if (std::isfinite(restart.along)) fmt::print("stopped    at {} along it\n", format(restart.along, "mm", 5));
  fmt::print("time       {} gone by at its beginning, {} to come\n", mark::clock(restart.elapsed),
             mark::clock(restart.left));
  print_joint("line again ", restart.repeated);
  print_joint("or joined  ", restart.joined);
  fmt::print("advice     {}\n", restart.words);
  if (!restart.repeat)
    fmt::print("note       The rest as a job begins at that line's beginning all the same.\n");
}

void resume_lines(const mark::Scene& scene, const Options& options) {
  check_raster_ways(options);
  const mark::Restart restart = mark::restart(scene, stop_of(scene, options));
  print_restart(scene, restart);
  int part = 0;
  for (const job::Job& rest : mark::rest(scene, restart)) {
    const std::string path =
        file_in(options, part == 0 ? ".rest.toml" : fmt::format(".rest{}.toml", part + 1));
    write_job(options, rest, path);
    fmt::print("{}{}\n", part++ == 0 ? "the rest   " : "then       ", path);
  }
}

void resume_path(const mark::Scene& scene, const Options& options) {
  check_path_ways(options);
  mark::PathStop stop;
  if (!options.after.empty()) stop.elapsed = at_least_zero("--after", options.after, "s");
  stop.line = options.line;
  stop.offset = options.byte;
  const std::string path = scene.job.path_to(scene.job.path.file);
  watch_interrupts();
  const mark::PathRestart restart =
      mark::restart(path, mark::path_file(scene), scene.job.machine, stop, watched_progress());
  fmt::print("again      from line {} of the file{}\n", restart.move.line,
             restart.chain.line == restart.move.line
                 ? ""
                 : fmt::format("; the beam came on at line {}", restart.chain.line));
  fmt::print("stopped    at {} along, {} around\n", format(restart.place.axial, "mm", 5),
             format(restart.place.around, "mm", 5));
  fmt::print("time       {} gone by at its beginning, {} in all\n", format(restart.elapsed, "s", 4),
             format(restart.total, "s", 4));
  fmt::print("advice     {}\n", restart.words);
  const std::string out = file_in(options, ".rest" + fs::path(path).extension().string());
  mark::write_rest(path, mark::path_file(scene), restart.move, out);
  job::Job rest = job::read_job(options.job);
  rest.path.file = seen_from(out, rest.folder);
  write_job(options, rest, file_in(options, ".rest.toml"));
  fmt::print("the rest   {}\nas a job   {}\n", out, file_in(options, ".rest.toml"));
}

void run(const Options& options) {
  const mark::Scene scene = mark::prepare(job::read_job(options.job));
  if (scene.path)
    resume_path(scene, options);
  else
    resume_lines(scene, options);
}

}  // namespace

void add_resume(CLI::App& app) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "resume", "Stopped half way: where to start again, how the joint will look, the rest as a job");
  command->add_option("job", options->job, "Job file (TOML)")->required();
  CLI::Option* after = command->add_option("--after", options->after, "It stopped after so long: \"1200 s\"");
  command->add_option("--doubt", options->doubt, "by which that may be wrong: \"2 s\"")->needs(after);
  constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max();
  command
      ->add_option("--line", options->line,
                   "The last line that is seen, from 1; of a tool path: the file's line")
      ->check(CLI::Range(std::int64_t(1), kMost, "LINE"));
  command->add_option("--across", options->across,
                      "Where the last line that is seen lies, across the lines: \"12.3 mm\"");
  command->add_option("--along", options->along, "and where along it its mark ends");
  command->add_option("--pass", options->pass, "The pass that was under way, from 1")
      ->check(CLI::Range(std::int64_t(1), kMost, "PASS"));
  command->add_option("--byte", options->byte, "Of a tool path: as far into the file as the controller got")
      ->check(CLI::Range(std::int64_t(0), kMost, "BYTE"));
  command->add_option("--folder", options->folder, "Where the rest goes")->capture_default_str();
  command->callback([options] { run(*options); });
}

}  // namespace circumfluence::program
