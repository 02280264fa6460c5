// How the sections of a job fit together.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "job/job_file.h"
#include "job/material_file.h"
#include "job/nearest.h"
#include "job/section_reader.h"
#include "job/sections.h"
#include "motion/mount.h"
#include "quantity/constants.h"

namespace circumfluence::job {
namespace {

using quantity::JobError;

constexpr double kRounding = 1e-9;  // [m] a nanometre beyond an edge is arithmetic, not intent

std::string in_mm(double length) {
  return rounded_text(length, "mm");
}

void check_axial(const artwork::Placement& art, const workpiece::Part& part) {
  if (std::isnan(art.size_axial)) return;
  const double from = art.axial - art.size_axial / 2, to = art.axial + art.size_axial / 2;
  if (from < -kRounding || to > part.length + kRounding)
    throw JobError(fmt::format(
        "artwork.axial = {} (art of {} reaches from {} to {}; expected on the part, from 0 mm to {})",
        in_mm(art.axial), in_mm(art.size_axial), in_mm(from), in_mm(to), in_mm(part.length)));
}

// Around the part, as far as the driven diameter is known from the job alone.
void check_around(const Job& job) {
  double diameter = job.mount.drive_diameter;
  if (std::isnan(diameter) && job.workpiece.shape == workpiece::Shape::straight)
    diameter = job.workpiece.diameter;
  if (std::isnan(diameter) || std::isnan(job.artwork.size_around)) return;
  const double turn = quantity::kPi * diameter;
  if (job.artwork.size_around > turn + kRounding)
    throw JobError(
        fmt::format("artwork.size_around = {} (the art would overlap itself; expected at most one turn, {})",
                    in_mm(job.artwork.size_around), in_mm(turn)));
}

void check_limits(double from, double to, const char* which) {
  if (!std::isnan(from) && !std::isnan(to) && !(from < to))
    throw JobError(
        fmt::format("grid.{0}_to = {1} (not beyond grid.{0}_from, {2})", which, in_mm(to), in_mm(from)));
}

const workpiece::Material& material_of(const std::string& name, const char* key, const Job& job) {
  const auto own = std::find_if(job.materials.begin(), job.materials.end(),
                                [&](const workpiece::Material& material) { return material.name == name; });
  if (own != job.materials.end()) return *own;
  const std::vector<std::string> names = material_names(job.materials);
  if (!std::binary_search(names.begin(), names.end(), name))
    throw JobError(fmt::format("workpiece.{} = {} (no such material; expected one of {}){}", key,
                               toml_string(name.substr(0, 64)), listed(names),
                               suggestion(name, names, "\"", "\"")));
  return find_material(name, job.materials);
}

void check_materials(const Job& job) {
  std::set<std::string> names;
  for (const workpiece::Material& material : job.materials) {
    check(material);
    if (!names.insert(material.name).second)
      throw JobError(fmt::format("material.{} is given twice. Keep one of the records", material.name));
  }
  const std::string& base = job.workpiece.base;
  const std::string& coat = job.workpiece.coat;
  if (material_of(base, "base", job).kind == workpiece::Kind::coat)
    throw JobError(
        fmt::format("workpiece.base = \"{}\" (a coat; expected a metal, glass or organic material)", base));
  if (!coat.empty() && material_of(coat, "coat", job).kind != workpiece::Kind::coat)
    throw JobError(
        fmt::format("workpiece.coat = \"{}\" (not a coat; expected a material of kind \"coat\")", coat));
}

void check_speed(double speed, const char* key, double top_speed) {
  if (speed > top_speed * (1 + 1e-12))
    throw JobError(
        fmt::format("scan.{} = {} (more than the axis can do; expected at most scan.top_speed, {})", key,
                    rounded_text(speed, "mm/min"), rounded_text(top_speed, "mm/min")));
}

// A halftone's dots against what is to burn them and to show them.
void check_dots(const Job& job) {
  const artwork::Placement& art = job.artwork;
  if (art.file.empty() || art.tone != artwork::ToneUse::halftone) return;
  const double dot = std::isnan(art.dot) ? job.scan.spacing : art.dot;
  if (std::isnan(dot))
    throw JobError("artwork.dot is missing (from dot to dot of the halftone). Give it, or scan.spacing");
  if (!job.has_path() && dot < job.scan.spacing * (1 - 1e-9))
    throw JobError(
        fmt::format("artwork.dot = {} (finer than its lines can burn; expected at least scan.spacing, {})",
                    in_mm(dot), in_mm(job.scan.spacing)));
  if (job.grid.cell > dot / 2 * (1 + 1e-9))
    throw JobError(
        fmt::format("artwork.dot = {} (too fine for grid.cell = {}; expected cells of at most half a dot, {})",
                    in_mm(dot), in_mm(job.grid.cell), in_mm(dot / 2)));
}

}  // namespace

void check(const Job& job) {
  for_each_section(job, [&job](const std::string& name, const auto& section, const auto& fields) {
    if (name != "path" || job.has_path()) check_section(section, name, asked(fields, name, job.has_path()));
  });
  check(job.laser);
  check(job.workpiece);
  if (!job.has_path() || !job.artwork.file.empty()) check(job.artwork);
  if (job.has_path()) check(job.machine);
  motion::against(job.mount);
  check(job.rotary, job.workpiece, job.mount);
  check_axial(job.artwork, job.workpiece);
  check_around(job);
  check_dots(job);
  check_limits(job.grid.axial_from, job.grid.axial_to, "axial");
  check_limits(job.grid.around_from, job.grid.around_to, "around");
  if (job.scan.power > job.laser.rated_power * (1 + 1e-12))
    throw JobError(
        fmt::format("scan.power = {} (more than the laser gives; expected at most laser.rated_power, {})",
                    rounded_text(job.scan.power, "W"), rounded_text(job.laser.rated_power, "W")));
  check_speed(job.scan.speed, "speed", job.scan.top_speed);
  check_speed(job.scan.travel_speed, "travel_speed", job.scan.top_speed);
  check_materials(job);
}

}  // namespace circumfluence::job
