// circumfluence check JOB.toml
#include <fmt/format.h>

#include <memory>
#include <string>

#include "job/job_file.h"
#include "mark/scene.h"
#include "mark/verdict.h"
#include "program/commands.h"
#include "quantity/unit.h"

namespace circumfluence::program {
namespace {

using quantity::format;

void run(const std::string& path) {
  const mark::Scene scene = mark::prepare(job::read_job(path));
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
