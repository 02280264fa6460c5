// Pieces at an angle, and arcs: every moment of a Gauss rule along them is put on the cells.
#include <algorithm>
#include <cmath>

#include "exposure/path_cursor.h"

namespace circumfluence::exposure {
namespace {

constexpr double kPanel = 1.2;      // [1] radii that the four points of the rule span, for a Gaussian
constexpr double kFaintest = 1e-6;  // [1] of a piece's energy per length
// Gauss-Legendre, four points on [0, 1].
constexpr std::pair<double, double> kNodes[] = {{0.0694318442029737, 0.173927422568727},
                                                {0.3300094782075719, 0.326072577431273},
                                                {0.6699905217924281, 0.326072577431273},
                                                {0.9305681557970263, 0.173927422568727}};

}  // namespace

// [1] share of the beam that falls on the row, across the axis, when the row's middle is an angle x away from
// the plane under the beam: of a straight part that turns truly.
float PathCursor::row_across(double x, const Sight& seen) const {
  const double radius = all_.ground_.surface.radius[0], inverse = 1.0 / seen.around;
  const double square = x * x;
  double sine = x, cosine = 1;  // by their first terms, to 1e-9
  if (square < 0.04) {
    sine = x * (1 - square * (1.0 / 6 - square * (1.0 / 120 - square / 5040)));
    cosine = 1 - square * (0.5 - square * (1.0 / 24 - square / 720));
  } else {
    sine = std::sin(x), cosine = std::cos(x);
  }
  const double middle = under_sine_ * cosine + under_cosine_ * sine,
               slope = under_cosine_ * cosine - under_sine_ * sine;
  if (slope < half_sine_) return 0.0f;  // beyond the flank
  const double at = (middle * half_cosine_ - under_sine_) * radius * inverse,
               half = slope * half_sine_ * radius * inverse;
  if (std::abs(at) > all_.around_.reach() + half) return 0.0f;
  return all_.around_table_.at(static_cast<float>(at + half)) -
         all_.around_table_.at(static_cast<float>(at - half));
}

void PathCursor::light_row(double energy, double axial, float across, const Sight& seen) {
  if (!seen.lit || across <= 0) return;
  const workpiece::Surface& s = all_.ground_.surface;
  const double most = all_.axial_.reach() * seen.axial;
  const PathLines::Rows near = columns(axial - most, axial + most);
  const float inverse = 1 / seen.axial, step = static_cast<float>(s.cell_axial) * inverse;
  const float from = static_cast<float>(s.axial_from + near.first * s.cell_axial - axial) * inverse;
  const float sent = static_cast<float>(energy) * across * all_.inverse_axial_[0] * all_.inverse_around_[0];
  float before = all_.axial_table_.at(from);
  for (int i = near.first; i < near.last; ++i) {
    const float next = all_.axial_table_.at(from + float(i - near.first + 1) * step);
    light_[size_t(i)] += sent * (next - before);
    before = next;
  }
}

// Lights the row's cells from one moment of a piece.
void PathCursor::light_dot(double energy, double axial, double around, const Piece& piece) {
  const workpiece::Surface& s = all_.ground_.surface;
  if (all_.same_ && s.straight) {
    const Sight& seen = sight(0, around, piece);
    return light_row(energy, axial, row_across((fed(s.radius[0], piece) - around) / s.reference_radius, seen),
                     seen);
  }
  const motion::Pose pose = motion::pose(all_.ground_.mount, s.reference_radius, around);
  const auto [low, high] = edges(pose.rotation);
  const int under = std::clamp(static_cast<int>((axial - s.axial_from) / s.cell_axial), 0, s.axial - 1);
  const Sight seen = sight(under, around, piece);
  const double most = all_.axial_.reach() * (s.straight ? double(seen.axial) : all_.most_reach_ / kWarmReach);
  const PathLines::Rows near = columns(axial - most, axial + most);
  const int count = near.last - near.first;
  if (count <= 0 || (s.straight && !seen.lit)) return;
  if (s.straight) {
    const auto at = [&](double sine) {
      return static_cast<float>((s.radius[0] * sine + pose.aside - pose.beam) / seen.around);
    };
    return light_row(energy, axial, all_.around_table_.at(at(high)) - all_.around_table_.at(at(low)), seen);
  }
  for (int i = near.first; i < near.last; ++i) {
    const Sight& there = sight(i, around, piece);
    if (!there.lit) continue;
    const auto y = [&](double sine) {
      return static_cast<float>((s.radius[i] * sine + pose.aside - pose.beam) / there.around);
    };
    const float middle = static_cast<float>(s.position(i) - axial) / there.axial,
                half = static_cast<float>(s.cell_axial / 2) / there.axial;
    const float across = all_.around_table_.at(y(high)) - all_.around_table_.at(y(low));
    const float along = all_.axial_table_.at(middle + half) - all_.axial_table_.at(middle - half);
    light_[size_t(i)] += static_cast<float>(energy) * across * along * all_.inverse_axial_[size_t(i)] *
                         all_.inverse_around_[size_t(i)];
  }
}

// Seen in radii of the beam, which is round then: a straight piece and the row.
struct PathCursor::Slant {
  double by, around_by, fed_length;  // [m]
  double length, cosine, sine;       // [1] of the piece; of its angle to the axis
  double y;                          // [1] of the row's middle from where the piece begins, across the axis
  double cell, row;                  // [1] a cell's edges, along the axis and across
};

PathCursor::Slant PathCursor::slant(const Piece& piece, const Sight& seen, double here) const {
  const workpiece::Surface& s = all_.ground_.surface;
  const int under = std::clamp(
      static_cast<int>((piece.axial + 0.5 * piece.axial_by - s.axial_from) / s.cell_axial), 0, s.axial - 1);
  const double dx = piece.axial_by / seen.axial, dy = piece.around_by * seen.feed / seen.around,
               length = std::hypot(dx, dy);
  return {.by = piece.axial_by,
          .around_by = piece.around_by,
          .fed_length = std::hypot(piece.axial_by, piece.around_by),
          .length = length,
          .cosine = dx / length,
          .sine = dy / length,
          .y = (here - piece.around) * seen.feed / seen.around,
          .cell = s.cell_axial / seen.axial,
          .row = s.cell_around / s.reference_radius * s.radius[under] * seen.incidence / seen.around};
}

// Columns to which both ends of a straight piece are out of reach, where the rest is as good as endless and
// the integral closed, the mean of the profile over the cell as it lies across the line:
//   p(d) = [R(d+a+b) - R(d+a-b) - R(d-a+b) + R(d-a-b)] / 4ab,   R'' = p,
// a, b half the cell's edges seen along the line [radii].
PathLines::Rows PathCursor::endless(const Piece& piece, const Slant& slant,
                                    const PathLines::Rows& near) const {
  const bool gaussian = all_.axial_.order() == 2 && all_.around_.order() == 2;
  const double radius = all_.ground_.surface.radius[0];
  if (!gaussian || !all_.same_ || !all_.ground_.surface.straight || piece.bend != 0 ||
      all_.most_reach_ > 0.05 * radius)
    return {0, 0};
  const double room = all_.axial_.reach() + (slant.cell + slant.row) / 2;
  if (slant.length < 2 * room || std::abs(slant.cosine) < 1e-6) return {0, 0};
  const workpiece::Surface& s = all_.ground_.surface;
  const auto place =
      [&](double come) {  // [m] of the axis where the row's middle is abreast of that share of the piece
        return piece.axial + (come - slant.y * slant.sine) / slant.cosine * s.cell_axial / slant.cell;
      };
  const double one = place(room), other = place(slant.length - room);
  const double low = std::ceil((std::min(one, other) - s.axial_from) / s.cell_axial - 0.5);
  const double high = std::floor((std::max(one, other) - s.axial_from) / s.cell_axial - 0.5) + 1;
  return {static_cast<int>(std::clamp(low, double(near.first), double(near.last))),
          static_cast<int>(std::clamp(high, double(near.first), double(near.last)))};
}

void PathCursor::light_endless(const Piece& piece, const Slant& slant, const PathLines::Rows& columns) {
  const workpiece::Surface& s = all_.ground_.surface;
  const double a = std::abs(slant.sine) * slant.cell / 2, b = std::abs(slant.cosine) * slant.row / 2;
  const double sent = piece.energy * slant.fed_length / slant.length * slant.cell * slant.row *
                      all_.inverse_axial_[0] * all_.inverse_around_[0];
  const auto ramp = [&](double t) { return all_.axial_.ramp(t); };
  for (int i = columns.first; i < columns.last; ++i) {
    const double x = (s.position(i) - piece.axial) / s.cell_axial * slant.cell,
                 d = slant.y * slant.cosine - x * slant.sine;
    double mean = 0;
    if (std::abs(d) < all_.axial_.reach() + a + b)
      mean = a < 1e-3 ? (all_.axial_.cumulative(d + b) - all_.axial_.cumulative(d - b)) / (2 * b)
             : b < 1e-3
                 ? (all_.axial_.cumulative(d + a) - all_.axial_.cumulative(d - a)) / (2 * a)
                 : (ramp(d + a + b) - ramp(d + a - b) - ramp(d - a + b) + ramp(d - a - b)) / (4 * a * b);
    light_[size_t(i)] = static_cast<float>(sent * std::max(0.0, mean));
  }
}

// The panels of the rule that lie within shares of the piece, but for what they send to columns that are lit
// already.
struct PathCursor::Rule {
  PathLines::Span shares;
  int panels;
  PathLines::Rows lit;
  double here, room;  // [m] around: the row, and how far from it moments light it
};

void PathCursor::light_panels(const Piece& piece, const Rule& rule) {
  const workpiece::Surface& s = all_.ground_.surface;
  const double by = piece.axial_by, around_by = piece.around_by, length = std::hypot(by, around_by);
  const double energy = double(piece.energy) * length / rule.panels, pitch = 1.0 / rule.panels;
  const double bow = piece.bend / length, stretch = 8.0 / 3 * bow * bow;
  const int first = std::clamp(static_cast<int>(std::floor(rule.shares.low * rule.panels)), 0, rule.panels);
  const int last =
      std::clamp(static_cast<int>(std::floor(rule.shares.high * rule.panels)) + 1, 0, rule.panels);
  const bool skips = rule.lit.first < rule.lit.last, plain = all_.same_ && s.straight;
  const Sight seen = sight(0, piece.around, piece);
  const double per_radius = 1 / s.reference_radius;
  for (int panel = first; panel < last; ++panel)
    for (const auto& [node, weight] : kNodes) {
      const double t = (panel + node) * pitch, hump = 4 * t * (1 - t);
      const double along = t + stretch * (t - 0.5) * hump, aside = bow * hump;
      const double around = piece.around + along * around_by + aside * by, off = rule.here - around;
      if (std::abs(off) > rule.room) continue;
      const double axial = piece.axial + along * by - aside * around_by;
      if (skips) {
        const PathLines::Rows reached = columns(axial - all_.most_reach_, axial + all_.most_reach_);
        if (reached.first >= rule.lit.first && reached.last <= rule.lit.last) continue;
      }
      if (plain)
        light_row(energy * weight, axial, row_across(off * per_radius, seen), seen);
      else
        light_dot(energy * weight, axial, around, piece);
    }
}

void PathCursor::pass_oblique(const Piece& piece) {
  const workpiece::Surface& s = all_.ground_.surface;
  const double by = piece.axial_by, bend = std::abs(piece.bend), middle = piece.axial + by / 2;
  const int under = std::clamp(static_cast<int>((middle - s.axial_from) / s.cell_axial), 0, s.axial - 1);
  const double here = fed(s.radius[under], piece);
  if (std::isnan(here)) return;
  const double end = piece.around + piece.around_by, low = std::min(piece.around, end),
               high = std::max(piece.around, end);
  const Sight seen = sight(under, std::clamp(here, low, high), piece);
  if (!seen.lit) return;
  const Slant slanted = slant(piece, seen, here);
  // The shares of the piece from which it lights the row, and those from which it warms it.
  const double wide = s.straight && all_.same_ ? double(seen.around) : all_.most_reach_ / kWarmReach;
  const auto reach_around = [&](double reach) {
    return (reach * wide + slanted.row * seen.around) / seen.feed;
  };
  const auto within = [&](double reach) {
    const double room = reach_around(reach) + bend;
    if (std::abs(piece.around_by) < 1e-12) return PathLines::Span{0, 1};
    const double one = (here - room - piece.around) / piece.around_by,
                 other = (here + room - piece.around) / piece.around_by;
    return PathLines::Span{std::max(0.0, std::min(one, other)), std::min(1.0, std::max(one, other))};
  };
  const PathLines::Span warms = within(std::max(all_.around_.reach(), kWarmReach)),
                        lights = within(all_.around_.reach());
  const double room = all_.most_reach_ + bend, one = piece.axial + warms.low * by,
               other = piece.axial + warms.high * by;
  const PathLines::Rows near = columns(std::min(one, other) - room, std::max(one, other) + room);
  if (warms.low > warms.high || near.first >= near.last) return;
  std::fill(light_.begin() + near.first, light_.begin() + near.last, 0.0f);
  const PathLines::Rows inner = endless(piece, slanted, near);
  const double sharpest = std::max(all_.axial_.order(), all_.around_.order());
  const double scaled = slanted.length + 4 * bend / std::min(seen.axial, seen.around);
  const int panels = std::max(1, static_cast<int>(std::ceil(scaled * sharpest / 2 / kPanel)));
  if (lights.low <= lights.high && (inner.first > near.first || inner.last < near.last))
    light_panels(piece, {lights, panels, inner, here, reach_around(all_.around_.reach())});
  light_endless(piece, slanted, inner);
  describe(piece, near, seen, slanted);
  keep(piece, near, {by, piece.around_by * seen.turned});
}

// What heats: the energy per length as far as the piece has come, and how far the cells lie beside it.
void PathCursor::describe(const Piece& piece, const PathLines::Rows& near, const Sight& seen,
                          const Slant& slanted) {
  const workpiece::Surface& s = all_.ground_.surface;
  const auto& [by, around_by, fed_length, length, cosine, sine, y, cell, row] = slanted;
  const double per_length =
      piece.energy * fed_length / std::hypot(by, around_by * seen.feed / seen.incidence);
  const double turned = around_by * seen.turned, along = by * by / (by * by + turned * turned);
  const float half = static_cast<float>((std::abs(sine) * cell + std::abs(cosine) * row) / 2);
  // The bend, [1] radii, across the scaled chord.
  const double bow =
      4 * piece.bend / fed_length * (around_by / seen.axial * sine + by * seen.feed / seen.around * cosine);
  const CrossSection& table = std::abs(cosine) > std::abs(sine) ? all_.axial_table_ : all_.around_table_;
  const std::uint16_t state =
      all_.states_->index(seen.height, all_.path_.speed(piece) * std::hypot(by, turned) / fed_length, along);
  const double here = piece.around + y * seen.around / seen.feed;
  for (int i = near.first; i < near.last; ++i) {
    const double x = (s.position(i) - piece.axial) / seen.axial;
    const double come = x * cosine + y * sine, t = std::clamp(come / length, 0.0, 1.0);
    const float eta = static_cast<float>(std::abs(y * cosine - x * sine - bow * t * (1 - t)));
    const float light = light_[size_t(i)];
    Touch& touch = touch_[size_t(i)];
    touch.energy = 0;
    if (!(light > 0 || eta <= kWarmReach + half)) continue;
    const float reached = table.at(static_cast<float>(come)) - table.at(static_cast<float>(come - length));
    if (!(light > 0 || reached > kFaintest)) continue;
    const float heat = echo_.listens() ? echo_.at(piece, come / length * fed_length) *
                                             static_cast<float>(per_length / piece.energy)
                                       : 0.0f;
    touch = {static_cast<float>(per_length) * std::max(reached, float(kFaintest)),
             light,
             eta,
             half,
             s.straight ? seen.angle : sight(i, here, piece).angle,
             heat,
             state,
             t * fed_length};
  }
}

}  // namespace circumfluence::exposure
