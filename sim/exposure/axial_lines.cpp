#include "exposure/axial_lines.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::exposure {
namespace {

using quantity::kPi;

struct Line {
  motion::Pose pose;
  double least, greatest;  // [m] radii of the part
};

// Heights above focus at which a line meets the part; low > high when it misses all of it. Where it passes
// beside the smaller radii, the part ends at the height of its axis.
States::Range heights(const Light& light, const Line& line) {
  if (std::isnan(line.pose.azimuth_under_beam(line.greatest))) return {1e9, -1e9};
  States::Range range{1e9, -1e9};
  for (const double radius : {line.least, line.greatest}) {
    const double under = line.pose.azimuth_under_beam(radius);
    const double azimuth = std::isnan(under) ? line.pose.rotation + kPi / 2 : under;
    const double z = light.height(radius, azimuth, line.pose);
    range = {std::min(range.low, z), std::max(range.high, z)};
  }
  return range;
}

States::Range heights(const Arrangement& job, double least, double greatest) {
  States::Range range{1e9, -1e9};
  for (int line = 0; line < job.raster.lines; ++line) {
    const motion::Pose pose = motion::pose(job.mount, job.surface.reference_radius, job.raster.cross(line));
    const States::Range here = heights(job.light, {pose, least, greatest});
    range = {std::min(range.low, here.low), std::max(range.high, here.high)};
  }
  return range.low > range.high ? States::Range{0, 0} : range;
}

// The beam's greatest radius along the axis: it is convex in the height, hence greatest at one of the ends.
double widest(const Light& light, const States::Range& height) {
  return std::max(light.radii(height.low).axial, light.radii(height.high).axial);
}

std::vector<double> padded_edges(const workpiece::Surface& surface, int pad) {
  std::vector<double> edges;
  for (int i = -pad; i <= surface.axial + pad; ++i)
    edges.push_back(surface.axial_from + i * surface.cell_axial);
  return edges;
}

}  // namespace

AxialLines::AxialLines(Arrangement arrangement)
    : job_(std::move(arrangement)),
      along_(job_.laser.order_axial),
      across_(job_.laser.order_around),
      cross_section_(across_),
      least_radius_(*std::min_element(job_.surface.radius.begin(), job_.surface.radius.end())),
      greatest_radius_(*std::max_element(job_.surface.radius.begin(), job_.surface.radius.end())),
      pad_(1 + static_cast<int>(std::ceil(widest(job_.light, heights(job_, least_radius_, greatest_radius_)) *
                                          along_.reach() / job_.surface.cell_axial))),
      commands_(job_.image, job_.placement, padded_edges(job_.surface, pad_)),
      uniform_(job_.surface.straight),
      same_lines_(job_.mount.hold == motion::Hold::turning && job_.mount.runout == 0.0),
      states_(make_states()) {
  job_.image = {};  // its tone is kept
  list_lines();
}

Radii AxialLines::radii(int line, double radius) const {
  const motion::Pose pose = motion::pose(job_.mount, job_.surface.reference_radius, job_.raster.cross(line));
  const double azimuth = pose.azimuth_under_beam(radius);
  const double at = std::isnan(azimuth) ? pose.rotation + kPi / 2 : azimuth;
  return job_.light.radii(job_.light.height(radius, at, pose));
}

void AxialLines::prepare_dots() {
  const workpiece::Surface& s = job_.surface;
  const bool constant = job_.power_habit == motion::PowerHabit::constant;
  for (int i = -pad_; i < s.axial + pad_; ++i) {
    const double slowness = job_.raster.slowness(s.axial_from + i * s.cell_axial, s.cell_axial);
    dot_energy_.push_back(static_cast<float>(job_.power * (constant ? slowness : 1 / job_.speed)));
    if (i >= 0 && i < s.axial) speeds_.push_back(static_cast<float>(1 / slowness));
  }
  const auto [least, most] = std::minmax_element(speeds_.begin(), speeds_.end());
  uniform_ = uniform_ && *most - *least <= 1e-6f * *most;
}

States AxialLines::make_states() {
  prepare_dots();
  const auto [least, most] = std::minmax_element(speeds_.begin(), speeds_.end());
  return States(job_.light, motion::Direction::axial, heights(job_, least_radius_, greatest_radius_),
                {*least, *most});
}

double AxialLines::reach_of(int line) const {
  // The radius is convex in the height, hence greatest at one of the ends.
  const Radii near = radii(line, least_radius_), far = radii(line, greatest_radius_);
  return std::max(near.around, far.around) * std::max(across_.reach(), kWarmReach);
}

void AxialLines::add_rows(int line, double low, double high) {
  const workpiece::Surface& s = job_.surface;
  const double turn = 2 * kPi * s.reference_radius;
  const bool turning = job_.mount.hold == motion::Hold::turning;
  const double begin = s.around_from, end = begin + s.around * s.cell_around;
  low *= s.reference_radius;
  high *= s.reference_radius;
  const double least = turning ? std::ceil((begin - high) / turn) : 0;
  const double most = turning ? std::floor((end - low) / turn) : 0;
  for (double k = least; k <= most; ++k) {
    const double from = (low + k * turn - begin) / s.cell_around;
    const double to = (high + k * turn - begin) / s.cell_around;
    const int first = static_cast<int>(std::clamp(std::floor(from), 0.0, double(s.around)));
    const int last = static_cast<int>(std::clamp(std::floor(to) + 1, 0.0, double(s.around)));
    for (int row = first; row < last; ++row) row_line_.push_back({row, line});
  }
}

void AxialLines::list_lines() {
  const workpiece::Surface& s = job_.surface;
  for (int line = 0; line < job_.raster.lines; ++line) {
    const motion::Pose pose = motion::pose(job_.mount, s.reference_radius, job_.raster.cross(line));
    const double reach = reach_of(line);
    const double off = pose.beam - pose.aside;
    if (std::abs(off) >= greatest_radius_) continue;
    double low = 1e9, high = -1e9;
    for (const double radius : {std::max(least_radius_, std::abs(off)), greatest_radius_}) {
      low = std::min(low, pose.rotation + std::asin(std::max(-1.0, (off - reach) / radius)));
      high = std::max(high, pose.rotation + std::asin(std::min(1.0, (off + reach) / radius)));
    }
    add_rows(line, low, high);
  }
  const motion::Raster& raster = job_.raster;
  std::sort(row_line_.begin(), row_line_.end(), [&raster](const auto& a, const auto& b) {
    return a.first != b.first ? a.first < b.first : raster.turn(a.second) < raster.turn(b.second);
  });
  first_of_row_.assign(s.around + 1, 0);
  for (const auto& [row, line] : row_line_) ++first_of_row_[row + 1];
  for (int row = 0; row < s.around; ++row) first_of_row_[row + 1] += first_of_row_[row];
}

}  // namespace circumfluence::exposure
