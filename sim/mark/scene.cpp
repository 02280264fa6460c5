#include "mark/scene.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "artwork/halftone.h"
#include "beam/fresnel.h"
#include "exposure/path_lines.h"
#include "job/job_file.h"
#include "job/material_file.h"
#include "motion/mount.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;
using quantity::JobError;

double or_else(double given, double otherwise) {
  return std::isnan(given) ? otherwise : given;
}

// Where a path leaves the part is for its checks to say; the art that stands in for it may reach beyond.
void check_fit(const Scene& scene) {
  if (scene.path && scene.job.artwork.file.empty()) return;
  const double length = scene.profile.length();
  if (scene.art.axial_from < -1e-9 || scene.art.axial_to > length + 1e-9)
    throw JobError(
        fmt::format("artwork.axial = {} (the art spans {} to {}, beyond the part, which is {} long)",
                    format(scene.job.artwork.axial, "mm"), format(scene.art.axial_from, "mm"),
                    format(scene.art.axial_to, "mm"), format(length, "mm")));
  const double around = scene.art.around_to - scene.art.around_from;
  const double turn = 2 * quantity::kPi * scene.reference_radius;
  if (scene.job.mount.hold == motion::Hold::turning) {
    if (around > turn * (1 + 1e-6))
      throw JobError(fmt::format(
          "artwork.size_around = {} (more than one turn, which is {}: the art would overlap itself)",
          format(around, "mm"), format(turn, "mm")));
    return;
  }
  const double widest = std::max(std::abs(scene.art.around_from), std::abs(scene.art.around_to));
  if (widest >= scene.reference_radius)
    throw JobError(fmt::format(
        "artwork.size_around = {} (reaches {} from top dead centre, beyond a standing part of radius {})",
        format(around, "mm"), format(widest, "mm"), format(scene.reference_radius, "mm")));
}

// A standing part shows the art as seen from above; the grid is in arc length.
workpiece::Region on_the_surface(const Scene& scene) {
  workpiece::Region region{scene.art.axial_from, scene.art.axial_to, scene.art.around_from,
                           scene.art.around_to};
  if (scene.job.mount.hold == motion::Hold::turning) return region;
  const auto arc = [r = scene.reference_radius](double y) { return r * std::asin(std::clamp(y / r, -1.0, 1.0)); };
  region.around_from = arc(region.around_from);
  region.around_to = arc(region.around_to);
  return region;
}

// What only shows once files are read and geometry is settled still names its place in the job file.
template <class Work>
auto located(const job::Job& job, const Work& work) {
  try {
    return work();
  } catch (const JobError& error) {
    throw job::placed(job, error);
  }
}

// A picture that wants burning over all of the path's outline stands for art that the job does not have.
void stand_in(const artwork::Extent& outline, job::Job& job, artwork::Image& image) {
  constexpr double kLeast = 1e-6;  // [m] of a single line
  image = {1, 1, {0}, {}};
  job.artwork.burns = artwork::Burns::dark;
  job.artwork.size_axial = std::max(kLeast, outline.axial_to - outline.axial_from);
  job.artwork.size_around = std::max(kLeast, outline.around_to - outline.around_from);
  job.artwork.axial = (outline.axial_from + outline.axial_to) / 2;
  job.artwork.around = (outline.around_from + outline.around_to) / 2;
}

// Dots in place of greys. They are still called a halftone: the job then means the same when it is made ready again.
void screen_art(job::Job& job, artwork::Image& image) {
  artwork::Screened dots = artwork::screened(image, job.artwork, or_else(job.artwork.dot, job.scan.spacing));
  image = std::move(dots.image);
  job.artwork = std::move(dots.placement);
  job.artwork.tone = artwork::ToneUse::halftone;
}

