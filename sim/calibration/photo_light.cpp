// Uneven light, divided out.
//
// Small areas of the ground, away from slots and marks, give the light there; a polynomial of the fourth
// order goes through them, channel by channel. What was written on the ground (labels) strays toward the ink
// and is thrown out by the spread on the other side.
#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "calibration/photo.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

constexpr double kMostUneven = 0.3;  // [1]
constexpr int kOrder = 3, kTerms = (kOrder + 1) * (kOrder + 2) / 2;
using Terms = Eigen::Matrix<double, kTerms, 1>;

int terms_of(int order) {
  return (order + 1) * (order + 2) / 2;
}

// x^i y^j, lower orders first.
Terms terms(double x, double y) {
  Terms out;
  int at = 0;
  for (int order = 0; order <= kOrder; ++order)
    for (int j = 0; j <= order; ++j) out[at++] = std::pow(x, order - j) * std::pow(y, j);
  return out;
}

double median(std::vector<double> values) {
  if (values.empty()) return NAN;
  std::ranges::nth_element(values, values.begin() + std::ptrdiff_t(values.size() / 2));
  return values[values.size() / 2];
}

// Rows of pixels that a rectangle with a margin covers, as a mask.
void cover(std::vector<std::uint8_t>& mask, const Flat& flat, const Coupon& coupon, const Rectangle& r,
           double margin) {
  const auto column = [&](double x) {
    return std::clamp(int(std::floor(x / flat.pixel)), 0, flat.width - 1);
  };
  const auto row = [&](double y) {
    return std::clamp(int(std::floor((coupon.height - y) / flat.pixel)), 0, flat.height - 1);
  };
  for (int j = row(r.y + r.height + margin); j <= row(r.y - margin); ++j)
    std::fill(mask.begin() + std::ptrdiff_t(j) * flat.width + column(r.x - margin),
              mask.begin() + std::ptrdiff_t(j) * flat.width + column(r.x + r.width + margin) + 1,
              std::uint8_t(1));
}

struct Area {
  Terms terms;
  std::array<double, 3> light;  // [1] of the ground's median
  double weight = 1;
};

