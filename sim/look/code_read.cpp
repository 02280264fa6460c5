// Codes looked for in a picture with the library ZXing: as it is, light and dark exchanged, and mirrored.
#define ZX_USE_UTF8 1
#include <ZXing/ReadBarcode.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "look/code.h"

namespace circumfluence::look {
namespace {

using artwork::PicturePoint;

constexpr long kMostRead = 4'000'000;  // [px] handed to the reader
constexpr int kMostSymbols = 16;
constexpr int kLeastContrast = 12;          // [of 255]
constexpr int kQuiet = 16;                  // [px] of white laid around
constexpr int kMagnified = 4;               // a small picture, at most, and to
constexpr long kMostMagnified = 1'000'000;  // [px]

// Light of a picture, 0 to 255, as it is handed to the reader.
struct Grey {
  int width = 0, height = 0;
  std::vector<std::uint8_t> light;
  double scale = 1;  // its pixels in one of the picture

  std::uint8_t& at(int x, int y) { return light[size_t(y) * size_t(width) + size_t(x)]; }
};

bool whole(const artwork::Image& art) {
  const size_t count = size_t(std::max(0, art.width)) * size_t(std::max(0, art.height));
  return count > 0 && art.tone.size() == count && (art.opacity.empty() || art.opacity.size() == count);
}

double light_of(const artwork::Image& art, size_t i) {
  const double tone = art.tone[i] / 65535.0;
  return art.opacity.empty() ? tone : 1 - (1 - tone) * (art.opacity[i] / 65535.0);
}

// Means over squares of `step` pixels; what is left over at the right and below is dropped.
Grey thinned(const artwork::Image& art, int step) {
  Grey out{art.width / step, art.height / step, {}, 1.0 / step};
  out.light.resize(size_t(out.width) * size_t(out.height));
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      double sum = 0;
      for (int i = 0; i < step; ++i)
        for (int j = 0; j < step; ++j)
          sum += light_of(art, size_t(y * step + i) * size_t(art.width) + size_t(x * step + j));
      out.at(x, y) = std::uint8_t(std::lround(255 * sum / (step * step)));
    }
  return out;
}

// With white around, since a reader wants a quiet zone, and light and dark exchanged or left for right where
// asked.
Grey prepared(const Grey& from, int times, bool exchanged, bool mirrored) {
  Grey out{from.width * times + 2 * kQuiet, from.height * times + 2 * kQuiet, {}, from.scale * times};
  out.light.assign(size_t(out.width) * size_t(out.height), 255);
  for (int y = 0; y < from.height * times; ++y)
    for (int x = 0; x < from.width * times; ++x) {
      const int column = mirrored ? from.width - 1 - x / times : x / times;
      const std::uint8_t light = from.light[size_t(y / times) * size_t(from.width) + size_t(column)];
      out.at(x + kQuiet, y + kQuiet) = exchanged ? std::uint8_t(255 - light) : light;
    }
  return out;
}

double cross(const PicturePoint& o, const PicturePoint& p, const PicturePoint& q) {
  return (p.column - o.column) * (q.row - o.row) - (p.row - o.row) * (q.column - o.column);
}

bool inside(const std::array<PicturePoint, 4>& corners, const PicturePoint& at) {
  int sides = 0;
  for (size_t i = 0; i < 4; ++i) sides += cross(corners[i], corners[(i + 1) % 4], at) > 0 ? 1 : -1;
  return std::abs(sides) == 4;
}

// What was read is covered, so that it is not read again; a pixel more all around would take its neighbour's
// edge.
void cover(Grey& picture, const Symbol& symbol) {
  std::array<PicturePoint, 4> corners = symbol.corners;
  double left = 1e9, right = 0, top = 1e9, low = 0;
  for (PicturePoint& p : corners) {
    p = {p.column * picture.scale, p.row * picture.scale};
    left = std::min(left, p.column), right = std::max(right, p.column);
    top = std::min(top, p.row), low = std::max(low, p.row);
  }
  for (int y = std::max(0, int(top)); y < std::min(double(picture.height), low + 1); ++y)
    for (int x = std::max(0, int(left)); x < std::min(double(picture.width), right + 1); ++x)
      if (inside(corners, {x + 0.5, y + 0.5})) picture.at(x, y) = symbol.inverted ? 0 : 255;
}

std::optional<Symbol> symbol_of(const ZXing::Result& result, const Grey& read, bool mirrored, int width) {
  if (!result.isValid() || result.isMirrored()) return std::nullopt;
  const bool matrix = result.format() == ZXing::BarcodeFormat::DataMatrix;
  Symbol out{
      .kind = matrix ? Symbology::data_matrix : Symbology::qr, .text = result.text(), .mirrored = mirrored};
  for (size_t i = 0; i < 4; ++i) {
    const ZXing::PointI p = result.position()[i];
    const double column = (p.x - kQuiet) / read.scale;
    out.corners[i] = {mirrored ? width - column : column, (p.y - kQuiet) / read.scale};
  }
  return out;
}

std::vector<Symbol> symbols_in(const Grey& picture, int times, bool exchanged, bool mirrored) {
  const auto [least, most] = std::minmax_element(picture.light.begin(), picture.light.end());
  if (*most - *least < kLeastContrast) return {};  // a reader is slowest where there is nothing
  const Grey read = prepared(picture, times, exchanged, mirrored);
  ZXing::DecodeHints hints;
  hints.setFormats(ZXing::BarcodeFormat::QRCode | ZXing::BarcodeFormat::DataMatrix);
  hints.setTryHarder(true).setTryRotate(true).setMaxNumberOfSymbols(kMostSymbols);
  std::vector<Symbol> out;
  try {
    const ZXing::ImageView view(read.light.data(), read.width, read.height, ZXing::ImageFormat::Lum);
    for (const ZXing::Result& result : ZXing::ReadBarcodes(view, hints))
      if (std::optional<Symbol> symbol =
              symbol_of(result, read, mirrored, int(picture.width / picture.scale))) {
        symbol->inverted = exchanged;
        out.push_back(*symbol);
      }
  } catch (const std::exception&) {  // of a picture that leads the reader astray: nothing is read there
  }
  return out;
}

// Covering may have failed for one at the rim.
bool same(const Symbol& one, const Symbol& other) {
  const auto middle = [](const Symbol& s) {
    return PicturePoint{(s.corners[0].column + s.corners[2].column) / 2,
                        (s.corners[0].row + s.corners[2].row) / 2};
  };
  return inside(one.corners, middle(other)) && one.text == other.text;
}

// Each find is covered and the rest read again, until nothing more reads.
std::vector<Symbol> read(Grey picture, int magnified) {
  std::vector<Symbol> out;
  const double area = double(picture.width) * picture.height;
  const int most = int(std::clamp(std::sqrt(double(kMostMagnified) / area), 1.0, double(magnified)));
  for (const bool mirrored : {false, true}) {
    if (!out.empty()) break;  // all of a picture are mirrored or none is
    for (const bool exchanged : {false, true})
      for (const int times : {1, most}) {
        if (times == 1 && most > 2) continue;  // small: magnified only
        for (bool more = true; more;) {
          more = false;
          for (const Symbol& symbol : symbols_in(picture, times, exchanged, mirrored)) {
            if (int(out.size()) >= kMostSymbols) return out;
            if (std::any_of(out.begin(), out.end(), [&](const Symbol& old) { return same(old, symbol); }))
              continue;
            out.push_back(symbol);
            cover(picture, symbol);
            more = true;
          }
        }
        if (most == 1) break;
      }
  }
  return out;
}

// The exposure is set by the lightest hundredth; its darkest counts as black, since readers look for steps of
// light wherever they lie. Where there is hardly any contrast nothing is stretched.
Grey exposed(const appearance::Pixels& picture) {
  std::vector<double> light(picture.rgb.size());
  for (size_t i = 0; i < light.size(); ++i) {
    const appearance::Linear c = appearance::linear_from_srgb(picture.rgb[i]);
    light[i] = 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2];
  }
  std::vector<double> sorted = light;
  const std::ptrdiff_t hundredth = std::ptrdiff_t(sorted.size() / 100);
  const auto lightest = sorted.end() - 1 - hundredth, darkest = sorted.begin() + hundredth;
  std::nth_element(sorted.begin(), lightest, sorted.end());
  std::nth_element(sorted.begin(), darkest, lightest + 1);
  const double full = std::max(*lightest, 1e-6);
  const auto level = [full](double l) {
    return 255.0 * appearance::srgb_from_linear(std::min(1.0, l / full));
  };
  const double black = level(*darkest), span = 255 - black;
  const bool stretched = span >= kLeastContrast;
  Grey out{picture.width, picture.height, std::vector<std::uint8_t>(light.size()), 1};
  for (size_t i = 0; i < light.size(); ++i) {
    const double at = stretched ? (level(light[i]) - black) * 255 / span : level(light[i]);
    out.light[i] = std::uint8_t(std::lround(std::max(0.0, at)));
  }
  return out;
}

