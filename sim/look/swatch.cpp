#include "look/swatch.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <mutex>
#include <vector>

#include "artwork/halftone.h"
#include "mark/traverse.h"
#include "motion/mount.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using quantity::format;
using quantity::ValidityError;

constexpr double kMostCells = 4e6, kPadInSpots = 3;

// What one set of spot states answers.
struct Answer {
  std::vector<exposure::SpotState> states;
  response::Model model;
  heat::Warmth warmth;
  exposure::Echo echo;
};

bool alike(double one, double other) {
  return std::abs(one - other) <= 1e-6 * std::abs(one);
}

bool same(const std::vector<exposure::SpotState>& one, const std::vector<exposure::SpotState>& other) {
  return std::equal(one.begin(), one.end(), other.begin(), other.end(), [](const auto& a, const auto& b) {
    return alike(a.along, b.along) && alike(a.across, b.across) && alike(a.speed, b.speed);
  });
}

mark::Scene without_picture(const mark::Scene& scene) {
  return {.job = scene.job,
          .base = scene.base,
          .coat = scene.coat,
          .profile = scene.profile,
          .image = {},
          .art = scene.art,
          .focus_at = scene.focus_at,
          .reference_radius = scene.reference_radius,
          .light = scene.light};
}

// [m] of the spot on the surface where the focus was set.
exposure::Radii radii_at_focus(const mark::Scene& scene) {
  const double radius = scene.profile.radius(scene.focus_at);
  const motion::Pose pose = motion::pose(scene.job.mount, scene.reference_radius, 0);
  const double under = pose.azimuth_under_beam(radius);
  return scene.light.radii(scene.light.height(radius, std::isnan(under) ? pose.rotation : under, pose));
}

// [m] near `cell`, so that as many lines as kPhases fall on a whole number of cells, and no fewer: the edges
// of lines then lie everywhere in cells, and shares of area do not go by steps of whole cells.
double odd_cell(double spacing, double cell) {
  return spacing / (std::round(spacing / cell) + 1.0 / Swatches::kPhases);
}

// Lines are all of them burnt, and at full speed: twice the way that it takes to reach it.
void at_full_speed(motion::Scan& scan) {
  const double ease = scan.jerk > 0 ? scan.acceleration / scan.jerk : 0;
  const double way = scan.speed * (scan.speed / scan.acceleration + ease);
  if (std::isfinite(way)) scan.run_up = std::max(std::isnan(scan.run_up) ? 0 : scan.run_up, way);
  scan.first_line = 0;
}

// Columns past which no more than 1 % of a place's heat comes from, by the moment at which a steady line
// peaks.
int remembered(const exposure::Echo& echo) {
  if (echo.moments.empty()) return 0;
  const exposure::Echo::Moment& steady = echo.moments.front();
  double left = 1;
  int columns = 0;
  for (const float weight : steady.near) {
    left -= weight;
    ++columns;
    if (left < 0.01) return columns;
  }
  int box = echo.near;
  for (const float weight : steady.far) {
    left -= weight;
    columns += box;
    if (left < 0.01) break;
    box *= 2;
  }
  return columns;
}

}  // namespace

struct Swatches::State {
  mark::Scene scene;
  exposure::Radii radii;
  double cell;
  std::shared_ptr<const Answer> first = nullptr, last = nullptr;
  std::mutex mutex = {};

  double spot() const { return radii.axial + radii.around; }
  void check_fits(double axial, double around) const;
  mark::Scene with(const artwork::Image& art, double pixel, artwork::ToneUse use) const;
  std::shared_ptr<const Answer> answer(const mark::Scene& swatch, const workpiece::Surface& surface,
                                       const exposure::Exposure& exposure);
};

void Swatches::State::check_fits(double axial, double around) const {
  const double pad = kPadInSpots * spot();
  if (!((axial / cell + 2 * pad / cell) * (around / cell + 2 * pad / cell) <= kMostCells))
    throw ValidityError(
        fmt::format("art of {} x {} (makes more than 4 million cells of {}; expected a small swatch). "
                    "Take a coarser cell or less art",
                    format(axial, "mm"), format(around, "mm"), format(cell, "um")));
  const bool turning = scene.job.mount.hold == motion::Hold::turning;
  const double most =
      turning ? 2 * quantity::kPi * scene.reference_radius - 2 * pad : 2 * scene.reference_radius;
  if (!(axial <= scene.profile.length() && around < most))
    throw ValidityError(fmt::format(
        "art of {} x {} (larger than the part takes, which is {} x {}). Take less art", format(axial, "mm"),
        format(around, "mm"), format(scene.profile.length(), "mm"), format(std::max(0.0, most), "mm")));
}

