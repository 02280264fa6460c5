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
  energy_.resize(all_.tracks_.size() + 1);
  track_state_.resize(all_.tracks_.size() + 1);
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
  repeat(events_, all_.job_.raster.passes);
  return events_;
}

// The distance of the cell from the beam falls as the art is fed; a dot covers a range of it.
AroundCursor::Taps AroundCursor::taps(double radius, const AroundLines::Spot& spot) const {
  const workpiece::Surface& s = all_.job_.surface;
  const double half = s.cell_around / s.reference_radius * radius * spot.incidence / 2;
  const double width = all_.job_.light.radii(spot.height).around;
  const double reach = (all_.along_.reach() * width + half) / spot.feed;
  Taps taps;
  taps.dot = std::lround(std::floor((spot.along - reach - s.around_from) / s.cell_around));
  const long last = std::lround(std::floor((spot.along + reach - s.around_from) / s.cell_around));
  for (long dot = taps.dot; dot <= last; ++dot) {
    const double from = (s.around_from + double(dot) * s.cell_around - spot.along) * spot.feed;
    const double weight = dot_weight(all_.along_, width, half, from, from + s.cell_around * spot.feed);
    taps.weights.push_back(static_cast<float>(weight * spot.incidence / spot.feed));
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

void AroundCursor::add_dots(int first, int last, const AroundLines::Spot& spot) {
  const Taps reaching = taps(all_.tracks_[first].radius, spot);
  for (size_t t = 0; t < reaching.weights.size(); ++t) {
    const DotRow& row = dots(reaching.dot + static_cast<long>(t));
    const float* sent = row.energy.data() + all_.tracks_[first].line;
    const float weight = reaching.weights[t];
    for (int track = first; track < last; ++track) energy_[track] += weight * sent[track - first];
  }
}

// Tracks of one radius and of lines that follow each other.
void AroundCursor::add_tracks(int first, int last, int row) {
  const Arrangement& job = all_.job_;
  const double radius = all_.tracks_[first].radius;
  AroundLines::Spot spot = all_.spot(row, radius);
  if (!spot.lit) return;
  const bool turning = job.mount.hold == motion::Hold::turning;
  const double turn = 2 * quantity::kPi * job.surface.reference_radius, along = spot.along;
  const double width = job.light.radii(spot.height).around;
  const double reach = all_.along_.reach() * width / spot.feed + 2 * job.surface.cell_around;
  const double begin = job.raster.along_from - reach - along, end = job.raster.along_to + reach - along;
  const double least = turning ? std::ceil(begin / turn) : 0;
  const double most = turning ? std::floor(end / turn) : begin <= 0 && end >= 0 ? 0 : -1;
  for (double k = least; k <= most; ++k) {
    spot.along = along + k * turn;
    const std::uint16_t state = all_.states_.index(spot.height, all_.speed(spot, radius));
    std::fill(track_state_.begin() + first, track_state_.begin() + last, state);
    add_dots(first, last, spot);
  }
}

void AroundCursor::sum_energy(int row) {
  std::fill(energy_.begin(), energy_.end(), 0.0f);
  const std::vector<AroundLines::Track>& tracks = all_.tracks_;
  const int count = static_cast<int>(tracks.size());
  for (int first = 0, last = 0; first < count; first = last) {
    const auto follows = [&](int i) {
      return tracks[i].radius == tracks[first].radius && tracks[i].line == tracks[i - 1].line + 1;
    };
    for (last = first + 1; last < count && follows(last);) ++last;
    add_tracks(first, last, row);
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
  const std::vector<int>& tracks = all_.track_of_slot_[slot];
  bool any = false;
  for (size_t i = 0; i < tracks.size(); ++i) {
    out.energy[i] = energy_[tracks[i]];
    out.states[i] = track_state_[tracks[i]];
    any |= out.energy[i] != 0.0f;
  }
  if (!any) return false;
  all_.cross_section_.shares({all_.near_[slot], all_.far_[slot], inverse_radius_, inverse_width_}, out.shares,
                             out.etas);
  return true;
}

}  // namespace circumfluence::exposure
