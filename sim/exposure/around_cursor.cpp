#include "exposure/around_lines.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::exposure {

std::unique_ptr<Cursor> AroundLines::cursor(const Echo& echo) const {
  return std::make_unique<AroundCursor>(*this, echo);
}

AroundCursor::AroundCursor(const AroundLines& lines, const Echo& echo)
    : all_(lines),
      kept_(512),
      across_(echo, lines.job_.raster.lines),
      listens_(!echo.moments.empty()),
      forth_(lines.job_.raster.lines),
      back_(lines.job_.raster.lines),
      slots_(lines.slots_) {
  const workpiece::Surface& s = all_.job_.surface;
  energy_.resize(all_.tracks_.size() + 1);
  heating_.resize(all_.tracks_.size() + 1);
  track_state_.resize(all_.tracks_.size() + 1);
  inverse_radius_.resize(s.axial);
  angle_.resize(s.axial);
  half_.resize(s.axial);
  for (int i = 0; i < s.axial; ++i)
    inverse_width_.push_back(static_cast<float>(1 / (s.cell_axial * std::sqrt(1 + s.slope[i] * s.slope[i]))));
  for (Slot& slot : slots_) {
    slot.energy.resize(s.axial);
    slot.heating.resize(s.axial);
    slot.lines.resize(s.axial);
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
    event.heating = listens_ ? slots_[slot].heating.data() : event.energy;
    event.lines = slots_[slot].lines.data();
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

AroundCursor::DotRow& AroundCursor::dots(long dot) {
  DotRow& row = kept_[static_cast<size_t>((dot % 512 + 512) % 512)];
  if (row.known && row.dot == dot) return row;
  const Arrangement& job = all_.job_;
  const double from = job.surface.around_from + double(dot) * job.surface.cell_around;
  row.dot = dot;
  row.known = true;
  row.origin = -1;
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
    const double place = (spot.along - job.surface.around_from) / job.surface.cell_around;
    const Heard heard{first, last, std::lround(std::floor(place)), static_cast<float>(spot.incidence / spot.feed)};
    if (listens_) heard_.push_back(heard);
  }
}

void AroundCursor::sum_energy(int row) {
  std::fill(energy_.begin(), energy_.end(), 0.0f);
  heard_.clear();
  const std::vector<AroundLines::Track>& tracks = all_.tracks_;
  const int count = static_cast<int>(tracks.size());
  for (int first = 0, last = 0; first < count; first = last) {
    const auto follows = [&](int i) {
      return tracks[i].radius == tracks[first].radius && tracks[i].line == tracks[i - 1].line + 1;
    };
    for (last = first + 1; last < count && follows(last);) ++last;
    add_tracks(first, last, row);
  }
  if (!listens_) return;
  std::fill(heating_.begin(), heating_.end(), 0.0f);
  for (const Heard& heard : heard_) hear(heard);
}

// Runs of tracks with one row of dots under the beam are heard together: on a taper each line is a run.
void AroundCursor::hear(const Heard& heard) {
  const int first = all_.tracks_[heard.first].line, count = heard.last - heard.first;
  if (heard.dot != dot_heard_) {
    const long reach = across_.reach();
    sum_dots(heard.dot - reach, heard.dot + reach + 1);
    around_.clear();
    for (long dot = heard.dot - reach; dot <= heard.dot + reach + 1; ++dot)
      around_.push_back({dots(dot).energy.data(), dots(dot).sums.data()});
    across_.row(around_, Sense::forth, forth_);
    if (all_.job_.raster.two_way) across_.row(around_, Sense::back, back_);
    dot_heard_ = heard.dot;
  }
  for (int i = 0; i < count; ++i) {
    const int line = first + i, track = heard.first + i;
    const float value = all_.job_.raster.backward(line) ? back_[line] : forth_[line];
    heating_[track] = std::max(heating_[track], heard.density * value);
  }
}

// Running sums of the rows of dots first..last, all from one origin.
void AroundCursor::sum_dots(long first, long last) {
  for (long dot = first; dot <= last; ++dot) {
    DotRow& row = dots(dot);
    if (dot == first) {
      if (row.origin < 0) {
        row.origin = ++origins_;
        row.sums.assign(row.energy.size(), 0.0);
      }
      continue;
    }
    const DotRow& before = dots(dot - 1);
    if (row.origin == before.origin) continue;
    row.origin = before.origin;
    row.sums.resize(row.energy.size());
    for (size_t i = 0; i < row.sums.size(); ++i) row.sums[i] = before.sums[i] + before.energy[i];
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
    out.heating[i] = heating_[tracks[i]];
    out.lines[i] = tracks[i] < int(all_.tracks_.size()) ? all_.tracks_[tracks[i]].line : -1;
    out.states[i] = track_state_[tracks[i]];
    any |= out.energy[i] != 0.0f;
  }
  if (!any) return false;
  all_.cross_section_.shares({all_.near_[slot], all_.far_[slot], inverse_radius_, inverse_width_}, out.shares,
                             out.etas);
  return true;
}

}  // namespace circumfluence::exposure
