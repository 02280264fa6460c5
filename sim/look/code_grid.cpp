// The grid of modules of a code that was read: of all sizes that exist, the one whose fixed patterns fit; and
// where a QR code was meant.
#include <algorithm>
#include <cmath>
#include <utility>

#include "look/code.h"

namespace circumfluence::look {
namespace {

using artwork::PicturePoint;

constexpr double kMostWrong = 0.12;  // [1] of the fixed modules

// [0, 1] transparent places as seen on white; white outside.
double light_at(const artwork::Image& art, const PicturePoint& at) {
  const double x = std::floor(at.column), y = std::floor(at.row);
  if (!(x >= 0 && y >= 0 && x < art.width && y < art.height)) return 1;
  const size_t i = size_t(y) * size_t(art.width) + size_t(x);
  const double tone = art.tone[i] / 65535.0;
  return art.opacity.empty() ? tone : 1 - (1 - tone) * (art.opacity[i] / 65535.0);
}

// Its middle and four places half way to its corners.
double light_of(const artwork::Image& art, const Symbol& symbol, int column, int row) {
  constexpr double kPlaces[5][2] = {{0.5, 0.5}, {0.25, 0.25}, {0.75, 0.25}, {0.25, 0.75}, {0.75, 0.75}};
  double sum = 0;
  for (const auto& [u, v] : kPlaces) sum += light_at(art, in_picture(symbol, column + u, row + v));
  return sum / 5;
}

// Dark modules by the middle between the means of those on either side.
std::vector<std::uint8_t> sampled(const artwork::Image& art, const Symbol& symbol) {
  std::vector<double> light;
  light.reserve(size_t(symbol.columns) * size_t(symbol.rows));
  for (int row = 0; row < symbol.rows; ++row)
    for (int column = 0; column < symbol.columns; ++column)
      light.push_back(light_of(art, symbol, column, row));
  const auto [least, most] = std::minmax_element(light.begin(), light.end());
  double middle = (*least + *most) / 2;
  for (int round = 0; round < 8; ++round) {
    double low = 0, high = 0;
    long lows = 0;
    for (const double l : light) l < middle ? (low += l, ++lows) : (high += l, 0L);
    if (lows == 0 || lows == long(light.size())) break;
    middle = (low / double(lows) + high / double(long(light.size()) - lows)) / 2;
  }
  std::vector<std::uint8_t> dark;
  dark.reserve(light.size());
  for (const double l : light) dark.push_back(l < middle);
  return dark;
}

// [1] share of the fixed modules that are not as they should be.
double wrong(const Symbol& symbol, const std::vector<std::int8_t>& fixed) {
  long count = 0, bad = 0;
  for (size_t i = 0; i < fixed.size(); ++i)
    if (fixed[i] >= 0) ++count, bad += (fixed[i] == 1) != symbol.black(i);
  return double(bad) / double(std::max(1L, count));
}

// The same by the middles of the fixed modules alone: dark where they are darker than halfway between the
// means of those that should be dark and those that should be light.
double wrong_at_a_glance(const artwork::Image& art, const Symbol& symbol,
                         const std::vector<std::int8_t>& fixed) {
  std::vector<std::pair<double, bool>> seen;  // light, and whether it should be dark
  double sums[2] = {};
  long counts[2] = {};
  for (size_t i = 0; i < fixed.size(); ++i) {
    if (fixed[i] < 0) continue;
    const int column = int(i) % symbol.columns, row = int(i) / symbol.columns;
    const double light = light_at(art, in_picture(symbol, column + 0.5, row + 0.5));
    const bool dark = (fixed[i] == 1) != symbol.inverted;
    seen.emplace_back(light, dark);
    sums[dark] += light, ++counts[dark];
  }
  const double middle = (sums[0] / double(counts[0]) + sums[1] / double(counts[1])) / 2;
  long bad = 0;
  for (const auto& [light, dark] : seen) bad += (light < middle) != dark;
  return double(bad) / double(seen.size());
}

double edge(const PicturePoint& p, const PicturePoint& q) {
  return std::hypot(p.column - q.column, p.row - q.row);
}

// Sizes that the shape allows: columns and rows.
std::vector<std::array<int, 2>> sizes(Symbology kind, const Symbol& symbol) {
  const auto& c = symbol.corners;
  const double across = edge(c[0], c[1]) + edge(c[3], c[2]), down = edge(c[0], c[3]) + edge(c[1], c[2]);
  std::vector<std::array<int, 2>> out;
  const auto allow = [&](int columns, int rows) {
    const double ratio = across * rows / (down * columns);
    if (ratio > 0.7 && ratio < 1.4 && across / 2 >= columns * 0.9 && fixed_patterns(kind, columns, rows))
      out.push_back({columns, rows});
  };
  for (int side = kind == Symbology::qr ? 21 : 10; side <= 177; side += kind == Symbology::qr ? 4 : 2)
    allow(side, side);
  if (kind == Symbology::data_matrix)
    for (const std::array<int, 2> size : {std::array{18, 8}, {32, 8}, {26, 12}, {36, 12}, {36, 16}, {48, 16}})
      allow(size[0], size[1]);
  return out;
}

}  // namespace

// The plane picture of a plane square, by its four corners.
PicturePoint in_picture(const Symbol& symbol, double column, double row) {
  const auto& [a, b, c, d] = symbol.corners;
  const double u = column / symbol.columns, v = row / symbol.rows;
  const double x1 = b.column - c.column, x2 = d.column - c.column,
               x3 = a.column - b.column + c.column - d.column;
  const double y1 = b.row - c.row, y2 = d.row - c.row, y3 = a.row - b.row + c.row - d.row;
  const double area = x1 * y2 - x2 * y1;
  const double g = area == 0 ? 0 : (x3 * y2 - x2 * y3) / area, h = area == 0 ? 0 : (x1 * y3 - x3 * y1) / area;
  const double w = g * u + h * v + 1;
  return {
      ((b.column - a.column + g * b.column) * u + (d.column - a.column + h * d.column) * v + a.column) / w,
      ((b.row - a.row + g * b.row) * u + (d.row - a.row + h * d.row) * v + a.row) / w};
}

bool find_grid(const artwork::Image& art, Symbol& symbol) {
  double best = 2 * kMostWrong;
  std::array<int, 2> size{};
  for (const auto& [columns, rows] : sizes(symbol.kind, symbol)) {
    Symbol trial = symbol;
    trial.columns = columns, trial.rows = rows;
    const double bad = wrong_at_a_glance(art, trial, *fixed_patterns(symbol.kind, columns, rows));
    if (bad < best) best = bad, size = {columns, rows};
  }
  if (size[0] == 0) return false;
  symbol.columns = size[0], symbol.rows = size[1];
  symbol.dark = sampled(art, symbol);
  return wrong(symbol, *fixed_patterns(symbol.kind, symbol.columns, symbol.rows)) < kMostWrong;
}

}  // namespace circumfluence::look
