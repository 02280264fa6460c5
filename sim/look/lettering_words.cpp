// Words as art, drawn with the letters of charts.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "appearance/draw.h"
#include "appearance/picture.h"
#include "look/lettering.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using appearance::Colour;
using appearance::Sheet;

constexpr Colour kBlack{0, 0, 0}, kWhite{255, 255, 255};
constexpr double kMostSide = 32000, kMostPixels = 16e6, kLeastCapital = 4;

// [1] height of capitals over the em, by one drawn large.
double capital() {
  static const double height = [] {
    constexpr int kSide = 400;
    Sheet sheet(kSide, kSide, kWhite);
    sheet.text({50, 350}, "H", {.size = kSide / 2, .colour = kBlack});
    const appearance::Pixels drawn = sheet.pixels();
    double rows = 0;
    for (int y = 0; y < kSide; ++y) {
      std::uint8_t darkest = 255;
      for (int x = 0; x < kSide; ++x)
        darkest = std::min(darkest, drawn.rgb[size_t(y) * kSide + size_t(x)][0]);
      rows += (255 - darkest) / 255.0;
    }
    return rows / (kSide / 2);
  }();
  return height;
}

}  // namespace

artwork::Image words(const std::string& text, double height, double pixel) {
  const double rows = height / pixel;
  if (text.empty() || !(rows >= kLeastCapital && std::isfinite(rows)))
    throw quantity::ValidityError(
        fmt::format("words \"{}\" of {} (expected letters, capitals 4 pixels of {} high at least)", text,
                    quantity::format(height, "mm"), quantity::format(pixel, "um")));
  const appearance::Type type{.size = rows / capital(), .colour = kBlack};
  const double around = std::ceil(rows / 10), below = std::ceil(0.3 * type.size),
               above = std::ceil(0.3 * rows);
  const double tall = std::ceil(rows) + above + below;
  // Letters beyond what a font can be scaled to are not even measured.
  const double width = tall < kMostSide ? std::ceil(Sheet(8, 8, kWhite).length(text, type)) + 2 * around : tall;
  if (!(width * tall <= kMostPixels && std::max(width, tall) < kMostSide))
    throw quantity::ValidityError(fmt::format(
        "words \"{}\" ({:.3g} x {:.3g} px; expected at most 16 million pixels). Take coarser pixels", text,
        width, tall));
  Sheet sheet(static_cast<int>(width), static_cast<int>(tall), kWhite);
  sheet.text({around, std::ceil(rows) + above}, text, type);
  const appearance::Pixels drawn = sheet.pixels();
  artwork::Image image{drawn.width, drawn.height, {}, {}};
  image.tone.reserve(drawn.rgb.size());
  for (const Colour& c : drawn.rgb) image.tone.push_back(static_cast<std::uint16_t>(c[0] * 257));
  return image;
}

}  // namespace circumfluence::look
