#include "look/round.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

constexpr double kMostPixels = 64e6;
constexpr double kFilled = 0.92;  // of the picture, by the part

void check(const View& view) {
  if (view.width < 1 || view.height < 1 || double(view.width) * view.height > kMostPixels)
    throw quantity::ValidityError(fmt::format(
        "picture in the round: size = {} x {} (expected 1 or more a side, at most {:.0f} million in all)",
        view.width, view.height, kMostPixels / 1e6));
  if (!(std::abs(view.tilt) <= quantity::kPi / 2 + 1e-9))
    throw quantity::ValidityError(
        fmt::format("picture in the round: tilt = {} rad (expected -pi/2 to pi/2, onto the ends of the axis)",
                    view.tilt));
}

void check_turn(double turn) {
  if (!(std::abs(turn) < 1e6))
    throw quantity::ValidityError(
        fmt::format("picture in the round: turn = {} rad (expected an angle, below a million)", turn));
}

double pixel_of(const Solid& solid, const View& view, const Eye& eye) {
  const double across = 2 * solid.half_width(), along = 2 * solid.half_height(eye);
  return std::max((view.upright ? across : along) / view.width,
                  (view.upright ? along : across) / view.height) /
         kFilled;
}

int blocks_in(double look, double block) {
  return block > 0 ? int(std::clamp(look / block + 0.5, 1.0, 1e6)) : 1;
}

// Blocks that are finer than what is looked at, taken together: the light of the pixel is then that of all of
// them.
Skin coarser(const Skin& skin, int rows, int columns) {
  Skin out;
  out.around = (skin.around + rows - 1) / rows;
  out.axial = (skin.axial + columns - 1) / columns;
  out.axial_from = skin.axial_from;
  out.around_from = skin.around_from;
  out.block_around = rows * skin.block_around;
  out.block_axial = columns * skin.block_axial;
  out.reference_radius = skin.reference_radius;
  out.ground = skin.ground;
  const size_t size = size_t(out.around) * size_t(out.axial);
  out.diffuse.assign(size, {});
  out.mirror.assign(size, {});
  out.slope.assign(size, 0);
  quantity::for_bands({.count = out.around}, [&](int first, int last, int) {
    for (int row = first; row < last; ++row)
      for (int column = 0; column < out.axial; ++column) {
        const size_t at = size_t(row) * size_t(out.axial) + size_t(column);
        float count = 0, squares = 0, light = 0;
        for (int y = row * rows; y < std::min(skin.around, (row + 1) * rows); ++y)
          for (int x = column * columns; x < std::min(skin.axial, (column + 1) * columns); ++x, ++count) {
            const size_t i = size_t(y) * size_t(skin.axial) + size_t(x);
            for (size_t k = 0; k < 3; ++k) {
              out.diffuse[at][k] += skin.diffuse[i][k];
              out.mirror[at][k] += skin.mirror[i][k];
            }
            squares += skin.mirror[i][1] * skin.slope[i] * skin.slope[i];
            light += skin.mirror[i][1];
          }
        for (size_t k = 0; k < 3; ++k) {
          out.diffuse[at][k] /= count;
          out.mirror[at][k] /= count;
        }
        out.slope[at] = light > 0 ? std::sqrt(squares / light) : float(skin.ground.slope);
      }
  });
  return out;
}

// What a look through a place of the picture meets.
struct Place {
  int column = kMissed;  // of the skin's blocks
  float arc = 0;         // [m] from the first block's edge when turned to azimuth 0
  Stand stand{};
  static constexpr int kMissed = -2, kGround = -1;
};

class Camera {
 public:
  Camera(const Skin& skin, const Solid& solid, const View& view)
      : skin_(skin),
        solid_(solid),
        view_(view),
        eye_(view.tilt),
        pixel_(pixel_of(solid, view, eye_)),
        backdrop_(appearance::linear_from_srgb(view.backdrop)),
        turn_(2 * quantity::kPi * skin.reference_radius) {}

  using Looks = std::array<Place, 4>;  // of a pixel

  Looks looks(int column, int row) const {
    Looks out;
    for (int i = 0; i < 4; ++i) {
      const double x = (column + 0.25 + 0.5 * (i % 2) - view_.width / 2.0) * pixel_;
      const double y = (view_.height / 2.0 - row - 0.25 - 0.5 * (i / 2)) * pixel_;
      out[size_t(i)] = view_.upright ? place(x, y) : place(-y, x);
    }
    return out;
  }

