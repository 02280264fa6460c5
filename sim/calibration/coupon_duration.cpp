// How long a coupon takes.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calibration/coupon.h"

namespace circumfluence::calibration {
namespace {

// What a letter of single strokes takes, of its height: straight strokes with a stop at each end, and ways
// between them.
constexpr int kStrokes = 4, kHops = 2;
constexpr double kStroke = 0.6, kHop = 0.5;

constexpr double kSpare = 1.05;  // [1] of the way to full speed: run-ups are no shorter, as the path has them

class Clock {
 public:
  Clock(const Coupon& coupon, const motion::Scan& scan) : coupon_(coupon), scan_(scan) {
    scan_.interleave = 1, scan_.first_line = 0, scan_.pause = 0;
  }

  double whole() {
    for (int which = 0; which < 4; ++which) burn(coupon_.ink, corner_mark(coupon_, which));
    const std::vector<std::string> texts = labels(coupon_);
    for (size_t i = 0; i < coupon_.slots.size(); ++i) {
      burn(coupon_.slots[i].patch, coupon_.slots[i].place);
      if (coupon_.letters > 0) write(coupon_.slots[i], texts[i]);
    }
    return time_;
  }

 private:
  double travel_speed(const Patch& patch) const {
    if (scan_.travel_speed > 0) return scan_.travel_speed;
    return scan_.top_speed > 0 ? scan_.top_speed : patch.speed;
  }
  double move(double way, double speed) const {
    return motion::Sweep({0, way}, {speed, scan_.acceleration, scan_.jerk}).duration();
  }
  void travel(const Patch& patch, double x, double y) {
    time_ += move(std::hypot(x - x_, y - y_), travel_speed(patch));
    x_ = x, y_ = y;
  }
  void burn(const Patch& patch, const Rectangle& place) {
    travel(patch, place.x, place.y);
    motion::Scan scan = scan_;
    scan.speed = patch.speed, scan.passes = patch.passes, scan.direction = patch.direction;
    const bool axial = patch.direction == motion::Direction::axial;
    const double way =
        motion::Ramp{0, patch.speed, scan.acceleration, scan.jerk > 0 ? scan.jerk : 0}.distance();
    scan.run_up = std::isnan(scan.run_up) ? kSpare * way : std::max(scan.run_up, kSpare * way);
    scan.spacing = patch.is_line() ? (axial ? place.height : place.width) : patch.spacing;
    const artwork::Extent art{place.x, place.x + place.width, place.y, place.y + place.height};
    time_ += motion::plan(scan, art).duration;
    x_ = place.x + place.width, y_ = place.y + place.height;
  }
  void write(const Slot& slot, const std::string& text) {
    const Rectangle place = label_place(coupon_, slot, text);
    travel(coupon_.ink, place.x, place.y + place.height);
    const auto drawn = std::count_if(text.begin(), text.end(), [](char c) { return c != ' ' && c != '\n'; });
    const double letter = kStrokes * move(kStroke * coupon_.letters, coupon_.ink.speed) +
                          kHops * move(kHop * coupon_.letters, travel_speed(coupon_.ink));
    time_ += double(drawn) * letter;
    x_ = place.x + place.width, y_ = place.y;
  }

  const Coupon& coupon_;
  motion::Scan scan_;
  double time_ = 0, x_ = 0, y_ = 0;
};

}  // namespace

double duration(const Coupon& coupon, const motion::Scan& scan) {
  check(coupon);
  if (!std::isfinite(scan.acceleration) || !(scan.acceleration > 0))
    throw quantity::ValidityError(fmt::format(
        "duration of a coupon: scan.acceleration = {} m/s^2 (expected that of the axes, above 0 mm/s^2)",
        scan.acceleration));
  return Clock(coupon, scan).whole();
}

}  // namespace circumfluence::calibration