mark::Scene Swatches::State::with(const artwork::Image& art, double pixel, artwork::ToneUse use) const {
  const double axial = art.width * pixel, around = art.height * pixel;
  check_fits(axial, around);
  mark::Scene swatch = scene;
  artwork::Placement& placement = swatch.job.artwork;
  placement.size_axial = axial;
  placement.size_around = around;
  const double pad = std::ceil(kPadInSpots * spot() / cell) * cell, length = scene.profile.length();
  const double least = std::min(length / 2, axial / 2 + pad),
               most = std::max(length / 2, length - axial / 2 - pad);
  placement.axial = std::clamp(scene.focus_at, least, most);
  placement.around = 0;
  placement.turn = 0;
  placement.mirror = motion::against(scene.job.mount);  // so that it lands as drawn
  placement.burns = artwork::Burns::dark;
  placement.tone = use;
  placement.threshold = 0.5;
  swatch.image = art;
  if (use == artwork::ToneUse::halftone) {
    const double dot = std::isnan(placement.dot) ? scene.job.scan.spacing : placement.dot;
    artwork::Screened dots = artwork::screened(art, placement, dot);
    swatch.image = std::move(dots.image);
    placement = std::move(dots.placement);
    placement.tone = artwork::ToneUse::threshold;
  }
  swatch.art = artwork::extent(placement, swatch.image);
  workpiece::Grid& grid = swatch.job.grid;
  grid = {};
  grid.cell = cell;
  grid.margin = pad;
  return swatch;
}

std::shared_ptr<const Answer> Swatches::State::answer(const mark::Scene& swatch,
                                                      const workpiece::Surface& surface,
                                                      const exposure::Exposure& exposure) {
  const std::vector<exposure::SpotState>& states = exposure.states();
  {
    const std::lock_guard lock(mutex);
    for (const auto& known : {first, last})
      if (known && same(known->states, states)) return known;
  }
  response::Model model = mark::respond(swatch, exposure);
  heat::Warmth warmth(model.base, states);
  exposure::Echo echo = mark::remember(swatch, surface, model.base, exposure);
  auto made = std::make_shared<const Answer>(Answer{states, std::move(model), std::move(warmth), std::move(echo)});
  const std::lock_guard lock(mutex);
  if (!first) first = made;
  last = made;
  return made;
}

Swatches::Swatches(const mark::Scene& scene, double cell) {
  if (scene.path)
    throw ValidityError(
        "a tool path (it burns lines of its own; expected artwork burnt in the job's lines). "
        "Give the job without [path]");
  const exposure::Radii radii = radii_at_focus(scene);
  const double spacing = scene.job.scan.spacing;
  const double radius = std::min(radii.axial, radii.around), dot = scene.job.artwork.dot;
  const double pitch = dot > 0 ? std::min(dot, spacing) : spacing;
  if (!(cell > 0)) cell = odd_cell(spacing, std::clamp(pitch / 4, radius / 16, radius / 4));
  state_.reset(new State{.scene = without_picture(scene), .radii = radii, .cell = cell});
  at_full_speed(state_->scene.job.scan);
  // The heat beside a line is made ready, and what a record lacks is found, before any art is burnt.
  burn({1, 1, {0}, {}}, std::max(spacing, state_->spot()), artwork::ToneUse::threshold);
}

Swatches::~Swatches() = default;

Swatch Swatches::burn(const artwork::Image& art, double pixel, artwork::ToneUse use) const {
  if (art.width <= 0 || art.height <= 0 || !(pixel > 0 && std::isfinite(pixel)))
    throw ValidityError(fmt::format("art of {} x {} px of {} (expected pixels, each larger than 0)",
                                    art.width, art.height, format(pixel, "um")));
  const mark::Scene scene = state_->with(art, pixel, use);
  const workpiece::Surface surface = mark::develop(scene);
  const motion::Raster raster = mark::plan(scene);
  const std::unique_ptr<exposure::Exposure> exposure = mark::expose(scene, surface, raster);
  const std::shared_ptr<const Answer> answer = state_->answer(scene, surface, *exposure);
  const mark::Background cold{};
  const mark::Maps none;
  const mark::Walk walk{scene,        surface, *exposure, answer->model, answer->warmth,
                        answer->echo, cold,    raster,    none,          nullptr};

  Swatch swatch{{surface.around, surface.axial},
                {surface.around, surface.axial},
                state_->cell,
                scene.job.artwork.axial - surface.axial_from,
                scene.job.artwork.around - surface.around_from};
  appearance::Overview overview(surface.around, surface.axial);
  mark::RowWalker walker(walk, std::nullopt);
  const size_t columns = size_t(surface.axial);
  std::vector<float> unused(3 * columns);
  std::vector<std::uint8_t> wanted(columns);
  const std::span<float> rest(unused);
  for (int row = 0; row < surface.around; ++row)
    walker.walk(row,
                {{rest.first(columns), swatch.changed.row(row), rest.subspan(columns, columns),
                  rest.last(columns), swatch.outcome.row(row)},
                 wanted},
                overview);
  return swatch;
}

const mark::Scene& Swatches::scene() const {
  return state_->scene;
}
const response::Model& Swatches::model() const {
  return state_->first->model;
}
double Swatches::cell() const {
  return state_->cell;
}
double Swatches::spacing() const {
  return state_->scene.job.scan.spacing;
}
double Swatches::spot() const {
  return state_->spot();
}
double Swatches::memory() const {
  return remembered(state_->first->echo) * state_->cell;
}

}  // namespace circumfluence::look
