// Where a QR code was meant: three corner patterns, dark-light-dark-light-dark as 1:1:3:1:1 both ways, at
// three corners of a square.
#include <algorithm>
#include <cmath>

#include "look/code.h"

namespace circumfluence::look {
namespace {

constexpr int kMostSide = 2000;      // [px] a larger picture is looked at thinned
constexpr size_t kMostCentres = 64;  // patterns looked at together

struct Binary {
  int width, height;
  std::vector<std::uint8_t> dark;

  bool at(int x, int y) const { return dark[size_t(y) * size_t(width) + size_t(x)] != 0; }
};

struct Centre {
  double x, y, module;  // [px]
};

// Halfway between the darkest and the lightest; means of squares.
Binary binary(const artwork::Image& art) {
  const int step = (std::max(art.width, art.height) + kMostSide - 1) / kMostSide;
  Binary out{art.width / step, art.height / step, {}};
  std::vector<double> light;
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      double sum = 0;
      for (int i = 0; i < step; ++i)
        for (int j = 0; j < step; ++j) {
          const size_t at = size_t(y * step + i) * size_t(art.width) + size_t(x * step + j);
          const double tone = art.tone[at];
          sum += art.opacity.empty() ? tone : 65535 - (65535 - tone) * (art.opacity[at] / 65535.0);
        }
      light.push_back(sum / (step * step));
    }
  if (light.empty()) return out;
  const auto [least, most] = std::minmax_element(light.begin(), light.end());
  const double middle = (*least + *most) / 2;
  for (const double l : light) out.dark.push_back(l < middle);
  return out;
}

// Five runs in the proportion 1:1:3:1:1, each to within half a module.
bool proportioned(const std::array<int, 5>& runs) {
  const double module = (runs[0] + runs[1] + runs[2] + runs[3] + runs[4]) / 7.0;
  const double slack = std::max(0.5 * module, 0.75);
  for (size_t i = 0; i < 5; ++i)
    if (std::abs(runs[i] - (i == 2 ? 3 : 1) * module) > slack * (i == 2 ? 1.5 : 1)) return false;
  return true;
}

// The runs up and down from a place in the middle run; nothing where the picture ends.
std::optional<std::array<int, 5>> runs_down(const Binary& picture, int x, int y, bool dark, int most,
                                            double& middle) {
  std::array<int, 5> runs{};
  int ends[2] = {y, y};
  for (const int way : {-1, 1}) {
    int at = way < 0 ? y : y + 1;
    for (int part = 0; part < 3; ++part) {
      const bool want = (part % 2 == 0) == dark;
      int& run = runs[size_t(2 + way * part)];
      for (; at >= 0 && at < picture.height && picture.at(x, at) == want && run <= most; at += way) ++run;
      if (run == 0 || run > most) return std::nullopt;
      if (part == 0) ends[way > 0] = at;
    }
  }
  middle = (ends[0] + ends[1] + 1) / 2.0;
  return runs;
}

// Rings of dark, light and dark seven modules wide; a few may be spoilt or turned away.
bool rings(const Binary& picture, const Centre& centre, bool dark) {
  int wrong = 0;
  for (int i = -3; i <= 3; ++i)
    for (int j = -3; j <= 3; ++j) {
      const int x = int(std::floor(centre.x + j * centre.module)),
                y = int(std::floor(centre.y + i * centre.module));
      if (x < 0 || y < 0 || x >= picture.width || y >= picture.height) return false;
      const bool filled = std::max(std::abs(i), std::abs(j)) != 2;
      wrong += (picture.at(x, y) == dark) != filled;
    }
  return wrong <= 6;
}

void add_centre(std::vector<Centre>& centres, const Centre& centre) {
  for (const Centre& old : centres)
    if (std::hypot(old.x - centre.x, old.y - centre.y) < 2 * centre.module) return;
  if (centres.size() < kMostCentres) centres.push_back(centre);
}

std::vector<Centre> centres(const Binary& picture, bool dark) {
  std::vector<Centre> out;
  for (int y = 0; y < picture.height; ++y) {
    std::array<int, 5> runs{};
    for (int x = 0, begin = 0; x <= picture.width; ++x) {
      if (x < picture.width && x > 0 && picture.at(x, y) == picture.at(x - 1, y)) continue;
      if (x == 0) continue;
      std::rotate(runs.begin(), runs.begin() + 1, runs.end());
      runs[4] = x - begin;
      begin = x;
      if (runs[0] == 0 || picture.at(x - 1, y) != dark || !proportioned(runs)) continue;
      const int all = runs[0] + runs[1] + runs[2] + runs[3] + runs[4];
      const double middle = x - runs[4] - runs[3] - runs[2] / 2.0;
      double height = 0;
      const auto down = runs_down(picture, int(middle), y, dark, all, height);
      const Centre centre{middle, height, all / 7.0};
      if (down && proportioned(*down) && rings(picture, centre, dark)) add_centre(out, centre);
    }
  }
  return out;
}

// Three corners of a square, with modules of one size, at least 14 apart.
bool square(const Centre& a, const Centre& b, const Centre& c) {
  const double module = (a.module + b.module + c.module) / 3;
  for (const Centre* p : {&a, &b, &c})
    if (std::abs(p->module - module) > 0.3 * module) return false;
  std::array<double, 3> sides{std::hypot(a.x - b.x, a.y - b.y), std::hypot(b.x - c.x, b.y - c.y),
                              std::hypot(c.x - a.x, c.y - a.y)};
  std::sort(sides.begin(), sides.end());
  return sides[0] > 10 * module && sides[1] < 1.15 * sides[0] &&
         std::abs(sides[2] / sides[0] - std::sqrt(2.0)) < 0.15;
}

bool meant(const std::vector<Centre>& all) {
  for (size_t i = 0; i < all.size(); ++i)
    for (size_t j = i + 1; j < all.size(); ++j)
      for (size_t k = j + 1; k < all.size(); ++k)
        if (square(all[i], all[j], all[k])) return true;
  return false;
}

}  // namespace

bool looks_like_symbol(const artwork::Image& art) {
  if (art.width < 1 || art.height < 1 || art.tone.size() != size_t(art.width) * size_t(art.height))
    return false;
  if (!art.opacity.empty() && art.opacity.size() != art.tone.size()) return false;
  const Binary picture = binary(art);
  if (picture.dark.empty()) return false;
  return meant(centres(picture, true)) || meant(centres(picture, false));
}

}  // namespace circumfluence::look
