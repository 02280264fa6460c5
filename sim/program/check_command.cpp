// circumfluence check JOB.toml
#include <fmt/format.h>

#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/scene.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "program/terminal.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

using quantity::format;

// What is known of a tool path before it is predicted.
void check_path(const std::string& path, const mark::Scene& scene) {
  const mark::ToolPath& burnt = *scene.path;
  fmt::print("job        {} is complete and fits together\n", path);
  fmt::print("path       {} moves in {} lines of {}, {}\n", burnt.notes.moves, burnt.notes.lines, scene.job.path.file,
             burnt.notes.ended ? "which ends by a word for it" : "which ends with the file");
  fmt::print("burns      {} along the axis, {} around\n", format(scene.art.axial_to - scene.art.axial_from, "mm", 5),
             format(scene.art.around_to - scene.art.around_from, "mm", 5));
  fmt::print("mostly     {} at {}; {:.4g} J on the part\n", format(burnt.power, "W", 3), format(burnt.speed, "mm/min", 4),
             burnt.path.energy());
  fmt::print("time       {}, {} with the beam on\n", mark::clock(burnt.duration), mark::clock(burnt.burning));
  for (const motion::Ignored& word : burnt.notes.ignored)
    fmt::print("ignored    {} ({} line {})\n", word.word,
               word.count == 1 ? "once, in" : fmt::format("{} times, first in", word.count), word.line);
  const std::vector<motion::Finding> findings = mark::check_path(scene, watched_progress());
  for (const motion::Finding& finding : findings)
    fmt::print("look       {}\n", motion::words(finding));
  if (findings.empty()) fmt::print("look       nothing found that the machine would do badly\n");
}

void run(const std::string& path) {
  const mark::Scene scene = mark::prepare(job::read_job(path));
  if (scene.path) {
    watch_interrupts();
    return check_path(path, scene);
  }
  const workpiece::Surface surface = mark::develop(scene);
  const motion::Raster raster = mark::plan(scene);
  const auto exposure = mark::expose(scene, surface, raster);
  const response::Model model = mark::respond(scene, *exposure);
  const exposure::SpotState& state = exposure->states().front();
  fmt::print("job        {} is complete and fits together\n", path);
  fmt::print("art        {} x {} px, {} along the axis, {} around\n", scene.image.width, scene.image.height,
             format(scene.art.axial_to - scene.art.axial_from, "mm"),
             format(scene.art.around_to - scene.art.around_from, "mm"));
  fmt::print("surface    {} rows around x {} columns along\n", surface.around, surface.axial);
  fmt::print("base       {}{}\n", scene.base.title, scene.coat ? " under " + scene.coat->title : "");
  fmt::print("beam       {} set, {} on the part; spot radius {} along the line, {} across\n",
             format(scene.power(), "W"), format(scene.power() * (1 - scene.job.laser.losses), "W"),
             format(state.along, "um", 4), format(state.across, "um", 4));
  fmt::print("fill       {} lines a pass, {} J/cm^2 set per area\n", raster.lines,
             fmt::format("{:.4g}", scene.power() / scene.job.scan.speed / scene.job.scan.spacing * 1e-4));
  fmt::print("time       {}\n", mark::clock(raster.duration));
  for (const std::string& note : model.notes) fmt::print("note       {}\n", note);
}

}  // namespace

void add_check(CLI::App& app) {
  auto path = std::make_shared<std::string>();
  CLI::App* command =
      app.add_subcommand("check", "Read a job and report what it asks for, without predicting");
  command->add_option("job", *path, "Job file (TOML)")->required();
  command->callback([path] { run(*path); });
}

}  // namespace circumfluence::program
