#include "exposure/path_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "exposure/path_cursor.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::exposure {
namespace {

using quantity::kPi;
using Kind = Piece::Kind;

constexpr int kMostRounds = 20;
constexpr double kGrazing = 1e-3;  // [1] cosine of incidence below which a surface counts as not lit
constexpr size_t kMostEntries = 500'000'000;  // of the index by rows

bool step(const workpiece::Surface& s, int column) {
  const double steepest = std::max(std::abs(s.slope[column - 1]), std::abs(s.slope[column]));
  return std::abs(s.radius[column] - s.radius[column - 1]) > steepest * s.cell_axial + 1e-9;
}

}  // namespace

PathLines::PathLines(PathGround ground, std::shared_ptr<const Path> path)
    : ground_(std::move(ground)),
      owner_(std::move(path)),
      path_(*owner_),
      axial_(ground_.laser.order_axial),
      around_(ground_.laser.order_around),
      axial_table_(axial_),
      around_table_(around_),
      least_radius_(*std::min_element(ground_.surface.radius.begin(), ground_.surface.radius.end())),
      greatest_radius_(*std::max_element(ground_.surface.radius.begin(), ground_.surface.radius.end())),
      same_(ground_.mount.hold == motion::Hold::turning && ground_.mount.runout == 0.0) {
  const workpiece::Surface& s = ground_.surface;
  for (int i = 0; i < s.axial; ++i) {
    inverse_axial_.push_back(static_cast<float>(1 / (s.cell_axial * std::hypot(1.0, s.slope[i]))));
    inverse_around_.push_back(static_cast<float>(s.reference_radius / (s.cell_around * s.radius[i])));
    if (i == 0 || step(s, i)) stretches_.push_back({i, i});
    stretches_.back().second = i + 1;
    stretch_.push_back(static_cast<int>(stretches_.size()) - 1);
  }
  list_rows();
}

std::unique_ptr<Cursor> PathLines::cursor(const Echo& echo) const {
  return std::make_unique<PathCursor>(*this, echo);
}

PathLines::Sight PathLines::sight(double fed, double focus, const Tilt& tilt) const {
  const workpiece::Surface& s = ground_.surface;
  const bool turning = ground_.mount.hold == motion::Hold::turning;
  const motion::Pose pose = motion::pose(ground_.mount, s.reference_radius, fed);
  const double azimuth = pose.azimuth_under_beam(tilt.radius);
  Sight out;
  if (std::isnan(azimuth)) return out;
  const double psi = azimuth - pose.rotation, around = std::sin(psi), slope = tilt.slope;
  out.incidence = std::cos(psi);
  out.feed = turning ? (tilt.radius * out.incidence + pose.lift) / s.reference_radius : 1.0;
  out.turned = turning ? tilt.radius / s.reference_radius : 1.0;
  out.lit = out.incidence > kGrazing && out.feed > kGrazing;
  out.height = ground_.light.height(tilt.radius, azimuth, pose) - focus;
  const Radii radii = ground_.light.radii(out.height);
  out.axial = static_cast<float>(radii.axial);
  out.around = static_cast<float>(radii.around);
  const double both = slope * slope + around * around;
  out.angle = static_cast<float>(
      ground_.angle_factor(out.incidence / std::hypot(1.0, slope), both > 0 ? slope * slope / both : 0));
  return out;
}

// Run-out moves the part while it turns: a few rounds settle where the beam is when it meets this row.
double PathLines::fed(int row, double radius) const {
  const workpiece::Surface& s = ground_.surface;
  const double phi = s.azimuth(row);
  const bool turning = ground_.mount.hold == motion::Hold::turning;
  double along = turning ? s.arc(row) : radius * std::sin(phi);
  for (int round = 0; round < kMostRounds; ++round) {
    const double before = along;
    const motion::Pose pose = motion::pose(ground_.mount, s.reference_radius, along);
    if (turning) {
      const double under = pose.azimuth_under_beam(radius);
      if (std::isnan(under)) return std::numeric_limits<double>::quiet_NaN();
      along = s.arc(row) - (under - pose.rotation) * s.reference_radius;
    } else {
      if (std::cos(phi) <= 0) return std::numeric_limits<double>::quiet_NaN();
      along += pose.distance(radius, phi);
    }
    if (std::abs(along - before) < 1e-10) break;
  }
  return along;
}