artwork::Image as_art(const Grey& grey) {
  artwork::Image out{grey.width, grey.height, std::vector<std::uint16_t>(grey.light.size()), {}};
  for (size_t i = 0; i < grey.light.size(); ++i) out.tone[i] = std::uint16_t(grey.light[i] * 257);
  return out;
}

int step_for(int width, int height) {
  const long area = long(width) * height;
  return std::max(1, int(std::ceil(std::sqrt(double(area) / double(kMostRead)))));
}

// Read again at full size, where it was found at a fraction, for corners that are good to a pixel.
void look_closer(const artwork::Image& art, Symbol& symbol) {
  double left = art.width, right = 0, top = art.height, low = 0;
  for (const PicturePoint& p : symbol.corners) {
    left = std::min(left, p.column), right = std::max(right, p.column);
    top = std::min(top, p.row), low = std::max(low, p.row);
  }
  const double rim = 0.2 * std::max(right - left, low - top);
  const int x = int(std::clamp(left - rim, 0.0, double(art.width))),
            y = int(std::clamp(top - rim, 0.0, double(art.height)));
  artwork::Image part{
      std::min(art.width, int(right + rim)) - x, std::min(art.height, int(low + rim)) - y, {}, {}};
  if (part.width < 1 || part.height < 1 || long(part.width) * part.height > kMostRead) return;
  for (int row = y; row < y + part.height; ++row)
    for (int column = x; column < x + part.width; ++column) {
      const double light = light_of(art, size_t(row) * size_t(art.width) + size_t(column));
      part.tone.push_back(std::uint16_t(std::lround(65535 * light)));
    }
  for (const Symbol& found : read(thinned(part, 1), kMagnified)) {
    if (found.text != symbol.text || found.mirrored != symbol.mirrored || found.inverted != symbol.inverted)
      continue;
    symbol.corners = found.corners;
    for (PicturePoint& p : symbol.corners) p.column += x, p.row += y;
    return;
  }
}