// What [scan] leaves open is as the path burns it, but for the distance of lines, which only the job can say.
void add_path(Scene& scene, const motion::PathFile& how) {
  scene.path = read_tool_path(scene, how);
  motion::Scan& scan = scene.job.scan;
  if (std::isnan(scan.power) && std::isnan(scan.power_share)) scan.power = scene.path->power;
  if (std::isnan(scan.speed)) scan.speed = scene.path->speed;
  if (std::isnan(scan.acceleration)) scan.acceleration = scene.job.machine.axial_acceleration;
  if (std::isnan(scan.run_up)) scan.run_up = 0;
}

Scene make_scene(job::Job job) {
  const workpiece::Profile profile(job.workpiece);
  motion::PathFile how = job.path;
  artwork::Image image;
  const bool has_art = !job.artwork.file.empty();
  if (has_art) image = artwork::read_image_again(job.path_to(job.artwork.file));
  if (has_art && job.artwork.tone == artwork::ToneUse::halftone) screen_art(job, image);
  if (job.has_path()) {
    how.driven_diameter = 2 * motion::driven_radius(job.rotary, job.mount, profile, or_else(job.mount.focus_at, 0));
    if (!has_art) stand_in(outline(job, how), job, image);
  }
  const artwork::Extent art = artwork::extent(job.artwork, image);
  const double focus_at = or_else(job.mount.focus_at, (art.axial_from + art.axial_to) / 2);
  const double reference_radius = motion::driven_radius(job.rotary, job.mount, profile, focus_at);
  how.driven_diameter = 2 * reference_radius;
  std::optional<workpiece::Material> coat;
  if (!job.workpiece.coat.empty()) coat = job::find_material(job.workpiece.coat, job.materials);
  const exposure::Light light(beam::caustic(job.laser), profile, job.mount, focus_at, job.scan.focus_offset);
  Scene scene{.job = std::move(job),
              .base = {},
              .coat = std::move(coat),
              .profile = profile,
              .image = std::move(image),
              .art = art,
              .focus_at = focus_at,
              .reference_radius = reference_radius,
              .light = light};
  scene.base = job::find_material(scene.job.workpiece.base, scene.job.materials);
  if (scene.job.has_path()) add_path(scene, how);
  return scene;
}

}  // namespace

double Scene::power() const {
  return std::isnan(job.scan.power) ? job.scan.power_share * job.laser.rated_power : job.scan.power;
}

response::Body Scene::body() const {
  return response::body_of(base, coat ? &*coat : nullptr);
}

Scene prepare(const job::Job& job) {
  return located(job, [&job] {
    job::check(job);
    Scene scene = make_scene(job);
    check_fit(scene);
    return scene;
  });
}

workpiece::Surface develop(const Scene& scene) {
  return located(scene.job, [&scene] {
    return workpiece::develop(scene.profile, scene.job.grid, on_the_surface(scene), scene.reference_radius);
  });
}

artwork::Placement fed(const Scene& scene) {
  artwork::Placement placement = scene.job.artwork;
  placement.mirror = placement.mirror ^ motion::against(scene.job.mount);
  const double beside = scene.job.mount.beam_offset / scene.reference_radius;
  if (scene.job.mount.hold == motion::Hold::turning && std::abs(beside) < 1)
    placement.around -= scene.reference_radius * std::asin(beside);
  return placement;
}

// A path's own lines have no plan: what is asked of one is how many they are and how long they take.
motion::Raster plan_of(const ToolPath& path, const Scene& scene) {
  const motion::Scan& scan = scene.job.scan;
  return {.direction = scan.direction,
          .along_from = scene.art.axial_from,
          .along_to = scene.art.axial_to,
          .first = scene.art.around_from,
          .spacing = scan.spacing,
          .lines = static_cast<int>(path.path.links().size()),
          .passes = 1,
          .two_way = false,
          .sweep = motion::Sweep({0, scene.art.axial_to - scene.art.axial_from}, {scan.speed, scan.acceleration}),
          .turn_round = 0,
          .interleave = 1,
          .duration = path.duration};
}

