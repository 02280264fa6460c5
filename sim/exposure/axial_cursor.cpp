#include "exposure/axial_lines.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::exposure {

using motion::Pose;

std::unique_ptr<Cursor> AxialLines::cursor(const Echo& echo) const {
  return std::make_unique<AxialCursor>(*this, echo);
}

AxialCursor::AxialCursor(const AxialLines& lines, const Echo& echo) : all_(lines), listener_(echo) {
  const workpiece::Surface& s = all_.job_.surface;
  dots_.resize(s.axial + 2 * all_.pad_);
  near_.resize(s.axial);
  far_.resize(s.axial);
  for (int i = 0; i < s.axial; ++i)
    inverse_width_.push_back(static_cast<float>(
        s.reference_radius / (s.cell_around * s.radius[i] * std::sqrt(1 + s.slope[i] * s.slope[i]))));
}

std::span<const EventRow> AxialCursor::at(int row) {
  ++clock_;
  events_.clear();
  const int first = all_.first_of_row_[row], last = all_.first_of_row_[row + 1];
  if (kept_.size() < size_t(last - first)) kept_.resize(last - first + 4);
  columns_.resize(std::max(columns_.size(), size_t(last - first)));
  for (int i = first; i < last; ++i) {
    const int line = all_.row_line_[i].second;
    const LineEnergy& energy = energy_of(line);
    if (energy.dark) continue;
    events_.push_back(all_.uniform_ ? uniform_event(row, line, energy)
                                    : varied_event(row, line, energy, columns_[i - first]));
  }
  repeat(events_, all_.job_.raster.passes);
  return events_;
}

const AxialCursor::LineEnergy& AxialCursor::energy_of(int line) {
  LineEnergy* oldest = &kept_.front();
  for (LineEnergy& kept : kept_) {
    if (kept.line == line) {
      kept.used = clock_;
      return kept;
    }
    if (kept.used < oldest->used) oldest = &kept;
  }
  oldest->line = line;
  oldest->used = clock_;
  expose_line(line, *oldest);
  return *oldest;
}

void AxialCursor::expose_line(int line, LineEnergy& out) {
  const motion::Raster& raster = all_.job_.raster;
  const double cross = raster.cross(line);
  all_.commands_.row(cross - raster.spacing / 2, cross + raster.spacing / 2, dots_, scratch_);
  out.dark = std::all_of(dots_.begin(), dots_.end(), [](float tone) { return tone == 0.0f; });
  if (out.dark) return;
  for (size_t i = 0; i < dots_.size(); ++i) dots_[i] *= all_.dot_energy_[i];
  out.energy.resize(all_.job_.surface.axial);
  blur_dots(line, out);
  out.heating.resize(out.energy.size());
  if (!listener_.echo().moments.empty())
    listener_.row(dots_, all_.pad_, raster.backward(line) ? Sense::back : Sense::forth, out.heating);
  if (!all_.uniform_) describe_columns(line, out);
}

void AxialCursor::blur_dots(int line, LineEnergy& out) {
  const workpiece::Surface& s = all_.job_.surface;
  const int known = all_.same_lines_ ? 0 : line;
  const double cell = s.cell_axial;
  if (s.straight) {
    if (weights_line_ != known)
      weights_ = grid_weights(all_.along_, all_.radii(line, s.radius[0]).axial, cell, all_.pad_);
    weights_line_ = known;
    blur(dots_, weights_, out.energy);
    return;
  }
  if (weights_line_ != known) {
    weights_.resize(size_t(2 * all_.pad_ + 1) * s.axial);
    for (int i = 0; i < s.axial; ++i) {
      const double radius = all_.radii(line, s.radius[i]).axial;
      for (int m = -all_.pad_; m <= all_.pad_; ++m)
        weights_[size_t(m + all_.pad_) * s.axial + i] =
            static_cast<float>(dot_weight(all_.along_, radius, cell / 2, (m - 0.5) * cell, (m + 0.5) * cell));
    }
  }
  weights_line_ = known;
  blur_varied(dots_, weights_, out.energy);
}