// Of the part under a line at that place, or at the end of the stretch that is nearest to it.
double PathLines::radius_at(double axial, int stretch) const {
  const workpiece::Surface& s = ground_.surface;
  const auto [from, to] = stretches_[size_t(stretch)];
  const double at = (axial - s.axial_from) / s.cell_axial;
  const int column = static_cast<int>(std::clamp(std::floor(at), double(from), to - 1.0));
  const double aside = std::clamp(at - column - 0.5, -0.5, 0.5) * s.cell_axial;
  return s.radius[column] + s.slope[column] * aside;
}

// The radii are convex in the height, hence greatest where it is greatest or least: at an end of the piece,
// or on top of a standing part that it crosses.
PathLines::Reach PathLines::reach_of(const Piece& piece) const {
  const double focus = path_.height(piece), end = piece.around + piece.around_by;
  double places[3] = {piece.around, end, piece.around};
  if (ground_.mount.hold == motion::Hold::standing)
    places[2] =
        std::clamp(-ground_.mount.beam_offset, std::min(piece.around, end), std::max(piece.around, end));
  Reach reach{0, 0, {1e9, -1e9}};
  for (const double place : places)
    for (const double radius : {least_radius_, greatest_radius_}) {
      const motion::Pose pose = motion::pose(ground_.mount, ground_.surface.reference_radius, place);
      const double under = pose.azimuth_under_beam(radius);
      const double height =
          ground_.light.height(radius, std::isnan(under) ? pose.rotation + kPi / 2 : under, pose) - focus;
      const Radii radii = ground_.light.radii(height);
      reach.axial = std::max(reach.axial, radii.axial * std::max(axial_.reach(), kWarmReach));
      reach.around = std::max(reach.around, radii.around * std::max(around_.reach(), kWarmReach));
      reach.height = {std::min(reach.height.low, height), std::max(reach.height.high, height)};
    }
  return reach;
}

// [m] of the surface that a piece reaches; low > high where it passes beside the part.
PathLines::Span PathLines::arcs_of(const Piece& piece, double reach) const {
  const double R = ground_.surface.reference_radius, bend = std::abs(piece.bend);
  const double end = piece.around + piece.around_by;
  Span arcs{1e9, -1e9};
  double beside = 0;
  for (const double place : {std::min(piece.around, end) - bend, std::max(piece.around, end) + bend}) {
    const motion::Pose pose = motion::pose(ground_.mount, R, place);
    const double off = pose.beam - pose.aside;
    if (std::abs(off) >= greatest_radius_) beside += off > 0 ? 1 : -1;
    for (const double radius :
         {std::max(least_radius_, std::min(std::abs(off), greatest_radius_)), greatest_radius_}) {
      const double low = std::clamp((off - reach) / radius, -1.0, 1.0),
                   high = std::clamp((off + reach) / radius, -1.0, 1.0);
      arcs = {std::min(arcs.low, R * (pose.rotation + std::asin(low))),
              std::max(arcs.high, R * (pose.rotation + std::asin(high)))};
    }
  }
  return std::abs(beside) == 2 ? Span{1e9, -1e9} : arcs;
}

void PathLines::find_rows(const Piece& piece, double reach, std::vector<Rows>& out) const {
  const workpiece::Surface& s = ground_.surface;
  out.clear();
  const Span arcs = arcs_of(piece, reach);
  if (arcs.low > arcs.high) return;
  const double turn = 2 * kPi * s.reference_radius, begin = s.around_from,
               end = begin + s.around * s.cell_around;
  const bool turning = ground_.mount.hold == motion::Hold::turning;
  if (turning && arcs.high - arcs.low >= turn - s.cell_around) {
    out.push_back({0, s.around});
    return;
  }
  const double least = turning ? std::ceil((begin - arcs.high) / turn) : 0;
  const double most = turning ? std::floor((end - arcs.low) / turn) : 0;
  for (double k = least; k <= most; ++k) {
    const double from = (arcs.low + k * turn - begin) / s.cell_around;
    const double to = (arcs.high + k * turn - begin) / s.cell_around;
    const int first = static_cast<int>(std::clamp(std::floor(from), 0.0, double(s.around)));
    const int last = static_cast<int>(std::clamp(std::floor(to) + 1, 0.0, double(s.around)));
    if (first < last) out.push_back({first, last});
  }
}

