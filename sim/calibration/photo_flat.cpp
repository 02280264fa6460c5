// The coupon, straightened, in amounts of light; and how sharp it is.
#include <algorithm>
#include <cmath>

#include "calibration/photo.h"
#include "quantity/error.h"
#include "quantity/figure.h"

namespace circumfluence::calibration {
namespace {

constexpr double kMostFlat = 16e6;      // [px]
constexpr std::uint8_t kClipped = 252;  // JPEG lets a clipped area waver by some levels

const std::array<float, 256>& linear() {
  static const std::array<float, 256> table = [] {
    std::array<float, 256> out{};
    for (size_t i = 0; i < 256; ++i) out[i] = float(appearance::linear_from_srgb(double(i) / 255));
    return out;
  }();
  return table;
}

// Metres a pixel in the middle.
double scale(const Sighting& sighting, const Coupon& coupon) {
  const double x = coupon.width / 2, y = coupon.height / 2, step = coupon.corner / 10;
  const Spot left = sighting.pixel(x - step, y), right = sighting.pixel(x + step, y);
  const Spot below = sighting.pixel(x, y - step), above = sighting.pixel(x, y + step);
  const double area =
      std::abs((right[0] - left[0]) * (above[1] - below[1]) - (right[1] - left[1]) * (above[0] - below[0]));
  return 2 * step / std::sqrt(area);
}

// Adds what lies at a place of the picture, between pixels; false outside.
bool add(const Photo& photo, Spot at, float share, std::array<float, 3>& light, std::uint8_t& clipped) {
  const int x = int(std::floor(at[0])), y = int(std::floor(at[1]));
  if (x < 0 || y < 0 || x + 1 >= photo.width || y + 1 >= photo.height) return false;
  const float a = float(at[0]) - float(x), b = float(at[1]) - float(y);
  const auto* upper = photo.pixels.data() + size_t(y) * size_t(photo.width) + size_t(x);
  const auto* lower = upper + photo.width;
  const auto& table = linear();
  for (size_t c = 0; c < 3; ++c) {
    const std::uint8_t p = upper[0][c], q = upper[1][c], r = lower[0][c], s = lower[1][c];
    clipped |= std::uint8_t(p >= kClipped || q >= kClipped || r >= kClipped || s >= kClipped);
    light[c] +=
        share * ((1 - b) * ((1 - a) * table[p] + a * table[q]) + b * ((1 - a) * table[r] + a * table[s]));
  }
  return true;
}

// The step from one level to another, blurred: mean square misfit of a + b Phi((x - shift) / sigma).
double misfit(const std::vector<double>& place, const std::vector<double>& value, double shift,
              double sigma) {
  double n = 0, s = 0, ss = 0, v = 0, sv = 0, vv = 0;
  for (size_t i = 0; i < place.size(); ++i) {
    const double step = quantity::normal_below((place[i] - shift) / sigma), p = value[i];
    n += 1, s += step, ss += step * step, v += p, sv += step * p, vv += p * p;
  }
  const double spread = ss - s * s / n, slope = spread > 0 ? (sv - s * v / n) / spread : 0;
  return (vv - v * v / n - slope * (sv - s * v / n)) / n;
}

// Standard deviation [m] of the blur that makes the profile.
double edge_blur(const std::vector<double>& place, const std::vector<double>& value, double pixel,
                 double most) {
  double best = 1e300, sigma = pixel, shift = 0;
  double low = std::log(0.25 * pixel), high = std::log(most), reach = 2 * pixel;
  for (int round = 0; round < 3; ++round) {
    const double from = low, step = (high - low) / 20, about = shift;
    for (int i = 0; i <= 20; ++i)
      for (int j = -6; j <= 6; ++j) {
        const double error = misfit(place, value, about + reach * j / 6, std::exp(from + step * i));
        if (error < best) best = error, sigma = std::exp(from + step * i), shift = about + reach * j / 6;
      }
    low = std::log(sigma) - step, high = std::log(sigma) + step, reach /= 4;
  }
  return sigma;
}

// Blur of a mark's inner side: across x, or across y.
double side_blur(const Flat& flat, const Coupon& coupon, int mark, bool across_x) {
  const Rectangle r = corner_mark(coupon, mark);
  const bool inner_is_high = across_x ? mark == 0 || mark == 3 : mark < 2;
  const double edge = across_x ? r.x + (inner_is_high ? r.width : 0) : r.y + (inner_is_high ? r.height : 0);
  const double c = coupon.corner, other = across_x ? r.y + r.height / 2 : r.x + r.width / 2;
  const int reach = int(0.33 * c / flat.pixel), half = int(0.3 * c / flat.pixel);
  std::vector<double> place, value;
  for (int k = -reach; k <= reach; ++k) {
    double sum = 0, count = 0, at = 0;
    for (int j = -half; j <= half; ++j) {
      const double x = across_x ? edge / flat.pixel + k : other / flat.pixel + j;
      const double y = (coupon.height - (across_x ? other : edge)) / flat.pixel + (across_x ? j : k);
      const int column = int(std::floor(x)), row = int(std::floor(y));
      if (!flat.inside(column, row)) continue;
      const size_t i = size_t(row) * size_t(flat.width) + size_t(column);
      at = across_x ? (column + 0.5) * flat.pixel - edge : coupon.height - (row + 0.5) * flat.pixel - edge;
      if (flat.clipped[i] != 0) continue;
      sum +=
          0.21 * double(flat.light[i][0]) + 0.72 * double(flat.light[i][1]) + 0.07 * double(flat.light[i][2]);
      count += 1;
    }
    if (count > half) place.push_back(at), value.push_back(sum / count);
  }
  return place.size() < 7 ? NAN : edge_blur(place, value, flat.pixel, 0.33 * c);
}

}  // namespace

Flat straighten(const Photo& photo, const Coupon& coupon, const Sighting& sighting) {
  Flat flat;
  const double native = scale(sighting, coupon);
  flat.pixel = std::max(native, std::sqrt(coupon.width * coupon.height / kMostFlat));
  flat.width = std::max(1, int(std::lround(coupon.width / flat.pixel)));
  flat.height = std::max(1, int(std::lround(coupon.height / flat.pixel)));
  const size_t count = size_t(flat.width) * size_t(flat.height);
  flat.light.assign(count, {});
  flat.clipped.assign(count, 0);
  const int parts = flat.pixel > 1.2 * native ? 2 : 1;  // a side of a pixel
  const float share = 1.0f / float(parts * parts);
  for (int row = 0; row < flat.height; ++row)
    for (int part = 0; part < parts; ++part) {
      const double y = sighting.above(coupon.height - (row + (part + 0.5) / parts) * flat.pixel);
      const auto& h = sighting.pixel_from_plane;
      const double u = h[1] * y + h[2], v = h[4] * y + h[5], w = h[7] * y + h[8];
      for (int i = 0; i < flat.width * parts; ++i) {
        const double x = (i + 0.5) / parts * flat.pixel, by = 1 / (h[6] * x + w);
        const size_t to = size_t(row) * size_t(flat.width) + size_t(i / parts);
        if (!add(photo, {(h[0] * x + u) * by, (h[3] * x + v) * by}, share, flat.light[to], flat.clipped[to]))
          throw quantity::JobError(photo.name +
                                   ": a part of the coupon is outside of the picture (expected all of it). "
                                   "Take the picture with some ground around the coupon");
      }
    }
  return flat;
}

void measure_blur(Flat& flat, const Coupon& coupon) {
  std::vector<double> all;
  for (const bool across_x : {true, false}) {
    std::vector<double> sides;
    for (int mark = 0; mark < 4; ++mark)
      if (const double b = side_blur(flat, coupon, mark, across_x); mark > 0 && std::isfinite(b))
        sides.push_back(b);
    if (sides.empty())
      throw quantity::JobError("the corner marks have no edges to tell the picture's blur by");
    std::ranges::sort(sides);
    const double middle = sides[sides.size() / 2];
    (across_x ? flat.blur_x : flat.blur_y) = middle;
    all.push_back((sides.back() - sides.front()) / middle);
  }
  flat.blur_error = std::clamp(0.3 * (all[0] + all[1]), 0.04, 0.5);
}

}  // namespace circumfluence::calibration