// What reads, reads, with or without its grid.
std::vector<Symbol> with_grids(const artwork::Image& art, std::vector<Symbol> symbols) {
  for (Symbol& symbol : symbols)
    if (!find_grid(art, symbol)) symbol.columns = symbol.rows = 0, symbol.dark.clear();
  return symbols;
}

}  // namespace

std::vector<Symbol> find_symbols(const artwork::Image& art) {
  if (!whole(art)) return {};
  const int step = step_for(art.width, art.height);
  if (art.width / step < 1 || art.height / step < 1) return {};
  std::vector<Symbol> out = read(thinned(art, step), kMagnified);
  if (step > 1)
    for (Symbol& symbol : out) look_closer(art, symbol);
  return with_grids(art, std::move(out));
}

std::vector<Symbol> read_symbols(const appearance::Pixels& picture) {
  const size_t count = size_t(std::max(0, picture.width)) * size_t(std::max(0, picture.height));
  if (count == 0 || picture.rgb.size() != count) return {};
  const Grey grey = exposed(picture);
  const artwork::Image art = as_art(grey);
  const int step = step_for(grey.width, grey.height);
  if (art.width / step < 1 || art.height / step < 1) return {};
  return with_grids(art, read(step == 1 ? grey : thinned(art, step), 1));
}

}  // namespace circumfluence::look