// Means over small squares that nothing covers.
std::vector<GroundSpot> small_areas(const Flat& flat, const Coupon& coupon) {
  std::vector<std::uint8_t> covered = flat.clipped;
  const double margin = std::max(0.25e-3, 3 * std::max(flat.blur_x, flat.blur_y));
  const std::vector<std::string> written = labels(coupon);
  for (size_t i = 0; i < coupon.slots.size(); ++i) {
    cover(covered, flat, coupon, coupon.slots[i].place, margin);
    if (coupon.letters > 0)
      cover(covered, flat, coupon, label_place(coupon, coupon.slots[i], written[i]), 0.1e-3);
  }
  for (int mark = 0; mark < 4; ++mark) cover(covered, flat, coupon, corner_mark(coupon, mark), margin);
  const int side = std::max(3, int(std::lround(0.15e-3 / flat.pixel)));
  const int step = std::max(side, int(std::sqrt(double(flat.width) * flat.height / 30'000)));
  std::vector<GroundSpot> out;
  for (int row = 0; row + side <= flat.height; row += step)
    for (int column = 0; column + side <= flat.width; column += step) {
      std::array<double, 3> sum{};
      bool free = true;
      for (int j = row; j < row + side && free; ++j)
        for (int i = column; i < column + side && free; ++i) {
          const size_t at = size_t(j) * size_t(flat.width) + size_t(i);
          free = covered[at] == 0;
          for (size_t c = 0; c < 3; ++c) sum[c] += double(flat.light[at][c]) / (side * side);
        }
      if (free)
        out.push_back(
            {(column + side / 2.0) * flat.pixel, coupon.height - (row + side / 2.0) * flat.pixel, sum});
    }
  return out;
}

// Shares of the ground's pixels that are black: noise is cut off there, and the mean is too light.
std::array<double, 3> black_share(const Flat& flat, const std::vector<GroundSpot>& ground,
                                  const Coupon& coupon) {
  std::array<double, 3> out{};
  for (const GroundSpot& s : ground) {
    const int column = std::min(flat.width - 1, int(s.x / flat.pixel));
    const int row = std::min(flat.height - 1, int((coupon.height - s.y) / flat.pixel));
    const auto& light = flat.light[size_t(row) * size_t(flat.width) + size_t(column)];
    for (size_t c = 0; c < 3; ++c) out[c] += (light[c] < 2e-4f ? 1.0 : 0.0) / double(ground.size());
  }
  return out;
}

// Light of the filled marks, of the ground's: the middle one of the three.
double ink(const Flat& flat, const Coupon& coupon, const std::array<double, 3>& ground) {
  std::vector<double> marks;
  for (int mark = 1; mark < 4; ++mark) {
    const Rectangle r = corner_mark(coupon, mark);
    double sum = 0, count = 0;
    for (int j = int((coupon.height - r.y - 0.75 * r.height) / flat.pixel);
         j < int((coupon.height - r.y - 0.25 * r.height) / flat.pixel); ++j)
      for (int i = int((r.x + 0.25 * r.width) / flat.pixel); i < int((r.x + 0.75 * r.width) / flat.pixel);
           ++i)
        for (size_t c = 0; c < 3; ++c) {
          if (!(ground[c] > 0) || flat.trust[c] == 0) continue;
          sum += double(flat.light[size_t(j) * size_t(flat.width) + size_t(i)][c]) / ground[c];
          count += 1;
        }
    marks.push_back(sum / std::max(count, 1.0));
  }
  return median(marks);
}

using Surface = Eigen::Matrix<double, kTerms, 3>;

Surface fitted(const std::vector<Area>& areas, int order) {
  const int n = terms_of(order);
  Eigen::MatrixXd normal = Eigen::MatrixXd::Identity(n, n) * 1e-9 * double(areas.size());
  Eigen::MatrixXd right = Eigen::MatrixXd::Zero(n, 3);
  for (const Area& a : areas) {
    const auto t = a.terms.head(n);
    normal += a.weight * t * t.transpose();
    for (int c = 0; c < 3; ++c) right.col(c) += a.weight * a.light[size_t(c)] * t;
  }
  Surface out = Surface::Zero();
  out.topRows(n) = normal.ldlt().solve(right);
  return out;
}

// Mean of the channels' strays from the surface, of it.
double stray(const Area& area, const Surface& surface) {
  const Eigen::RowVector3d light = area.terms.transpose() * surface;
  double sum = 0;
  for (int c = 0; c < 3; ++c) sum += (area.light[size_t(c)] / std::max(1e-6, light[c]) - 1) / 3;
  return sum;
}

// Light as it would fall everywhere; areas on the ink's side of the spread lose their weight.
Surface robust(std::vector<Area>& areas, bool ink_lighter) {
  Surface surface = Surface::Zero();
  for (size_t c = 0; c < 3; ++c) {
    std::vector<double> values;
    for (const Area& a : areas) values.push_back(a.light[c]);
    surface(0, int(c)) = median(values);
  }
  for (const int order : {1, 1, 1, 2, 2, 2, 3, 3, 3}) {
    std::vector<double> away;  // on the side that ink does not stray to
    std::vector<double> strays;
    for (const Area& a : areas) {
      strays.push_back(stray(a, surface));
      if ((strays.back() < 0) == ink_lighter) away.push_back(std::abs(strays.back()));
    }
    const double sigma = std::max(0.002, 1.5 * median(away));
    for (size_t i = 0; i < areas.size(); ++i) {
      const bool inkward = (strays[i] > 0) == ink_lighter;
      const double u = strays[i] / ((inkward ? 3.0 : 5.0) * sigma);
      areas[i].weight = std::abs(u) < 1 ? std::pow(1 - u * u, 2) : 0;
    }
    surface = fitted(areas, order);
  }
  return surface;
}

// Root mean square over tiles of the coupon of their median stray.
double tile_scatter(const std::vector<Area>& areas, const std::vector<GroundSpot>& spots,
                    const Coupon& coupon, const Surface& surface) {
  constexpr int kAcross = 12, kUp = 8;
  std::vector<std::vector<double>> tiles(kAcross * kUp);
  for (size_t i = 0; i < areas.size(); ++i) {
    if (!(areas[i].weight > 0)) continue;
    const int column = std::min(kAcross - 1, int(kAcross * spots[i].x / coupon.width));
    const int row = std::min(kUp - 1, int(kUp * spots[i].y / coupon.height));
    tiles[size_t(row * kAcross + column)].push_back(stray(areas[i], surface));
  }
  double sum = 0, count = 0;
  for (const auto& tile : tiles)
    if (tile.size() >= 5) sum += std::pow(median(tile), 2), count += 1;
  return count > 0 ? std::sqrt(sum / count) : 1;
}

void divide(Flat& flat, const Coupon& coupon, const Surface& surface, const std::array<double, 3>& ground) {
  // By rows: a polynomial of y at fixed x, and each channel by its own.
  for (int row = 0; row < flat.height; ++row) {
    const double y = 1 - 2 * (row + 0.5) * flat.pixel / coupon.height;
    std::array<std::array<double, kOrder + 1>, 3> powers{};  // of x
    int at = 0;
    for (int order = 0; order <= kOrder; ++order)
      for (int j = 0; j <= order; ++j, ++at)
        for (size_t c = 0; c < 3; ++c) powers[c][size_t(order - j)] += surface(at, int(c)) * std::pow(y, j);
    for (int column = 0; column < flat.width; ++column) {
      const double x = 2 * (column + 0.5) * flat.pixel / coupon.width - 1;
      auto& light = flat.light[size_t(row) * size_t(flat.width) + size_t(column)];
      for (size_t c = 0; c < 3; ++c) {
        const auto& p = powers[c];
        const double fall = p[0] + x * (p[1] + x * (p[2] + x * p[3]));
        light[c] = float(double(light[c]) / (std::max(0.05, fall) * std::max(ground[c], 1e-6)));
      }
    }
  }
}

}  // namespace

void even_light(Flat& flat, const Coupon& coupon) {
  flat.ground = small_areas(flat, coupon);
  if (flat.ground.size() < 60)
    throw quantity::JobError(
        fmt::format("hardly any ground is seen between slots ({} places; expected 60 or more), whether by "
                    "blur, glare or over-exposure. "
                    "Take the picture sharper and darker",
                    flat.ground.size()));
  std::array<double, 3> ground;
  const std::array<double, 3> black = black_share(flat, flat.ground, coupon);
  for (size_t c = 0; c < 3; ++c) {
    std::vector<double> values;
    for (const GroundSpot& s : flat.ground) values.push_back(s.light[c]);
    ground[c] = median(values);
    flat.trust[c] = ground[c] > 1.2e-3 && black[c] < 0.08 ? 1 : 0;  // four levels of 255
    const double level = appearance::srgb_from_linear(ground[c]);
    flat.gain_error[c] = appearance::linear_from_srgb(level + 0.4 / 255) / std::max(ground[c], 1e-6) - 1;
  }
  if (flat.trust[0] + flat.trust[1] + flat.trust[2] == 0)
    throw quantity::JobError(
        "the ground is black in the picture, or drowns in its noise (expected to see light from it). Take it "
        "brighter");
  flat.ink_lighter = ink(flat, coupon, ground) > 1;
  std::vector<Area> areas;
  for (const GroundSpot& s : flat.ground) {
    Area a{terms(2 * s.x / coupon.width - 1, 2 * s.y / coupon.height - 1), {}};
    for (size_t c = 0; c < 3; ++c) a.light[c] = s.light[c] / std::max(ground[c], 1e-6);
    areas.push_back(a);
  }
  const Surface surface = robust(areas, flat.ink_lighter);
  flat.scatter = tile_scatter(areas, flat.ground, coupon, surface);
  if (!(flat.scatter < kMostUneven))
    throw quantity::JobError(
        fmt::format("the ground between slots is too uneven, by {:.0f} % or more of its light (expected "
                    "less than {:.0f} % beside what a smooth fall of light explains). Take the picture "
                    "without reflections and shadows",
                    100 * std::min(1.0, flat.scatter), 100 * kMostUneven));
  divide(flat, coupon, surface, ground);
  flat.contrast = std::abs(ink(flat, coupon, flat.trust) - 1);
  for (size_t i = 0; i < areas.size(); ++i) {
    const Eigen::RowVector3d light = areas[i].terms.transpose() * surface;
    for (size_t c = 0; c < 3; ++c)
      flat.ground[i].light[c] = areas[i].light[c] / std::max(0.05, light[int(c)]);
  }
}

}  // namespace circumfluence::calibration
