#include "exposure/around_lines.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::exposure {
namespace {

constexpr int kMostRounds = 20;
constexpr double kGrazing = 1e-3;  // [1] cosine of incidence below which a surface counts as not lit

std::vector<double> line_edges(const motion::Raster& raster) {
  std::vector<double> edges;
  for (int line = 0; line <= raster.lines; ++line) edges.push_back(raster.cross(line) - raster.spacing / 2);
  return edges;
}

// The radius changes by more than the slopes explain.
bool step(const workpiece::Surface& s, int column) {
  const double steepest = std::max(std::abs(s.slope[column - 1]), std::abs(s.slope[column]));
  return std::abs(s.radius[column] - s.radius[column - 1]) > steepest * s.cell_axial + 1e-9;
}

}  // namespace

AroundLines::AroundLines(Arrangement arrangement)
    : job_(std::move(arrangement)),
      along_(job_.laser.order_around),
      across_(job_.laser.order_axial),
      cross_section_(across_),
      commands_(job_.image, job_.placement, line_edges(job_.raster)),

      same_rows_(job_.mount.hold == motion::Hold::turning && job_.mount.runout == 0.0),
      states_(make_states()) {
  job_.image = {};  // its tone is kept
  index_lines();
}

AroundLines::Spot AroundLines::spot(int row, double radius) const {
  const workpiece::Surface& s = job_.surface;
  const double phi = s.azimuth(row);
  const bool turning = job_.mount.hold == motion::Hold::turning;
  double along = turning ? s.arc(row) : radius * std::sin(phi);
  motion::Pose pose = motion::pose(job_.mount, s.reference_radius, along);
  // Run-out moves the part while it turns: a few rounds settle where the beam is when it meets this row.
  for (int round = 0; round < kMostRounds; ++round) {
    const double before = along;
    if (turning) {
      const double under = pose.azimuth_under_beam(radius);
      if (std::isnan(under))
        return {
            .lit = false, .azimuth = 0, .height = 0, .incidence = 0, .feed = 0, .pose = pose, .along = along};
      along = s.arc(row) - (under - pose.rotation) * s.reference_radius;
    } else {
      along += pose.distance(radius, phi);
    }
    pose = motion::pose(job_.mount, s.reference_radius, along);
    if (std::abs(along - before) < 1e-10) break;
  }
  const double azimuth = phi - pose.rotation, up = radius * std::cos(azimuth);
  const double feed = turning ? (up + pose.lift) / s.reference_radius : 1.0;  // about the turning axis
  return {.lit = std::cos(azimuth) > kGrazing && feed > kGrazing,
          .azimuth = azimuth,
          .height = job_.light.height(radius, phi, pose),
          .incidence = std::cos(azimuth),
          .feed = feed,
          .pose = pose,
          .along = along};
}

double AroundLines::speed(const Spot& spot, double radius) const {
  const workpiece::Surface& s = job_.surface;
  const double turned = job_.mount.hold == motion::Hold::turning ? radius / s.reference_radius : 1.0;
  return turned / job_.raster.slowness(spot.along - s.cell_around / 2, s.cell_around);
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
      widest_axial_ = std::max(widest_axial_, job_.light.radii(here.height).axial);
      const double fast = this->speed(here, radius);
      speed = {std::min(speed.low, fast), std::max(speed.high, fast)};
    }
  if (height.low > height.high) height = {0, 0}, speed = {job_.speed, job_.speed};
  return States(job_.light, motion::Direction::around, height, speed);
}

// Tracks of the lines that reach columns [from, to); returns what to add to a line's number to get its track.
int AroundLines::lay_tracks(int from, int to, double reach) {
  const workpiece::Surface& s = job_.surface;
  const motion::Raster& raster = job_.raster;
  const double low = std::ceil((s.position(from) - reach - raster.first) / raster.spacing);
  const double high = std::floor((s.position(to - 1) + reach - raster.first) / raster.spacing);
  const int first = static_cast<int>(std::clamp(low, 0.0, double(raster.lines)));
  const int offset = static_cast<int>(tracks_.size()) - first;
  for (int line = first; line < raster.lines && line <= high; ++line) {
    const double at = (raster.cross(line) - s.axial_from) / s.cell_axial;
    const int column = static_cast<int>(std::clamp(std::floor(at), double(from), to - 1.0));
    const double aside = std::clamp(at - column - 0.5, -0.5, 0.5) * s.cell_axial;
    tracks_.push_back({line, s.radius[column] + s.slope[column] * aside});
  }
  return offset;
}

void AroundLines::index_lines() {
  const workpiece::Surface& s = job_.surface;
  const motion::Raster& raster = job_.raster;
  const double reach = widest_axial_ * std::max(across_.reach(), kWarmReach) + s.cell_axial / 2;
  std::vector<int> offset(s.axial);
  for (int from = 0, to = 0; from < s.axial; from = to) {
    for (to = from + 1; to < s.axial && !step(s, to);) ++to;
    std::fill(offset.begin() + from, offset.begin() + to, lay_tracks(from, to, reach));
  }
  slots_ = static_cast<int>(std::ceil(2 * reach / raster.spacing)) + 1;
  for (int slot = 0; slot < slots_; ++slot) {
    std::vector<int>& tracks = track_of_slot_.emplace_back(s.axial);
    std::vector<float>& near = near_.emplace_back(s.axial);
    std::vector<float>& far = far_.emplace_back(s.axial);
    for (int i = 0; i < s.axial; ++i) {
      const double first = std::ceil((s.position(i) - reach - raster.first) / raster.spacing);
      const int line = static_cast<int>(first) + slot;
      const double from = s.position(i) - raster.cross(line);
      const bool there = line >= 0 && line < raster.lines && from >= -reach;
      tracks[i] = there ? offset[i] + line : static_cast<int>(tracks_.size());
      near[i] = static_cast<float>(from - s.cell_axial / 2);
      far[i] = static_cast<float>(from + s.cell_axial / 2);
    }
  }
}

}  // namespace circumfluence::exposure
