#include "mark/scene.h"

#include <fmt/format.h>

#include <cmath>
#include <filesystem>

#include "beam/fresnel.h"
#include "job/job_file.h"
#include "job/material_file.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;
using quantity::JobError;

std::string picture_path(const job::Job& job) {
  const std::filesystem::path file(job.artwork.file);
  return file.is_absolute() ? file.string() : (std::filesystem::path(job.folder) / file).string();
}

double or_else(double given, double otherwise) {
  return std::isnan(given) ? otherwise : given;
}

void check_fit(const Scene& scene) {
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
  const auto arc = [r = scene.reference_radius](double y) { return r * std::asin(y / r); };
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

Scene make_scene(const job::Job& job) {
  const workpiece::Profile profile(job.workpiece);
  artwork::Image image = artwork::read_image_again(picture_path(job));
  const artwork::Extent art = artwork::extent(job.artwork, image);
  const double focus_at = or_else(job.mount.focus_at, (art.axial_from + art.axial_to) / 2);
  std::optional<workpiece::Material> coat;
  if (!job.workpiece.coat.empty()) coat = job::find_material(job.workpiece.coat, job.materials);
  return {.job = job,
          .base = job::find_material(job.workpiece.base, job.materials),
          .coat = coat,
          .profile = profile,
          .image = std::move(image),
          .art = art,
          .focus_at = focus_at,
          .reference_radius = or_else(job.mount.drive_diameter, 2 * profile.radius(focus_at)) / 2,
          .light =
              exposure::Light(beam::caustic(job.laser), profile, job.mount, focus_at, job.scan.focus_offset)};
}

}  // namespace

double Scene::power() const {
  return std::isnan(job.scan.power) ? job.scan.power_share * job.laser.rated_power : job.scan.power;
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
  const double beside = scene.job.mount.beam_offset / scene.reference_radius;
  if (scene.job.mount.hold == motion::Hold::turning && std::abs(beside) < 1)
    placement.around -= scene.reference_radius * std::asin(beside);
  return placement;
}

motion::Raster plan(const Scene& scene) {
  return located(scene.job,
                 [&scene] { return motion::plan(scene.job.scan, artwork::extent(fed(scene), scene.image)); });
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

std::unique_ptr<exposure::Exposure> expose(const Scene& scene, const workpiece::Surface& surface,
                                           const motion::Raster& raster) {
  return exposure::expose({.surface = surface,
                           .mount = scene.job.mount,
                           .raster = raster,
                           .laser = scene.job.laser,
                           .light = scene.light,
                           .power = scene.power() * (1 - scene.job.laser.losses),
                           .speed = scene.job.scan.speed,
                           .power_habit = scene.job.scan.power_habit,
                           .angle_factor = angle_factor(scene),
                           .image = scene.image,
                           .placement = fed(scene)});
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

exposure::Echo remember(const Scene& scene, const workpiece::Surface& surface, const heat::Base& base,
                        const exposure::Exposure& exposure) {
  const std::vector<exposure::SpotState>& states = exposure.states();
  const exposure::SpotState& state = states[states.size() / 2];
  const bool axial = scene.job.scan.direction == motion::Direction::axial;
  const double column = axial ? surface.cell_axial : surface.cell_around;
  // Rows across the lines are kept one by one, so fewer of them are.
  const int octaves = axial ? 5 : state.along > 10 * column ? 1 : 2;
  return heat::history(base.solid, {state.along, state.across, state.speed}, {column, base.wall, octaves});
}

}  // namespace circumfluence::mark
