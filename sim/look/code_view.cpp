// A code on the curved part, as a camera straight before its middle sees it.
#include <algorithm>
#include <cmath>

#include "look/code.h"
#include "motion/mount.h"
#include "quantity/constants.h"

namespace circumfluence::look {
namespace {

using artwork::PicturePoint;
using quantity::kPi;

constexpr int kMostSide = 2000;  // [px] of a view
constexpr double kAround = 4;    // [modules] of surroundings
constexpr int kPixels = 8;       // a module

// Where a place of the picture lies once it is turned and mirrored, from its least axial and least arc edge,
// as shares of its extent. The table of artwork/tone.cpp with edges in place of middles.
PicturePoint oriented(const artwork::Image& image, const artwork::Placement& placement,
                      const PicturePoint& p) {
  const int turn = ((int(std::lround(placement.turn / (kPi / 2))) % 4) + 4) % 4;
  const double x = p.column, y = p.row, width = image.width, height = image.height;
  PicturePoint out{x, height - y};
  if (turn == 1) out = {y, x};
  if (turn == 2) out = {width - x, y};
  if (turn == 3) out = {height - y, width - x};
  const bool sideways = turn % 2 == 1;
  if (placement.mirror == artwork::Mirror::axial || placement.mirror == artwork::Mirror::both)
    out.column = (sideways ? height : width) - out.column;
  if (placement.mirror == artwork::Mirror::around || placement.mirror == artwork::Mirror::both)
    out.row = (sideways ? width : height) - out.row;
  return {out.column / (sideways ? height : width), out.row / (sideways ? width : height)};
}

// [m] from edge to edge of the code, along one pair of its edges, by axial and the other direction.
struct Way {
  double axial, other;
  double length() const { return std::hypot(axial, other); }
};

template <class Other>
Way way(const std::array<Spot, 4>& c, std::array<size_t, 4> ends, const Other& other) {
  const auto [a, b, d, e] = ends;
  return {(c[b].axial - c[a].axial + c[e].axial - c[d].axial) / 2,
          (other(c[b]) - other(c[a]) + other(c[e]) - other(c[d])) / 2};
}

double spots_of(const mark::Scene& scene, const Seat& at) {
  double axial = 0;
  for (const Spot& corner : at.corners) axial += corner.axial / 4;
  const motion::Mount& mount = scene.job.mount;
  const double radius = scene.profile.radius(axial);
  const bool turning = mount.hold == motion::Hold::turning;
  const double cross =
      turning ? scene.reference_radius * at.azimuth : radius * std::sin(at.azimuth) - mount.beam_offset;
  const motion::Pose pose = motion::pose(mount, scene.reference_radius, cross);
  const exposure::Radii radii = scene.light.radii(scene.light.height(radius, at.azimuth, pose));
  return std::min(at.module_axial / (2 * radii.axial), at.module_around / (2 * radii.around));
}

}  // namespace

Landed::Landed(const mark::Scene& scene)
    : scene_(scene), placement_(mark::fed(scene)), extent_(artwork::extent(placement_, scene.image)) {}

std::optional<Spot> Landed::at(const PicturePoint& point) const {
  const PicturePoint share = oriented(scene_.image, placement_, point);
  const double axial = extent_.axial_from + share.column * (extent_.axial_to - extent_.axial_from);
  const double cross = extent_.around_from + share.row * (extent_.around_to - extent_.around_from);
  const motion::Pose pose = motion::pose(scene_.job.mount, scene_.reference_radius, cross);
  const double azimuth = pose.azimuth_under_beam(scene_.profile.radius(axial));
  return std::isfinite(azimuth) ? std::optional(Spot{axial, azimuth}) : std::nullopt;
}

std::optional<Seat> seat(const mark::Scene& scene, const Symbol& symbol) {
  Seat out{};
  double least = 1e300, most = -1e300, axial = 0;
  const Landed landed(scene);
  for (size_t i = 0; i < 4; ++i) {
    const std::optional<Spot> spot = landed.at(symbol.corners[i]);
    if (!spot) return std::nullopt;
    out.corners[i] = *spot;
    axial += spot->axial / 4;
    least = std::min(least, spot->azimuth), most = std::max(most, spot->azimuth);
  }
  out.azimuth = (least + most) / 2;
  out.turned = (most - least) / 2;
  const double radius = scene.profile.radius(axial);
  const auto arc = [radius](const Spot& s) { return radius * s.azimuth; };
  const auto seen = [&](const Spot& s) {
    return scene.profile.radius(s.axial) * std::sin(std::clamp(s.azimuth - out.azimuth, -kPi / 2, kPi / 2));
  };
  const Way columns = way(out.corners, {0, 1, 3, 2}, arc), rows = way(out.corners, {0, 3, 1, 2}, arc);
  const double column = columns.length() / symbol.columns, row = rows.length() / symbol.rows;
  out.columns_axial = std::abs(columns.axial) > std::abs(columns.other);
  out.mirrored = columns.axial * rows.other - columns.other * rows.axial > 0;
  out.module_axial = out.columns_axial ? column : row;
  out.module_around = out.columns_axial ? row : column;
  out.seen_columns = way(out.corners, {0, 1, 3, 2}, seen).length() / symbol.columns;
  out.spots = spots_of(scene, out);
  out.seen_rows = way(out.corners, {0, 3, 1, 2}, seen).length() / symbol.rows;
  return out;
}

namespace {

std::array<float, 3> sum_of(const std::array<float, 3>& a, const std::array<float, 3>& b) {
  return {a[0] + b[0], a[1] + b[1], a[2] + b[2]};
}

// Blocks are counted from the middle of the first; the arc comes round to the skin's own turn.
std::array<float, 3> block(const Skin& skin, long row, long column) {
  if (row < 0 || column < 0 || row >= skin.around || column >= skin.axial) {
    const auto& [d, m] = std::pair(skin.ground.diffuse, skin.ground.mirror);
    return {float(d[0] + m[0]), float(d[1] + m[1]), float(d[2] + m[2])};
  }
  const size_t i = size_t(row) * size_t(skin.axial) + size_t(column);
  return sum_of(skin.diffuse[i], skin.mirror[i]);
}

// Stands in for a code that is not known.
Symbol whole(const artwork::Image& image) {
  constexpr int kSide = 100;
  Symbol out{.columns = kSide, .rows = kSide};
  const double width = image.width, height = image.height;
  out.corners = {{{0, 0}, {width, 0}, {width, height}, {0, height}}};
  return out;
}

double row_of(const Skin& skin, double azimuth) {
  const double turn = 2 * kPi * skin.reference_radius,
               beyond = azimuth * skin.reference_radius - skin.around_from;
  return (beyond - turn * std::floor(beyond / turn)) / skin.block_around;
}

double column_of(const Skin& skin, double axial) {
  return (axial - skin.axial_from) / skin.block_axial;
}

}  // namespace

std::array<float, 3> Camera::at(double axial, double across) const {
  const double sine = across / profile.radius(axial);
  if (!(std::abs(sine) < 1)) return block(skin, -1, -1);
  return block(skin, long(std::floor(row_of(skin, azimuth + std::asin(sine)))),
               long(std::floor(column_of(skin, axial))));
}

std::array<float, 3> Camera::on(const Spot& spot) const {
  const double row = row_of(skin, spot.azimuth) - 0.5, column = column_of(skin, spot.axial) - 0.5;
  const long y = long(std::floor(row)), x = long(std::floor(column));
  const float v = float(row - double(y)), u = float(column - double(x));
  const auto a = block(skin, y, x), b = block(skin, y, x + 1), c = block(skin, y + 1, x),
             d = block(skin, y + 1, x + 1);
  std::array<float, 3> out{};
  for (size_t i = 0; i < 3; ++i)
    out[i] = (1 - v) * ((1 - u) * a[i] + u * b[i]) + v * ((1 - u) * c[i] + u * d[i]);
  return out;
}

appearance::Pixels code_view(const mark::MarkMap& map, const Skin& skin, const Symbol& symbol) {
  const workpiece::Profile& profile = map.scene.profile;
  const std::optional<Seat> at = seat(map.scene, symbol.columns > 0 ? symbol : whole(map.scene.image));
  if (!at) return {1, 1, {appearance::srgb_from_linear(in_diffuse_light(skin.ground))}};
  const double module = std::min(at->seen_columns, at->seen_rows);
  double left = 1e300, right = -1e300, low = 1e300, top = -1e300;
  for (const Spot& spot : at->corners) {
    const double angle = std::clamp(spot.azimuth - at->azimuth, -kPi / 2, kPi / 2),
                 across = profile.radius(spot.axial) * std::sin(angle);
    left = std::min(left, spot.axial), right = std::max(right, spot.axial);
    low = std::min(low, across), top = std::max(top, across);
  }
  left -= kAround * module, right += kAround * module, low -= kAround * module, top += kAround * module;
  const double pixel = std::max(module / kPixels, std::max(right - left, top - low) / kMostSide);
  appearance::Pixels out{std::max(1, int((right - left) / pixel)), std::max(1, int((top - low) / pixel)), {}};
  const Camera camera{profile, skin, at->azimuth};
  out.rgb.reserve(size_t(out.width) * size_t(out.height));
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      appearance::Linear light{};
      for (const double v : {0.25, 0.75})
        for (const double u : {0.25, 0.75}) {
          const auto sent = camera.at(left + (x + u) * pixel, top - (y + v) * pixel);
          for (size_t i = 0; i < 3; ++i) light[i] += double(sent[i]) / 4;
        }
      out.rgb.push_back(appearance::srgb_from_linear(light));
    }
  return out;
}

}  // namespace circumfluence::look
