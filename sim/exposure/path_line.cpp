// Pieces along the axis: what a line of them brings along its whole length is worked out once for the rows
// beside it.
#include <algorithm>
#include <cmath>

#include "exposure/path_cursor.h"

namespace circumfluence::exposure {
namespace {

using Kind = Piece::Kind;

constexpr float kFaintest = 1e-12f;  // [1] of what heats, where no light arrives
constexpr int kWide = 4;  // a line over less than this part of the row shares its event with others

}  // namespace

PathCursor::Line& PathCursor::line_of(std::uint32_t head) {
  std::unique_ptr<Line>& line = lines_[head];
  if (!line) {
    if (idle_.empty()) {
      line = std::make_unique<Line>();
    } else {
      line = std::move(idle_.back());
      idle_.pop_back();
    }
    expose(head, *line);
  }
  line->used = clock_;
  return *line;
}

// Whether no other piece takes part in the passages of this line.
bool PathCursor::alone(std::uint32_t head, std::uint32_t end) const {
  const Path& path = all_.path_;
  const std::vector<Piece>& pieces = path.pieces();
  const int chain = path.links()[size_t(pieces[head].link)].chain;
  const double begins = path.distance(pieces[head]);
  const double ends = path.distance(pieces[end - 1]) + std::abs(pieces[end - 1].axial_by);
  const auto clear = [&](const Piece& piece) {  // comes back rather than goes on
    return piece.sort() == Kind::axial && piece.axial_by * pieces[head].axial_by < 0;
  };
  const auto same = [&](const Piece& piece) { return path.links()[size_t(piece.link)].chain == chain; };
  for (std::uint32_t i = head; i-- > 0 && same(pieces[i]);) {
    const double way = std::hypot(pieces[i].axial_by, pieces[i].around_by);
    if (begins - path.distance(pieces[i]) - way > 2 * all_.most_reach_) break;
    if (!clear(pieces[i])) return false;
  }
  for (std::uint32_t i = end; i < pieces.size() && same(pieces[i]); ++i) {
    if (path.distance(pieces[i]) - ends > 2 * all_.most_reach_) break;
    if (!clear(pieces[i])) return false;
  }
  return true;
}

void PathCursor::expose(std::uint32_t head, Line& line) {
  const workpiece::Surface& s = all_.ground_.surface;
  const std::vector<Piece>& pieces = all_.path_.pieces();
  std::uint32_t end = head + 1;
  bool even = true;  // one speed
  while (end < pieces.size() && pieces[end].follows) even &= pieces[end++].speed == pieces[head].speed;
  const double one = pieces[head].axial, other = pieces[end - 1].axial + pieces[end - 1].axial_by;
  const PathLines::Rows reached =
      columns(std::min(one, other) - all_.most_reach_, std::max(one, other) + all_.most_reach_);
  const bool wide = (reached.last - reached.first) * kWide >= s.axial;
  line.whole = s.straight && even && wide && alone(head, end);
  line.columns = line.whole ? PathLines::Rows{0, s.axial} : reached;
  line.energy.assign(size_t(line.columns.last - line.columns.first), 0.0f);
  line.speed.assign(line.whole ? 0 : line.energy.size(), 0.0f);
  for (std::uint32_t i = head; i < end; ++i) send(pieces[i], line);
  if (echo_.listens()) {
    line.heating.resize(line.energy.size());
    echo_.columns(pieces[head], line.columns.first, line.heating);
  }
  float last = static_cast<float>(all_.path_.speed(pieces[one < other ? head : end - 1]));
  for (float& speed : line.speed) last = speed > 0 ? speed : speed = last;  // in gaps as before them
}

void PathCursor::send(const Piece& piece, Line& line) {
  const workpiece::Surface& s = all_.ground_.surface;
  const double low = std::min(piece.axial, piece.axial + piece.axial_by),
               high = low + std::abs(piece.axial_by);
  const double half = s.cell_axial / 2;
  const PathLines::Rows reached = columns(low - all_.most_reach_, high + all_.most_reach_);
  const float speed = static_cast<float>(all_.path_.speed(piece));
  double inverse = 0, radius = 0;
  for (int i = std::max(reached.first, line.columns.first); i < std::min(reached.last, line.columns.last);
       ++i) {
    const size_t at = size_t(i - line.columns.first);
    if (i == reached.first || !s.straight || i == line.columns.first) {
      radius = sight(i, piece.around, piece).axial;
      inverse = 1 / radius;
    }
    const double from = low - s.position(i), to = high - s.position(i);
    if (!line.speed.empty() && from <= half && to >= -half && (line.speed[at] == 0 || (from <= 0 && to >= 0)))
      line.speed[at] = speed;
    const double reach = all_.axial_.reach();
    const bool within = (from + half) * inverse < -reach && (to - half) * inverse > reach;
    line.energy[at] +=
        piece.energy * (within ? 1.0f : static_cast<float>(dot_weight(all_.axial_, radius, half, from, to)));
  }
}

void PathCursor::whole_line(const Piece& head, const Line& line) {
  const workpiece::Surface& s = all_.ground_.surface;
  const Sight& seen = sight(0, head.around, head);
  if (!seen.lit) return;
  const motion::Pose pose = motion::pose(all_.ground_.mount, s.reference_radius, head.around);
  const auto [low, high] = edges(pose.rotation);
  const double near = (s.radius[0] * low + pose.aside - pose.beam) / seen.around;
  const double far = (s.radius[0] * high + pose.aside - pose.beam) / seen.around;
  const double share =
      (all_.around_.cumulative(far) - all_.around_.cumulative(near)) * all_.inverse_around_[0];
  EventRow event{};
  event.energy = line.energy.data();
  event.heating = echo_.listens() ? line.heating.data() : line.energy.data();
  event.line = static_cast<int>(&head - all_.path_.pieces().data());
  event.uniform = true;
  event.share = static_cast<float>(share * seen.around < 1e-6 ? 0.0 : share);
  event.eta = static_cast<float>(std::abs(near + far) / 2);
  event.half = static_cast<float>((far - near) / 2);
  event.angle = seen.angle;
  event.state = all_.states_->index(seen.height, all_.path_.speed(head), 1);
  begin(true).event = event;
  std::fill(depth_.begin(), depth_.end(), laid_);
  std::fill(open_.begin(), open_.end(), Open{});
}

void PathCursor::pass_line(std::uint32_t index) {
  const workpiece::Surface& s = all_.ground_.surface;
  const Line& line = line_of(index);
  const Piece& head = all_.path_.pieces()[index];
  if (line.whole) return whole_line(head, line);
  const motion::Pose pose = motion::pose(all_.ground_.mount, s.reference_radius, head.around);
  const auto [low, high] = edges(pose.rotation);
  const int first = line.columns.first;
  float share = 0, spoken = -1;
  std::uint16_t state = 0;
  double near = 0, far = 0;
  const Sight* seen = nullptr;
  for (int i = first; i < line.columns.last; ++i) {
    Touch& touch = touch_[size_t(i)];
    const float heat = echo_.listens() ? line.heating[size_t(i - first)] : 0.0f;
    touch.energy = std::max(line.energy[size_t(i - first)], kFaintest * heat);  // light, or at least warmth
    if (touch.energy == 0) continue;
    const bool fresh = seen == nullptr || !s.straight;
    if (fresh) {
      seen = &sight(i, head.around, head);
      near = (s.radius[i] * low + pose.aside - pose.beam) / seen->around;
      far = (s.radius[i] * high + pose.aside - pose.beam) / seen->around;
      const float across =
          s.straight ? static_cast<float>(all_.around_.cumulative(far) - all_.around_.cumulative(near))
                     : all_.around_table_.at(static_cast<float>(far)) -
                           all_.around_table_.at(static_cast<float>(near));
      share = across * static_cast<float>(all_.inverse_around_[size_t(i)] * s.cell_axial *
                                          all_.inverse_axial_[size_t(i)]);
    }
    if (const float speed = line.speed[size_t(i - first)]; fresh || speed != spoken) {
      state = all_.states_->index(seen->height, speed, 1);
      spoken = speed;
    }
    if (!seen->lit) touch.energy = 0;
    touch.light = touch.energy * share;
    touch.eta = static_cast<float>(std::abs(near + far) / 2);
    touch.half = static_cast<float>((far - near) / 2);
    touch.angle = seen->angle;
    touch.heat = heat;
    touch.state = state;
    touch.distance = std::clamp((s.position(i) - head.axial) * (head.axial_by > 0 ? 1 : -1), 0.0, 1e3);
  }
  keep(head, line.columns, {head.axial_by, 0});
}

}  // namespace circumfluence::exposure