void AxialCursor::describe_columns(int line, LineEnergy& out) {
  const workpiece::Surface& s = all_.job_.surface;
  if (all_.same_lines_ && !out.state.empty()) return;  // as its last line was
  const Pose pose = motion::pose(all_.job_.mount, s.reference_radius, all_.job_.raster.cross(line));
  out.inverse_radius.resize(s.axial);
  out.angle.resize(s.axial);
  out.half.resize(s.axial);
  out.state.resize(s.axial);
  for (int i = 0; i < s.axial; ++i) {
    if (i > 0 && s.radius[i] == s.radius[i - 1] && s.slope[i] == s.slope[i - 1] &&
        all_.speeds_[i] == all_.speeds_[i - 1]) {
      out.inverse_radius[i] = out.inverse_radius[i - 1];
      out.angle[i] = out.angle[i - 1];
      out.half[i] = out.half[i - 1];
      out.state[i] = out.state[i - 1];
      continue;
    }
    const double azimuth = pose.azimuth_under_beam(s.radius[i]);
    if (std::isnan(azimuth)) {  // the beam passes beside the part here
      out.inverse_radius[i] = out.angle[i] = out.half[i] = 0.0f;
      out.state[i] = 0;
      continue;
    }
    const double height = all_.job_.light.height(s.radius[i], azimuth, pose);
    const double around = std::sin(azimuth - pose.rotation), along = s.slope[i];
    const double incidence = std::cos(azimuth - pose.rotation) / std::hypot(1.0, along);
    const double tilt = along * along + around * around;
    out.inverse_radius[i] = static_cast<float>(1 / all_.job_.light.radii(height).around);
    const double edge = s.cell_around * s.radius[i] / s.reference_radius * std::cos(azimuth - pose.rotation);
    out.half[i] = static_cast<float>(edge / 2) * out.inverse_radius[i];
    out.angle[i] = static_cast<float>(all_.job_.angle_factor(incidence, tilt > 0 ? along * along / tilt : 0));
    out.state[i] = all_.states_.index(height, all_.speeds_[i]);
  }
}

const float* AxialCursor::heating(const LineEnergy& line) const {
  return listener_.echo().moments.empty() ? line.energy.data() : line.heating.data();
}

AxialCursor::Edges AxialCursor::edges(int row, const Pose& pose) const {
  const workpiece::Surface& s = all_.job_.surface;
  const double centre = std::remainder(s.azimuth(row) - pose.rotation, 2 * quantity::kPi);
  const double half = s.cell_around / s.reference_radius / 2, flank = quantity::kPi / 2;
  return {std::sin(std::clamp(centre - half, -flank, flank)),
          std::sin(std::clamp(centre + half, -flank, flank))};
}

EventRow AxialCursor::uniform_event(int row, int line, const LineEnergy& energy) {
  const workpiece::Surface& s = all_.job_.surface;
  const double radius = s.radius[0];
  const Pose pose = motion::pose(all_.job_.mount, s.reference_radius, all_.job_.raster.cross(line));
  const double azimuth = pose.azimuth_under_beam(radius);
  const double height = all_.job_.light.height(radius, azimuth, pose);
  const double spot = all_.job_.light.radii(height).around;
  const auto [low, high] = edges(row, pose);
  const double near = (radius * low + pose.aside - pose.beam) / spot;
  const double far = (radius * high + pose.aside - pose.beam) / spot;
  const double share = (all_.across_.cumulative(far) - all_.across_.cumulative(near)) * inverse_width_[0];
  EventRow event{};
  event.energy = energy.energy.data();
  event.heating = heating(energy);
  event.line = line;
  event.uniform = true;
  event.share = static_cast<float>(share * spot < 1e-6 ? 0.0 : share);
  event.eta = static_cast<float>(std::abs(near + far) / 2);
  event.half = static_cast<float>((far - near) / 2);
  event.angle = static_cast<float>(all_.job_.angle_factor(std::cos(azimuth - pose.rotation), 0));
  event.state = all_.states_.index(height, all_.speeds_[0]);
  return event;
}

EventRow AxialCursor::varied_event(int row, int line, const LineEnergy& energy, Columns& out) {
  const workpiece::Surface& s = all_.job_.surface;
  const Pose pose = motion::pose(all_.job_.mount, s.reference_radius, all_.job_.raster.cross(line));
  const auto [low, high] = edges(row, pose);
  for (int i = 0; i < s.axial; ++i) {
    near_[i] = static_cast<float>(s.radius[i] * low + pose.aside - pose.beam);
    far_[i] = static_cast<float>(s.radius[i] * high + pose.aside - pose.beam);
  }
  out.shares.resize(s.axial);
  out.etas.resize(s.axial);
  all_.cross_section_.shares({near_, far_, energy.inverse_radius, inverse_width_}, out.shares, out.etas);
  EventRow event{};
  event.energy = energy.energy.data();
  event.heating = heating(energy);
  event.line = line;
  event.uniform = false;
  event.shares = out.shares.data();
  event.etas = out.etas.data();
  event.halves = energy.half.data();
  event.angles = energy.angle.data();
  event.states = energy.state.data();
  return event;
}

}  // namespace circumfluence::exposure
