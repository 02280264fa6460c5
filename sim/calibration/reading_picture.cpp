// What was read of a photograph, drawn over it: to be looked at and corrected by hand.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "appearance/legend.h"
#include "appearance/picture.h"
#include "calibration/coupon_drawing.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using appearance::Box;
using appearance::Colour;
using appearance::Sheet;

constexpr Colour kClassInk[4] = {{78, 121, 167}, {230, 159, 0}, {0, 138, 90}, {200, 30, 45}};
constexpr Colour kOpenInk{98, 103, 112};
constexpr double kLong = 1500,
                 kSmallSlot = 64;  // [pixel] of the map's longer side; below which names stand alone
constexpr double kMargin = 18, kRulerRoom = 52;
constexpr const char* kShort[4] = {"untouched", "under", "marked", "over"};

struct Map {
  double left, top, scale;  // [pixel], [pixel], [pixel/m]
  double height;            // [m] of the coupon

  Box box(const Rectangle& r) const {
    return {left + r.x * scale, top + (height - r.y - r.height) * scale, r.width * scale, r.height * scale};
  }
};

void frame(Sheet& sheet, const Box& b, Colour colour, double thickness, bool dashed) {
  const appearance::Point corners[] = {
      {b.x, b.y}, {b.x + b.width, b.y}, {b.x + b.width, b.y + b.height}, {b.x, b.y + b.height}, {b.x, b.y}};
  sheet.trace(corners, {.colour = colour, .thickness = thickness, .dashed = dashed});
}

void name_patch(Sheet& sheet, const Box& b, const PatchReading& patch) {
  const bool told = patch.sure >= kSure;
  const Colour colour = told ? kClassInk[int(patch.outcome)] : kOpenInk;
  frame(sheet, b, appearance::kPaper, 4, false);
  frame(sheet, b, colour, 2, !told);
  std::vector<std::string> words = {fmt::format("{}", patch.number)};
  if (b.width >= kSmallSlot) {
    if (told)
      words.push_back(
          fmt::format("{} {:.0f} %", kShort[int(patch.outcome)], std::min(99.0, 100 * patch.sure)));
    else
      words.push_back(std::isnan(patch.width) ? "open" : "class open");
    if (!std::isnan(patch.width))
      words.push_back(fmt::format("{:.0f} \u00b1 {:.0f} um", 1e6 * patch.width, 1e6 * patch.width_error));
  }
  const double size = std::clamp(b.width / 7, 9.0, 14.0);
  for (size_t i = 0; i < words.size(); ++i)
    sheet.text({b.x + 4, b.y + 4 + size * (1.15 * double(i) + 0.8)}, words[i],
               {.size = size, .colour = colour, .bold = i == 0, .halo = 2.5});
}

void draw_rulers(Sheet& sheet, const Map& map, const Coupon& coupon) {
  const double bottom = map.top + coupon.height * map.scale, right = map.left + coupon.width * map.scale;
  appearance::draw(sheet,
                   {.from = 0,
                    .to = 1e3 * coupon.width,
                    .start = map.left,
                    .stop = right,
                    .edge = bottom,
                    .title = "x [mm]"},
                   appearance::kInk);
  appearance::draw(sheet,
                   {.from = 0,
                    .to = 1e3 * coupon.height,
                    .start = bottom,
                    .stop = map.top,
                    .edge = map.left,
                    .upright = true,
                    .title = "y [mm]"},
                   appearance::kInk);
}

appearance::Legend legend(const Reading& reading, double room) {
  int counts[5] = {};
  for (const PatchReading& patch : reading.patches) ++counts[patch.sure >= kSure ? int(patch.outcome) : 4];
  std::vector<appearance::LegendEntry> entries;
  for (int i = 0; i < 4; ++i)
    entries.push_back({fmt::format("{}: {}", response::kOutcomeNames[i], counts[i]), kClassInk[i],
                       appearance::Swatch::line});
  entries.push_back({fmt::format("left open: {}", counts[4]), kOpenInk, appearance::Swatch::dashes});
  return {entries, room};
}

std::string subtitle(const Reading& reading) {
  std::string out = fmt::format("{}: {:.0f} um a pixel, blur {:.0f} um. Correct what is wrong in the table.",
                                reading.straightened.name, 1e6 * reading.scale, 1e6 * reading.blur);
  for (const std::string& note : reading.notes) out += " Note: " + note + ".";
  return out;
}

void check(const Coupon& coupon, const Reading& reading) {
  const Photo& photo = reading.straightened;
  if (reading.patches.size() != coupon.slots.size() || photo.width < 1 || photo.height < 1 ||
      photo.pixels.size() != size_t(photo.width) * size_t(photo.height))
    throw quantity::ValidityError(fmt::format(
        "reading: {} patches, picture {} x {} (expected the coupon's {} patches and a straightened picture)",
        reading.patches.size(), photo.width, photo.height, coupon.slots.size()));
}

}  // namespace

void write_reading(const std::string& path, const Coupon& coupon, const Reading& reading) {
  check(coupon, reading);
  const double scale = kLong / std::max(coupon.width, coupon.height);
  const double width = std::round(coupon.width * scale), height = std::round(coupon.height * scale);
  const double all = width + kRulerRoom + 2 * kMargin, room = all - 2 * kMargin;
  const appearance::Heading heading("What was read of the photograph", subtitle(reading), room);
  const appearance::Legend below = legend(reading, room);
  const Map map{kMargin + kRulerRoom, std::round(kMargin + heading.height() + 10), scale, coupon.height};
  const double legend_top = map.top + height + kRulerRoom;
  Sheet sheet(int(all), int(legend_top + below.height() + kMargin), appearance::kPaper);
  heading.draw(sheet, {kMargin, kMargin});
  sheet.paste(appearance::Pixels{reading.straightened.width, reading.straightened.height,
                                 reading.straightened.pixels},
              Box{map.left, map.top, width, height});
  for (size_t i = 0; i < coupon.slots.size(); ++i)
    name_patch(sheet, map.box(coupon.slots[i].place), reading.patches[i]);
  draw_rulers(sheet, map, coupon);
  below.draw(sheet, {kMargin, legend_top});
  sheet.write(path, 1 / scale, 1 / scale);
}

}  // namespace circumfluence::calibration
