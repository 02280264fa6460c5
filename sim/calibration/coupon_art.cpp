// A coupon as art.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "artwork/image.h"
#include "calibration/coupon_drawing.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

constexpr double kStroke = 0.1;  // [1] thickness of a label's strokes, of the letters' height

class Art {
 public:
  Art(const Coupon& coupon, double pixel)
      : pixel_(pixel),
        image_{static_cast<int>(std::lround(coupon.width / pixel)),
               static_cast<int>(std::lround(coupon.height / pixel)),
               {},
               {}} {
    image_.tone.assign(size_t(image_.width) * size_t(image_.height), 65535);
  }
  const artwork::Image& image() const { return image_; }

  // Pixels whose middle lies within.
  void fill(const Rectangle& place, std::uint16_t tone = 0) {
    const int left = column(place.x), right = column(place.x + place.width);
    const int top = row(place.y + place.height), bottom = row(place.y);
    for (int y = top; y < bottom; ++y)
      for (int x = left; x < right; ++x) set(x, y, tone);
  }

  // One pixel thick.
  void line(const Rectangle& place, motion::Direction direction) {
    if (direction == motion::Direction::axial) {
      const int y = std::min(row(place.y + place.height / 2), image_.height - 1);
      for (int x = column(place.x); x < column(place.x + place.width); ++x) set(x, y, 0);
    } else {
      const int x = std::min(column(place.x + place.width / 2), image_.width - 1);
      for (int y = row(place.y + place.height); y < row(place.y); ++y) set(x, y, 0);
    }
  }

  void stroke(const std::array<double, 2>& from, const std::array<double, 2>& to, double thickness) {
    const double reach = std::max(thickness, 1.5 * pixel_) / 2;
    const auto [low_x, high_x] = std::minmax(from[0], to[0]);
    const auto [low_y, high_y] = std::minmax(from[1], to[1]);
    for (int y = row(high_y + reach); y < row(low_y - reach); ++y)
      for (int x = column(low_x - reach); x < column(high_x + reach); ++x)
        if (distance(middle(x, y), from, to) <= reach) set(x, y, 0);
  }

 private:
  // The first pixel whose middle is not before a place; rows count downward.
  int column(double x) const { return clamped(std::ceil(x / pixel_ - 0.5 - 1e-6), image_.width); }
  int row(double y) const { return clamped(std::ceil(image_.height - y / pixel_ - 0.5 - 1e-6), image_.height); }
  static int clamped(double index, int most) { return static_cast<int>(std::clamp(index, 0.0, double(most))); }
  std::array<double, 2> middle(int x, int y) const {
    return {(x + 0.5) * pixel_, (image_.height - y - 0.5) * pixel_};
  }
  void set(int x, int y, std::uint16_t tone) { image_.tone[size_t(y) * size_t(image_.width) + size_t(x)] = tone; }

  static double distance(const std::array<double, 2>& point, const std::array<double, 2>& from,
                         const std::array<double, 2>& to) {
    const double x = to[0] - from[0], y = to[1] - from[1], square = x * x + y * y;
    const double share = square > 0 ? ((point[0] - from[0]) * x + (point[1] - from[1]) * y) / square : 0;
    const double at = std::clamp(share, 0.0, 1.0);
    return std::hypot(point[0] - from[0] - at * x, point[1] - from[1] - at * y);
  }

  double pixel_;
  artwork::Image image_;
};

void check_pixel(const Coupon& coupon, double pixel) {
  const double across = coupon.width / pixel, down = coupon.height / pixel;
  if (std::isfinite(pixel) && pixel > 0 && std::min(across, down) >= 1 &&
      std::max(across, down) <= artwork::kMostPixelsASide && across * down <= double(artwork::kMostPixels))
    return;
  throw quantity::ValidityError(fmt::format(
      "coupon: pixel = {} (expected a length that makes a picture of {:.4g} x {:.4g} mm with at most {} pixels)",
      quantity::format(pixel, "um"), 1e3 * coupon.width, 1e3 * coupon.height, artwork::kMostPixels));
}

}  // namespace

void write_art(const std::string& path, const Coupon& coupon, double pixel) {
  check(coupon);
  check_pixel(coupon, pixel);
  Art art(coupon, pixel);
  for (int which = 0; which < 4; ++which) art.fill(corner_mark(coupon, which));
  const Rectangle first = corner_mark(coupon, 0);
  art.fill({first.x + first.width / 3, first.y + first.height / 3, first.width / 3, first.height / 3}, 65535);
  for (const Slot& slot : coupon.slots)
    slot.patch.is_line() ? art.line(slot.place, slot.patch.direction) : art.fill(slot.place);
  for (const std::vector<Trace>& label : lettering(coupon))
    for (const Trace& trace : label)
      for (size_t i = 1; i < trace.size(); ++i) art.stroke(trace[i - 1], trace[i], kStroke * coupon.letters);
  artwork::write_image(art.image(), pixel, path);
}

}  // namespace circumfluence::calibration