  appearance::Colour colour(const Looks& looks, double turn) const {
    appearance::Linear sum{};
    int missed = 0;
    for (const Place& each : looks) {
      missed += each.column == Place::kMissed;
      const appearance::Linear light =
          each.column == Place::kMissed ? backdrop_ : lit(shade(each, turn), each.stand);
      for (size_t k = 0; k < 3; ++k) sum[k] += light[k] / 4;
    }
    if (missed == 4) return view_.backdrop;
    return {on_screen(float(sum[0])), on_screen(float(sum[1])), on_screen(float(sum[2]))};
  }

 private:
  Place place(double right, double up) const {
    const std::optional<Sight> sight = solid_.front(eye_, right, up);
    if (!sight) return {};
    Place out{Place::kGround, 0, stand(sight->normal, eye_, sight->open)};
    const double column = std::floor((sight->axial - skin_.axial_from) / skin_.block_axial);
    if (!sight->face && column >= 0 && column < skin_.axial) out.column = int(column);
    out.arc = float(sight->azimuth * skin_.reference_radius - skin_.around_from);
    return out;
  }

  Shade shade(const Place& place, double turn) const {
    double arc = place.arc + turn * skin_.reference_radius;
    arc -= turn_ * std::floor(arc / turn_);
    return place.column < 0 ? skin_.ground : skin_.at(int(arc / skin_.block_around), place.column);
  }

  const Skin& skin_;
  const Solid& solid_;
  const View& view_;
  Eye eye_;
  double pixel_;  // [m]
  appearance::Linear backdrop_;
  double turn_;  // [m] around
};

// Pixels that lie together, so that the blocks of the skin that they show do too.
constexpr int kTile = 16;
struct Tile {
  int left, right, top, bottom;
};

void draw(const Camera& camera, const Tile& tile, std::span<const double> turns,
          std::vector<appearance::Pixels>& out) {
  std::array<Camera::Looks, size_t(kTile) * kTile> looks;
  size_t count = 0;
  for (int column = tile.left; column < tile.right; ++column)
    for (int row = tile.top; row < tile.bottom; ++row) looks[count++] = camera.looks(column, row);
  for (size_t i = 0; i < turns.size(); ++i) {
    count = 0;
    for (int column = tile.left; column < tile.right; ++column)
      for (int row = tile.top; row < tile.bottom; ++row)
        out[i].rgb[size_t(row) * size_t(out[i].width) + size_t(column)] =
            camera.colour(looks[count++], turns[i]);
  }
}

}  // namespace

double pixel_of(const workpiece::Profile& profile, const View& view) {
  check(view);
  return pixel_of(Solid(profile), view, Eye(view.tilt));
}

appearance::Pixels render(const Skin& skin, const workpiece::Profile& profile, const View& view) {
  return std::move(render_around(skin, profile, view, {&view.turn, 1}).front());
}

std::vector<appearance::Pixels> render_around(const Skin& skin, const workpiece::Profile& profile,
                                              const View& view, std::span<const double> turns) {
  check(view);
  for (const double turn : turns) check_turn(turn);
  const Solid solid(profile);
  const double look = pixel_of(solid, view, Eye(view.tilt)) / 2;  // [m] between two looks
  const int rows = blocks_in(look, skin.block_around), columns = blocks_in(look, skin.block_axial);
  const bool fine = rows > 1 || columns > 1;
  const Skin seen = fine ? coarser(skin, rows, columns) : Skin{};
  const Camera camera(fine ? seen : skin, solid, view);
  std::vector<appearance::Pixels> out(turns.size(), {view.width, view.height, {}});
  for (appearance::Pixels& each : out) each.rgb.resize(size_t(view.width) * size_t(view.height));
  quantity::for_bands(
      {.count = view.height, .band = kTile, .threads = view.threads}, [&](int first, int last, int) {
        for (int column = 0; column < view.width; column += kTile)
          draw(camera, {column, std::min(column + kTile, view.width), first, last}, turns, out);
      });
  return out;
}

}  // namespace circumfluence::look
