// The passages of a path over a row of cells: what each piece brings, piece by piece, put into events.
#include <algorithm>
#include <cmath>

#include "exposure/path_cursor.h"
#include "quantity/constants.h"
#include "quantity/lanes.h"

namespace circumfluence::exposure {
namespace {

using Kind = Piece::Kind;

constexpr double kBack = -0.1;       // [1] cosine between the ways beyond which the beam comes back
constexpr double kFaintest = 1e-12;  // [1] of a piece's energy per length, where only its warmth arrives

CIRCUMFLUENCE_LANES void divide(const float* light, const float* energy, float* shares, int n) {
  for (int i = 0; i < n; ++i) shares[i] = energy[i] > 0.0f ? light[i] / energy[i] : 0.0f;
}

}  // namespace

PathCursor::PathCursor(const PathLines& lines, const Echo& echo)
    : all_(lines),
      echo_(lines.path_, echo,
            {lines.ground_.surface.axial_from, lines.ground_.surface.cell_axial,
             lines.ground_.surface.around_from, lines.ground_.surface.cell_around}) {
  const workpiece::Surface& s = all_.ground_.surface;
  const size_t columns = size_t(s.axial);
  half_sine_ = std::sin(s.cell_around / s.reference_radius / 2);
  half_cosine_ = std::cos(s.cell_around / s.reference_radius / 2);
  under_sine_ = std::clamp(all_.ground_.mount.beam_offset / s.radius[0], -1.0, 1.0);
  under_cosine_ = std::sqrt(1 - under_sine_ * under_sine_);
  depth_.resize(columns);
  open_.resize(columns);
  touch_.resize(columns);
  light_.resize(columns);
  if (all_.same_) sights_.resize(all_.path_.heights().size());
}

std::span<const EventRow> PathCursor::at(int row) {
  ++clock_;
  row_ = row;
  laid_ = 0;
  std::fill(depth_.begin(), depth_.end(), 0);
  std::fill(open_.begin(), open_.end(), Open{});
  for (const std::uint32_t index : all_.row(row)) {
    const Piece& piece = all_.path_.pieces()[index];
    switch (piece.sort()) {
      case Kind::axial:
        pass_line(index);
        break;
      case Kind::around:
        pass_around(piece);
        break;
      case Kind::oblique:
        pass_oblique(piece);
        break;
      case Kind::spot:
        pass_spot(piece);
        break;
    }
  }
  for (auto line = lines_.begin(); line != lines_.end();) {
    if (line->second->used == clock_) {
      ++line;
      continue;
    }
    idle_.push_back(std::move(line->second));
    line = lines_.erase(line);
  }
  return finish();
}

// How the beam meets the part in a column, while a piece is burnt around at `fed`.
const PathCursor::Sight& PathCursor::sight(int column, double fed, const Piece& piece) {
  const workpiece::Surface& s = all_.ground_.surface;
  const auto look = [&](int i) {
    return all_.sight(fed, all_.path_.height(piece), {s.radius[i], s.slope[i]});
  };
  if (!all_.same_) return sight_ = look(column);
  std::vector<Sight>& known = sights_[piece.level];
  if (known.empty())
    for (int i = 0; i < (s.straight ? 1 : s.axial); ++i)
      known.push_back(i > 0 && s.radius[i] == s.radius[i - 1] && s.slope[i] == s.slope[i - 1] ? known.back()
                                                                                              : look(i));
  return known[s.straight ? 0 : size_t(column)];
}

// [m] around where the piece would be when it meets the row, on the nearest turn; NaN: nowhere.
double PathCursor::fed(double radius, const Piece& piece) {
  if (radius != fed_radius_ || row_ != fed_row_) {
    fed_ = all_.fed(row_, radius);
    fed_radius_ = radius;
    fed_row_ = row_;
  }
  const double turn = all_.path_.turn(), middle = piece.around + 0.5 * piece.around_by;
  return turn > 0 ? fed_ + std::round((middle - fed_) / turn) * turn : fed_;
}

// Sines of the row's edges from the plane of the axis, when the part is turned so far; beyond the flanks
// nothing is lit.
PathLines::Span PathCursor::edges(double rotation) const {
  const workpiece::Surface& s = all_.ground_.surface;
  const double centre = std::remainder(s.azimuth(row_) - rotation, 2 * quantity::kPi);
  const double half = s.cell_around / s.reference_radius / 2, flank = quantity::kPi / 2;
  return {std::sin(std::clamp(centre - half, -flank, flank)),
          std::sin(std::clamp(centre + half, -flank, flank))};
}

PathLines::Rows PathCursor::columns(double low, double high) const {
  const workpiece::Surface& s = all_.ground_.surface;
  const double from = std::floor((low - s.axial_from) / s.cell_axial),
               to = std::floor((high - s.axial_from) / s.cell_axial) + 1;
  return {static_cast<int>(std::clamp(from, 0.0, double(s.axial))),
          static_cast<int>(std::clamp(to, 0.0, double(s.axial)))};
}

void PathCursor::pass_around(const Piece& piece) {
  const PathLines::Rows near = columns(piece.axial - all_.most_reach_, piece.axial + all_.most_reach_);
  for (int first = near.first; first < near.last;) {
    const int stretch = all_.stretch_[size_t(first)];
    const int last = std::min(near.last, all_.stretches_[size_t(stretch)].second);
    pass_around(piece, stretch, {first, last});
    first = last;
  }
}

// One place along the line: its energy there is spread over the columns beside it.
void PathCursor::pass_around(const Piece& piece, int stretch, const PathLines::Rows& columns) {
  const workpiece::Surface& s = all_.ground_.surface;
  const double radius = all_.radius_at(piece.axial, stretch), here = fed(radius, piece);
  if (std::isnan(here)) return;
  const int middle = std::clamp(static_cast<int>((piece.axial - s.axial_from) / s.cell_axial), columns.first,
                                columns.last - 1);
  const Sight under = all_.same_ && s.straight
                          ? sight(middle, here, piece)
                          : all_.sight(here, all_.path_.height(piece), {radius, s.slope[middle]});
  if (!under.lit) return;
  const double half = s.cell_around / s.reference_radius * radius * under.incidence / 2;
  const double begin = (piece.around - here) * under.feed, end = begin + piece.around_by * under.feed;
  const double weight =
      dot_weight(all_.around_, under.around, half, std::min(begin, end), std::max(begin, end));
  if (weight == 0 && !echo_.listens()) return;  // what the beam does not reach may still be warmed
  const float energy =
      static_cast<float>(std::max(weight, kFaintest) * piece.energy * under.incidence / under.feed);
  const double unbounded = (here - piece.around) * (piece.around_by > 0 ? 1 : -1);
  const double gone = std::clamp(unbounded, 0.0, std::abs(double(piece.around_by)));
  const std::uint16_t state = all_.states_->index(under.height, all_.path_.speed(piece) * under.turned, 0);
  const float heat =
      echo_.listens() ? echo_.at(piece, unbounded) * static_cast<float>(under.incidence / under.feed) : 0.0f;
  double edge = s.axial_from + columns.first * s.cell_axial - piece.axial;
  float inverse = 0, wide = 0, before = 0, angle = 0;
  for (int i = columns.first; i < columns.last; ++i, edge += s.cell_axial) {
    if (i == columns.first || !s.straight) {
      const Sight& there = s.straight ? under : sight(i, here, piece);
      inverse = 1 / there.axial, wide = static_cast<float>(s.cell_axial) * inverse, angle = there.angle;
      before = all_.axial_table_.at(static_cast<float>(edge) * inverse);
    }
    const float at = static_cast<float>(edge) * inverse, next = all_.axial_table_.at(at + wide);
    const float light = weight > 0 ? energy * (next - before) * all_.inverse_axial_[size_t(i)] : 0.0f;
    touch_[size_t(i)] = {energy, light, std::abs(at + wide / 2), wide / 2, angle, heat, state, gone};
    before = next;
  }
  keep(piece, columns, {0, piece.around_by});
}

// A dwell lights as long as the beam takes over its own diameter at the speed that it is given.
void PathCursor::pass_spot(const Piece& piece) {
  const workpiece::Surface& s = all_.ground_.surface;
  const PathLines::Rows near = columns(piece.axial - all_.most_reach_, piece.axial + all_.most_reach_);
  if (near.first >= near.last) return;
  const Sight under = sight((near.first + near.last) / 2, piece.around, piece);
  if (!under.lit) return;
  std::fill(light_.begin() + near.first, light_.begin() + near.last, 0.0f);
  light_dot(piece.energy, piece.axial, piece.around, piece);
  const auto [low, high] = edges(motion::pose(all_.ground_.mount, s.reference_radius, piece.around).rotation);
  const motion::Pose pose = motion::pose(all_.ground_.mount, s.reference_radius, piece.around);
  const float energy = static_cast<float>(piece.energy / (2 * std::sqrt(double(under.axial) * under.around)));
  for (int i = near.first; i < near.last; ++i) {
    const Sight& there = s.straight ? under : sight(i, piece.around, piece);
    const double y = (s.radius[i] * (low + high) / 2 + pose.aside - pose.beam) / there.around;
    const double x = (s.position(i) - piece.axial) / there.axial;
    const double half = 0.25 * (s.cell_axial / there.axial + s.radius[i] * (high - low) / there.around);
    const bool near_by = std::hypot(x, y) <= kWarmReach + half || light_[size_t(i)] > 0;
    touch_[size_t(i)] = {near_by && there.lit ? energy : 0.0f,
                         light_[size_t(i)],
                         static_cast<float>(std::hypot(x, y)),
                         static_cast<float>(half),
                         there.angle,
                         energy,
                         all_.states_->index(there.height, all_.path_.speed(piece), 1),
                         0};
  }
  keep(piece, near, {0, 0});
}

// Puts what a piece brought into the passages of its cells.
void PathCursor::keep(const Piece& piece, const PathLines::Rows& columns, const Way& way) {
  const Path::Link& link = all_.path_.links()[size_t(piece.link)];
  const double from = link.base + piece.distance, length = std::hypot(way.axial, way.around);
  const float axial = length > 0 ? static_cast<float>(way.axial / length) : 0.0f;
  const float around = length > 0 ? static_cast<float>(way.around / length) : 0.0f;
  const int index = static_cast<int>(&piece - all_.path_.pieces().data());
  // Of short pieces the nearest describes the passage, though a long one further off may bring more.
  const float rank = static_cast<float>(1 / std::clamp(length * kWarmReach / all_.most_reach_, 1e-3, 1.0));
  for (int i = columns.first; i < columns.last; ++i) {
    const Touch& touch = touch_[size_t(i)];
    if (!(touch.energy > 0)) continue;
    Open& open = open_[size_t(i)];
    const double distance = from + touch.distance;
    const bool goes_on = open.chain == link.chain && distance - open.distance < 2 * all_.most_reach_ &&
                         open.axial * axial + open.around * around > kBack;
    if (!goes_on) {
      open = {link.chain, axial, around, 0, distance};
      if (++depth_[size_t(i)] > laid_) begin(false);
    }
    Layer& layer = layers_[size_t(depth_[size_t(i)]) - 1];
    const size_t column = size_t(i);
    layer.energy[column] += touch.energy;
    layer.light[column] += touch.light;
    open.distance = distance;
    if (piece.sort() == Kind::spot) layer.heating[column] = std::max(layer.heating[column], touch.heat);
    if (touch.energy * rank <= open.best) continue;
    open.best = touch.energy * rank;
    layer.heating[column] = touch.heat;
    layer.etas[column] = touch.eta;
    layer.halves[column] = touch.half;
    layer.angles[column] = touch.angle;
    layer.states[column] = touch.state;
    layer.lines[column] = index;
  }
}

PathCursor::Layer& PathCursor::begin(bool whole) {
  if (size_t(laid_) == layers_.size()) layers_.emplace_back();
  Layer& layer = layers_[size_t(laid_++)];
  layer.whole = whole;
  if (whole) return layer;
  const size_t columns = size_t(all_.ground_.surface.axial);
  for (std::vector<float>* array : {&layer.energy, &layer.heating, &layer.light, &layer.shares, &layer.etas,
                                    &layer.halves, &layer.angles})
    array->resize(columns);
  layer.states.resize(columns);
  layer.lines.assign(columns, -1);
  std::fill(layer.energy.begin(), layer.energy.end(), 0.0f);
  std::fill(layer.heating.begin(), layer.heating.end(), 0.0f);
  std::fill(layer.light.begin(), layer.light.end(), 0.0f);
  return layer;
}

std::span<const EventRow> PathCursor::finish() {
  events_.clear();
  for (int i = 0; i < laid_; ++i) {
    Layer& layer = layers_[size_t(i)];
    if (!layer.whole) {
      divide(layer.light.data(), layer.energy.data(), layer.shares.data(),
             static_cast<int>(layer.light.size()));
      layer.event = {};
      layer.event.energy = layer.energy.data();
      layer.event.heating = echo_.listens() ? layer.heating.data() : layer.energy.data();
      layer.event.shares = layer.shares.data();
      layer.event.etas = layer.etas.data();
      layer.event.halves = layer.halves.data();
      layer.event.angles = layer.angles.data();
      layer.event.states = layer.states.data();
      layer.event.lines = layer.lines.data();
    }
    events_.push_back(layer.event);
  }
  return events_;
}

}  // namespace circumfluence::exposure