void PathLines::list_rows() {
  const workpiece::Surface& s = ground_.surface;
  const std::vector<Piece>& pieces = path_.pieces();
  std::vector<Reach> of_level(same_ ? path_.heights().size() : 0, Reach{0, 0, {1e9, -1e9}});
  std::vector<float> reaches(pieces.size());
  States::Range height{1e9, -1e9};
  std::vector<Rows> rows;
  first_of_row_.assign(size_t(s.around) + 1, 0);
  for (size_t i = 0; i < pieces.size(); ++i) {
    Reach reach{};
    if (!same_)
      reach = reach_of(pieces[i]);
    else if (Reach& kept = of_level[pieces[i].level]; kept.axial > 0)
      reach = kept;
    else
      reach = kept = reach_of(pieces[i]);
    reaches[i] = static_cast<float>(std::max(reach.around, ground_.width / 2));
    height = {std::min(height.low, reach.height.low), std::max(height.high, reach.height.high)};
    most_reach_ = std::max({most_reach_, reach.axial, reach.around});
    if (pieces[i].follows) continue;
    find_rows(pieces[i], reaches[i], rows);
    for (const Rows& r : rows) {  // as differences, for now
      ++first_of_row_[size_t(r.first)];
      --first_of_row_[size_t(r.last)];
    }
  }
  size_t here = 0, before = 0;
  for (int row = 0; row <= s.around; ++row) {
    here += first_of_row_[size_t(row)];
    first_of_row_[size_t(row)] = before;
    before += here;
  }
  if (before > kMostEntries)
    throw quantity::ValidityError(
        fmt::format("the path crosses {} rows of cells, counted over its pieces (expected at most {}). "
                    "Choose larger cells, or a "
                    "smaller region",
                    before, kMostEntries));
  pieces_of_row_.resize(before);
  std::vector<size_t> next(first_of_row_);
  for (size_t i = 0; i < pieces.size(); ++i) {
    if (pieces[i].follows) continue;
    find_rows(pieces[i], reaches[i], rows);
    for (const Rows& r : rows)
      for (int row = r.first; row < r.last; ++row)
        pieces_of_row_[next[size_t(row)]++] = static_cast<std::uint32_t>(i);
  }
  make_states(height.low > height.high ? States::Range{0, 0} : height);
}

std::span<const std::uint32_t> PathLines::row(int row) const {
  const size_t first = first_of_row_[size_t(row)];
  return {pieces_of_row_.data() + first, first_of_row_[size_t(row) + 1] - first};
}

void PathLines::make_states(const States::Range& height) {
  const bool turning = ground_.mount.hold == motion::Hold::turning;
  const double R = ground_.surface.reference_radius;
  PathStates::Ranges ranges{height, {}, false, false, false};
  ranges.speeds.assign(PathStates::kSteps, {1e300, 0});
  for (const Piece& piece : path_.pieces()) {
    const Kind kind = piece.sort();
    ranges.axial |= kind == Kind::axial || kind == Kind::spot;
    ranges.around |= kind == Kind::around;
    ranges.oblique |= kind == Kind::oblique;
    const double speed = path_.speed(piece);
    const bool stretched = turning && kind != Kind::axial && kind != Kind::spot;
    const double low = speed * (stretched ? std::min(1.0, least_radius_ / R) : 1.0);
    const double high = speed * (stretched ? std::max(1.0, greatest_radius_ / R) : 1.0);
    for (int i = PathStates::step(low); i <= PathStates::step(high); ++i) {
      States::Range& kept = ranges.speeds[size_t(i)];
      const double within = std::clamp(PathStates::speed(i), low, high);
      kept = {std::min(kept.low, within), std::max(kept.high, within)};
    }
  }
  states_ = std::make_unique<PathStates>(ground_.light, ranges);
}

}  // namespace circumfluence::exposure
