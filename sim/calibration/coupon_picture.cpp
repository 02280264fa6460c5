// A coupon on paper.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "appearance/chart.h"
#include "appearance/legend.h"
#include "calibration/coupon_drawing.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "response/outcome.h"

namespace circumfluence::calibration {
namespace {

using appearance::Box;
using appearance::Colour;
using appearance::kInk;
using appearance::Point;
using appearance::Sheet;
using quantity::format;

constexpr double kMost = 1400, kLeast = 420;  // [pixel] of the coupon's longer side
constexpr double kUsual = 16e3;               // [pixel/m] where that lies between
constexpr int kMargin = 22, kLeft = 74, kAbove = 12, kBelow = 62;
constexpr double kStrength = 0.62;  // of the colours of outcomes
constexpr double kLegible = 6;    // [pixel] of a label's capitals; below it only numbers are written
constexpr Colour kPlain{206, 209, 214}, kGround{248, 247, 243}, kBurnt{70, 72, 78};
constexpr double kLineThick = 7;  // [pixel] of a single line, so that its chances can be seen

Colour colour_of(int outcome) {
  return appearance::tint(appearance::colour_of(appearance::verdict(outcome, true)), kStrength);
}

std::string subtitle(const Coupon& coupon) {
  const Patch& ink = coupon.ink;
  return fmt::format("{} patches on {:.4g} x {:.4g} mm, {}. Corner marks and labels: {} at {}, lines {} apart.",
                     coupon.slots.size(), 1e3 * coupon.width, 1e3 * coupon.height,
                     coupon.ground == Ground::flat ? "a flat piece" : "a strip of the part",
                     format(ink.power, "W", 3), format(ink.speed, "mm/min", 4), format(ink.spacing, "mm", 3));
}

class Drawing {
 public:
  Drawing(const Coupon& coupon, const Shading& shading)
      : coupon_(coupon),
        shading_(shading),
        scale_(scale(coupon)),
        heading_("Coupon", subtitle(coupon), room()),
        legend_(entries(shading), room()),
        origin_{double(kLeft), double(kMargin + heading_.height() + kAbove) + scale_ * coupon.height},
        sheet_(static_cast<int>(room()) + kLeft + kMargin,
               static_cast<int>(origin_.y) + kBelow + legend_.height() + kMargin, appearance::kPaper) {}

  void draw() {
    heading_.draw(sheet_, {double(kLeft), double(kMargin)});
    sheet_.fill(box({0, 0, coupon_.width, coupon_.height}), kGround);
    for (int which = 0; which < 4; ++which) sheet_.fill(box(corner_mark(coupon_, which)), kBurnt);
    const Rectangle first = corner_mark(coupon_, 0);
    sheet_.fill(box({first.x + first.width / 3, first.y + first.height / 3, first.width / 3, first.height / 3}),
                kGround);
    if (coupon_.letters * scale_ >= kLegible) strokes_ = lettering(coupon_);
    for (size_t i = 0; i < coupon_.slots.size(); ++i) draw_slot(i);
    sheet_.outline(box({0, 0, coupon_.width, coupon_.height}), appearance::kEdge);
    draw_rulers();
    legend_.draw(sheet_, {double(kLeft), origin_.y + kBelow});
  }
  // Prints at true size.
  void write(const std::string& path) const { sheet_.write(path, 1 / scale_, 1 / scale_); }

 private:
  static double scale(const Coupon& coupon) {
    const double longer = std::max(coupon.width, coupon.height);
    return std::clamp(kUsual * longer, kLeast, kMost) / longer;
  }
  double room() const { return std::max(scale_ * coupon_.width, kLeast); }
  static std::vector<appearance::LegendEntry> entries(const Shading& shading) {
    std::vector<appearance::LegendEntry> out = {{"corner marks and labels", kBurnt, appearance::Swatch::area}};
    if (shading.chances.empty()) {
      out.push_back({"patch", kPlain, appearance::Swatch::area});
      return out;
    }
    for (int i = 0; i < 4; ++i)
      out.push_back(
          {fmt::format("chance of {}", response::kOutcomeNames[i]), colour_of(i), appearance::Swatch::area});
    return out;
  }