motion::Raster plan(const Scene& scene) {
  const auto lines = [&scene] { return motion::plan(scene.job.scan, artwork::extent(fed(scene), scene.image)); };
  return scene.path ? plan_of(*scene.path, scene) : located(scene.job, lines);
}

exposure::AngleFactor angle_factor(const Scene& scene) {
  const beam::Laser& laser = scene.job.laser;
  const workpiece::Optics& optics = workpiece::optics_at(scene.base, laser.wavelength);
  if (!optics.n.known() || !optics.k.known()) return [](double, double) { return 1.0; };
  return [index = beam::Index{optics.n.value, optics.k.value}, field = laser.polarisation](double incidence,
                                                                                           double share) {
    return beam::angle_factor(index, std::max(incidence, 1e-3), share, field);
  };
}

exposure::Arrangement arrangement(const Scene& scene, const workpiece::Surface& surface, const motion::Raster& raster) {
  return {.surface = surface,
          .mount = scene.job.mount,
          .raster = raster,
          .laser = scene.job.laser,
          .light = scene.light,
          .power = scene.power() * (1 - scene.job.laser.losses),
          .speed = scene.job.scan.speed,
          .power_habit = scene.job.scan.power_habit,
          .angle_factor = angle_factor(scene),
          .image = scene.image,
          .placement = fed(scene)};
}

// [m] A path without artwork is wanted to mark what lies between its lines, or as wide as its spot is where the job does
// not say how far apart they are.
double wanted_width(const Scene& scene) {
  const double spacing = scene.job.scan.spacing;
  return spacing > 0 ? spacing : 2 * std::min(scene.light.radii(0).axial, scene.light.radii(0).around);
}

std::unique_ptr<exposure::Exposure> expose(const Scene& scene, const workpiece::Surface& surface,
                                           const motion::Raster& raster) {
  if (scene.path)
    return std::make_unique<exposure::PathLines>(
        exposure::PathGround{surface, scene.job.mount, scene.job.laser, scene.light, angle_factor(scene), wanted_width(scene)},
        std::shared_ptr<const exposure::Path>(scene.path, &scene.path->path));
  return exposure::expose(arrangement(scene, surface, raster));
}

heat::Orders orders(const job::Job& job) {
  const beam::Laser& laser = job.laser;
  return job.scan.direction == motion::Direction::axial ? heat::Orders{laser.order_axial, laser.order_around}
                                                        : heat::Orders{laser.order_around, laser.order_axial};
}

response::Model respond(const Scene& scene, const exposure::Exposure& exposure) {
  return respond(scene, exposure.states());
}

response::Model respond(const Scene& scene, const std::vector<exposure::SpotState>& states) {
  const response::Surroundings about{scene.job.workpiece, scene.base, scene.coat ? &*scene.coat : nullptr,
                                     scene.job.laser.wavelength, orders(scene.job)};
  return response::make_model(about, scene.job.outcome, states);
}

// Of a path's states, slow ones of its ramps among them, the one it is mostly in.
const exposure::SpotState& nearest(const std::vector<exposure::SpotState>& states, double speed) {
  return *std::min_element(states.begin(), states.end(), [speed](const auto& a, const auto& b) {
    return std::abs(std::log(a.speed / speed)) < std::abs(std::log(b.speed / speed));
  });
}

exposure::Echo remember(const Scene& scene, const workpiece::Surface& surface, const heat::Base& base,
                        const exposure::Exposure& exposure) {
  const std::vector<exposure::SpotState>& states = exposure.states();
  const exposure::SpotState& state = scene.path ? nearest(states, scene.path->speed) : states[states.size() / 2];
  const bool axial = scene.path || scene.job.scan.direction == motion::Direction::axial;  // a path's echo runs along it
  const double column = axial ? surface.cell_axial : surface.cell_around;
  // Rows across the lines are kept one by one, so fewer of them are.
  const int octaves = axial ? 5 : state.along > 10 * column ? 1 : 2;
  return heat::history(base.solid, {state.along, state.across, state.speed}, {column, base.wall, octaves});
}

}  // namespace circumfluence::mark
