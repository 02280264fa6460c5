#include "exposure/around_lines.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::exposure {

std::unique_ptr<Cursor> AroundLines::cursor() const {
  return std::make_unique<AroundCursor>(*this);
}

AroundCursor::AroundCursor(const AroundLines& lines) : all_(lines), kept_(512), slots_(lines.slots_) {
  const workpiece::Surface& s = all_.job_.surface;
  energy_.resize(all_.job_.raster.lines + 1);
  line_state_.resize(all_.job_.raster.lines + 1);
  inverse_radius_.resize(s.axial);
  angle_.resize(s.axial);
  half_.resize(s.axial);
  for (int i = 0; i < s.axial; ++i)
    inverse_width_.push_back(static_cast<float>(1 / (s.cell_axial * std::sqrt(1 + s.slope[i] * s.slope[i]))));
  for (Slot& slot : slots_) {
    slot.energy.resize(s.axial);
    slot.shares.resize(s.axial);
    slot.etas.resize(s.axial);
    slot.states.resize(s.axial);
  }
}

std::span<const EventRow> AroundCursor::at(int row) {
  sum_energy(row);
  if (!described_ || !all_.same_rows_) describe_columns(row);
  events_.clear();
  for (int slot = 0; slot < all_.slots_; ++slot) {
    if (!fill(slot)) continue;
    EventRow event{};
    event.energy = slots_[slot].energy.data();
    event.uniform = false;
    event.shares = slots_[slot].shares.data();
    event.etas = slots_[slot].etas.data();
    event.halves = half_.data();
    event.angles = angle_.data();
    event.states = slots_[slot].states.data();
    events_.push_back(event);
  }
  described_ = true;
  const size_t a_pass = events_.size();
  for (int pass = 1; pass < all_.job_.raster.passes; ++pass)
    for (size_t i = 0; i < a_pass; ++i) events_.push_back(events_[i]);
  return events_;
}

// The distance of the cell from the beam falls as the art is fed; a dot covers a range of it.
AroundCursor::Taps AroundCursor::taps(double radius, const AroundLines::Spot& spot) const {
  const workpiece::Surface& s = all_.job_.surface;
  const bool turning = all_.job_.mount.hold == motion::Hold::turning;
  const double feed =
      turning ? radius * spot.incidence / s.reference_radius : 1.0;  // air distance per fed length
  const double half = s.cell_around / s.reference_radius * radius * spot.incidence / 2;
  const double width = all_.job_.light.radii(spot.height).around;
  const double reach = (all_.along_.reach() * width + half) / feed;
  Taps taps;
  taps.dot = std::lround(std::floor((spot.along - reach - s.around_from) / s.cell_around));
  const long last = std::lround(std::floor((spot.along + reach - s.around_from) / s.cell_around));
  for (long dot = taps.dot; dot <= last; ++dot) {
    const double from = (s.around_from + double(dot) * s.cell_around - spot.along) * feed;
    const double weight = dot_weight(all_.along_, width, half, from, from + s.cell_around * feed);
    taps.weights.push_back(static_cast<float>(weight * spot.incidence / feed));
  }
  return taps;
}

const AroundCursor::DotRow& AroundCursor::dots(long dot) {
  DotRow& row = kept_[static_cast<size_t>((dot % 512 + 512) % 512)];
  if (row.known && row.dot == dot) return row;
  const Arrangement& job = all_.job_;
  const double from = job.surface.around_from + double(dot) * job.surface.cell_around;
  row.dot = dot;
  row.known = true;
  row.energy.resize(job.raster.lines);
  all_.commands_.row(from, from + job.surface.cell_around, row.energy, scratch_);
  const bool constant = job.power_habit == motion::PowerHabit::constant;
  const double slowness = constant ? job.raster.slowness(from, job.surface.cell_around) : 1 / job.speed;
  for (float& energy : row.energy) energy *= static_cast<float>(job.power * slowness);
  return row;
}

void AroundCursor::add_lines(int first, int last, const AroundLines::Spot& spot) {
  const Taps reaching = taps(all_.line_radius_[first], spot);
  for (size_t t = 0; t < reaching.weights.size(); ++t) {
    const DotRow& row = dots(reaching.dot + static_cast<long>(t));
    const float weight = reaching.weights[t];
    for (int line = first; line < last; ++line) energy_[line] += weight * row.energy[line];
  }
}

void AroundCursor::sum_energy(int row) {
  const Arrangement& job = all_.job_;
  const double turn = 2 * quantity::kPi * job.surface.reference_radius;
  const double margin = 16 * all_.widest_around_ + job.surface.cell_around;
  std::fill(energy_.begin(), energy_.end(), 0.0f);
  for (int first = 0, last = 0; first < job.raster.lines; first = last) {
    const double radius = all_.line_radius_[first];
    while (last < job.raster.lines && all_.line_radius_[last] == radius) ++last;
    AroundLines::Spot spot = all_.spot(row, radius);
    if (!spot.lit) continue;
    const bool turning = job.mount.hold == motion::Hold::turning;
    const double fed = turning ? radius / job.surface.reference_radius : 1.0;
    const double speed =
        fed / job.raster.slowness(spot.along - job.surface.cell_around / 2, job.surface.cell_around);
    std::fill(line_state_.begin() + first, line_state_.begin() + last,
              all_.states_.index(spot.height, speed));
    const double along = spot.along;
    for (int k = turning ? -1 : 0; k <= (turning ? 1 : 0); ++k) {
      spot.along = along + k * turn;
      if (spot.along > job.raster.along_from - margin && spot.along < job.raster.along_to + margin)
        add_lines(first, last, spot);
    }
  }
}

void AroundCursor::describe_columns(int row) {
  const workpiece::Surface& s = all_.job_.surface;
  for (int i = 0; i < s.axial; ++i) {
    if (i > 0 && s.radius[i] == s.radius[i - 1] && s.slope[i] == s.slope[i - 1]) {
      inverse_radius_[i] = inverse_radius_[i - 1];
      angle_[i] = angle_[i - 1];
      half_[i] = half_[i - 1];
      continue;
    }
    const AroundLines::Spot spot = all_.spot(row, s.radius[i]);
    inverse_radius_[i] = spot.lit ? static_cast<float>(1 / all_.job_.light.radii(spot.height).axial) : 0.0f;
    half_[i] = static_cast<float>(s.cell_axial / 2) * inverse_radius_[i];
    const double around = std::sin(spot.azimuth), tilt = s.slope[i] * s.slope[i] + around * around;
    angle_[i] =
        !spot.lit ? 0.0f
                  : static_cast<float>(all_.job_.angle_factor(spot.incidence / std::hypot(1.0, s.slope[i]),
                                                              tilt > 0 ? s.slope[i] * s.slope[i] / tilt : 0));
  }
}

bool AroundCursor::fill(int slot) {
  Slot& out = slots_[slot];
  const std::vector<int>& lines = all_.line_of_slot_[slot];
  bool any = false;
  for (size_t i = 0; i < lines.size(); ++i) {
    out.energy[i] = energy_[lines[i]];
    out.states[i] = line_state_[lines[i]];
    any |= out.energy[i] != 0.0f;
  }
  if (!any) return false;
  all_.cross_section_.shares({all_.near_[slot], all_.far_[slot], inverse_radius_, inverse_width_}, out.shares,
                             out.etas);
  return true;
}

}  // namespace circumfluence::exposure
