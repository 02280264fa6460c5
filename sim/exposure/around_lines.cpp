#include "exposure/around_lines.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::exposure {
namespace {

std::vector<double> line_edges(const motion::Raster& raster) {
  std::vector<double> edges;
  for (int line = 0; line <= raster.lines; ++line) edges.push_back(raster.cross(line) - raster.spacing / 2);
  return edges;
}

std::vector<double> radii_under_lines(const Arrangement& job) {
  const workpiece::Surface& s = job.surface;
  std::vector<double> radii;
  for (int line = 0; line < job.raster.lines; ++line) {
    const double at = (job.raster.cross(line) - s.axial_from) / s.cell_axial;
    radii.push_back(s.radius[std::clamp(static_cast<int>(std::floor(at)), 0, s.axial - 1)]);
  }
  return radii;
}

}  // namespace

AroundLines::AroundLines(Arrangement arrangement)
    : job_(std::move(arrangement)),
      along_(job_.laser.order_around),
      across_(job_.laser.order_axial),
      cross_section_(across_),
      commands_(job_.image, job_.placement, line_edges(job_.raster)),
      line_radius_(radii_under_lines(job_)),
      same_rows_(job_.mount.hold == motion::Hold::turning && job_.mount.runout == 0.0),
      states_(make_states()) {
  job_.image = {};  // its tone is kept
  index_lines();
}

AroundLines::Spot AroundLines::spot(int row, double radius) const {
  const workpiece::Surface& s = job_.surface;
  const double phi = s.azimuth(row);
  double along = job_.mount.hold == motion::Hold::turning ? s.arc(row) : radius * std::sin(phi);
  motion::Pose pose = motion::pose(job_.mount, s.reference_radius, along);
  // Run-out moves the part while it turns: two rounds settle where the beam is when it meets this row.
  for (int round = 0; round < 2; ++round) {
    if (job_.mount.hold == motion::Hold::turning) {
      const double under = pose.azimuth_under_beam(radius);
      if (std::isnan(under))
        return {.lit = false, .azimuth = 0, .height = 0, .incidence = 0, .pose = pose, .along = along};
      along = s.arc(row) - (under - pose.rotation) * s.reference_radius;
    } else {
      along += pose.distance(radius, phi);
    }
    pose = motion::pose(job_.mount, s.reference_radius, along);
  }
  const double azimuth = phi - pose.rotation;
  return {.lit = std::cos(azimuth) > 1e-3,
          .azimuth = azimuth,
          .height = job_.light.height(radius, phi, pose),
          .incidence = std::cos(azimuth),
          .pose = pose,
          .along = along};
}

States AroundLines::make_states() {
  const workpiece::Surface& s = job_.surface;
  const auto [least, greatest] = std::minmax_element(s.radius.begin(), s.radius.end());
  States::Range height{1e9, -1e9}, speed{1e9, 1e-9};
  for (int row = 0; row < s.around; ++row)
    for (const double radius : {*least, *greatest}) {
      const Spot here = spot(row, radius);
      if (!here.lit) continue;
      height = {std::min(height.low, here.height), std::max(height.high, here.height)};
      const Radii radii = job_.light.radii(here.height);
      widest_axial_ = std::max(widest_axial_, radii.axial);
      const double turned = job_.mount.hold == motion::Hold::turning ? radius / s.reference_radius : 1.0;
      const double fed = turned / job_.raster.slowness(here.along - s.cell_around / 2, s.cell_around);
      speed = {std::min(speed.low, fed), std::max(speed.high, fed)};
    }
  if (height.low > height.high) height = {0, 0}, speed = {job_.speed, job_.speed};
  return States(job_.light, motion::Direction::around, height, speed);
}

void AroundLines::index_lines() {
  const workpiece::Surface& s = job_.surface;
  const motion::Raster& raster = job_.raster;
  const double reach = widest_axial_ * std::max(across_.reach(), kWarmReach) + s.cell_axial / 2;
  slots_ = static_cast<int>(std::ceil(2 * reach / raster.spacing)) + 1;
  for (int slot = 0; slot < slots_; ++slot) {
    std::vector<int>& lines = line_of_slot_.emplace_back(s.axial);
    std::vector<float>& near = near_.emplace_back(s.axial);
    std::vector<float>& far = far_.emplace_back(s.axial);
    for (int i = 0; i < s.axial; ++i) {
      const double first = std::ceil((s.position(i) - reach - raster.first) / raster.spacing);
      const int line = static_cast<int>(first) + slot;
      lines[i] = line < 0 || line >= raster.lines ? raster.lines : line;
      const double from = s.position(i) - raster.cross(line);
      near[i] = static_cast<float>(from - s.cell_axial / 2);
      far[i] = static_cast<float>(from + s.cell_axial / 2);
    }
  }
}

}  // namespace circumfluence::exposure