  Point at(double x, double y) const { return {origin_.x + scale_ * x, origin_.y - scale_ * y}; }
  Box box(const Rectangle& place) const {
    const Point corner = at(place.x, place.y + place.height);
    return {corner.x, corner.y, scale_ * place.width, scale_ * place.height};
  }

  // Divided from the left, in the order of Outcome.
  void shade(const Box& all, size_t slot) {
    if (shading_.chances.empty()) {
      sheet_.fill(all, kPlain);
      return;
    }
    double from = 0;
    for (int i = 0; i < 4; ++i) {
      const double share = shading_.chances[slot][size_t(i)];
      sheet_.fill({all.x + from * all.width, all.y, share * all.width, all.height}, colour_of(i));
      from += share;
    }
  }

  void draw_slot(size_t i) {
    const Slot& slot = coupon_.slots[i];
    const Box all = box(slot.place);
    if (slot.patch.is_line()) {
      const bool axial = slot.patch.direction == motion::Direction::axial;
      shade(axial ? Box{all.x, all.y + (all.height - kLineThick) / 2, all.width, kLineThick}
                  : Box{all.x + (all.width - kLineThick) / 2, all.y, kLineThick, all.height},
            i);
      sheet_.outline(all, appearance::kGrid);
    } else {
      shade(all, i);
      sheet_.outline(all, appearance::kEdge);
    }
    if (strokes_.empty()) draw_number(slot, all);
    for (const Trace& trace : strokes_.empty() ? std::vector<Trace>() : strokes_[i]) {
      std::vector<Point> line;
      for (const auto& [x, y] : trace) line.push_back(at(x, y));
      sheet_.trace(line, {.colour = kBurnt, .thickness = std::max(1.0, 0.1 * coupon_.letters * scale_)});
    }
  }

  void draw_number(const Slot& slot, const Box& all) {
    const double size =
        std::min({13.0, 0.8 * all.height, 1.4 * all.width / double(std::to_string(slot.number).size())});
    if (size < 5) return;
    sheet_.text({all.x + all.width / 2, all.y + all.height / 2 + 0.35 * size}, std::to_string(slot.number),
                {.size = size, .colour = kInk, .anchor = 0.5});
  }

  void draw_rulers() {
    appearance::draw(sheet_,
                     {.to = 1e3 * coupon_.width,
                      .start = origin_.x,
                      .stop = origin_.x + scale_ * coupon_.width,
                      .edge = origin_.y,
                      .title = coupon_.ground == Ground::flat ? "x [mm]" : "along the axis [mm]"},
                     kInk);
    appearance::draw(sheet_,
                     {.to = 1e3 * coupon_.height,
                      .start = origin_.y,
                      .stop = origin_.y - scale_ * coupon_.height,
                      .edge = origin_.x,
                      .upright = true,
                      .title = coupon_.ground == Ground::flat ? "y [mm]" : "around [mm]"},
                     kInk);
  }

  const Coupon& coupon_;
  const Shading& shading_;
  double scale_;  // [pixel/m]
  appearance::Heading heading_;
  appearance::Legend legend_;
  Point origin_;  // of the lower left corner
  Sheet sheet_;
  std::vector<std::vector<Trace>> strokes_;  // of labels, by slot; empty where they would be too small
};

void check(const Shading& shading, const Coupon& coupon) {
  if (shading.chances.empty()) return;
  const auto refuse = [](const std::string& problem) {
    throw quantity::ValidityError("picture of a coupon: " + problem);
  };
  if (shading.chances.size() != coupon.slots.size())
    refuse(fmt::format("chances = {} (expected one set a slot, {}, or none)", shading.chances.size(),
                       coupon.slots.size()));
  for (const auto& of : shading.chances) {
    const double sum = of[0] + of[1] + of[2] + of[3];
    if (!(std::abs(sum - 1) < 1e-6) || *std::min_element(of.begin(), of.end()) < 0)
      refuse(fmt::format("chances {:.3g}, {:.3g}, {:.3g}, {:.3g} (expected four from 0 up, 1 in all)", of[0], of[1],
                         of[2], of[3]));
  }
}

}  // namespace

void write_picture(const std::string& path, const Coupon& coupon, const Shading& shading) {
  check(coupon);
  check(shading, coupon);
  Drawing drawing(coupon, shading);
  drawing.draw();
  drawing.write(path);
}

}  // namespace circumfluence::calibration
