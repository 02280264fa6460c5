// The corner marks' sides to a fraction of a pixel, and through them how the coupon lies.
//
// Across each side run short profiles; where the step from inside to outside lies in each follows from its
// sum, which blur does not move and noise hardly. A straight line goes through them, outliers counting less;
// corners are where lines meet, and the coupon's sighting is fitted to the sixteen corners.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "calibration/photo.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

constexpr int kPlaces = 24, kSamples = 33;  // along a side, across it
constexpr double kReach = 0.155;            // [1] of a mark's side, each way: short of the blank middle

double linear(std::uint8_t value) {
  static const std::array<double, 256> table = [] {
    std::array<double, 256> out{};
    for (size_t i = 0; i < 256; ++i) out[i] = appearance::linear_from_srgb(double(i) / 255);
    return out;
  }();
  return table[value];
}

// Luminance, which JPEG keeps sharper than colour, between pixels; NaN outside.
double light(const Photo& photo, Spot at) {
  const double x = std::floor(at[0]), y = std::floor(at[1]);
  if (!(x >= 0 && y >= 0 && x + 1 < photo.width && y + 1 < photo.height)) return NAN;
  const double a = at[0] - x, b = at[1] - y;
  const auto sum = [&](int dx, int dy) {
    const auto& p = photo.pixels[size_t(int(y) + dy) * size_t(photo.width) + size_t(int(x) + dx)];
    return 0.21 * linear(p[0]) + 0.72 * linear(p[1]) + 0.07 * linear(p[2]);
  };
  return (1 - b) * ((1 - a) * sum(0, 0) + a * sum(1, 0)) + b * ((1 - a) * sum(0, 1) + a * sum(1, 1));
}

double median(std::vector<double> values) {
  std::ranges::nth_element(values, values.begin() + std::ptrdiff_t(values.size() / 2));
  return values[values.size() / 2];
}

struct Line {
  double x, y, dx, dy;
};

// The side from corner `a` to `b` (pixels), `inward` its reach toward the mark's middle.
std::optional<Line> side_line(const Photo& photo, Spot a, Spot b, Spot inward) {
  std::array<std::array<double, kSamples>, kPlaces> profiles;
  std::vector<double> in, out;
  for (int i = 0; i < kPlaces; ++i) {
    const double along = 0.12 + 0.76 * (i + 0.5) / kPlaces;
    for (int j = 0; j < kSamples; ++j) {
      const double across = 2.0 * j / (kSamples - 1) - 1;  // outside first
      const Spot at = {a[0] + along * (b[0] - a[0]) + across * inward[0],
                       a[1] + along * (b[1] - a[1]) + across * inward[1]};
      const double value = light(photo, at);
      if (std::isnan(value)) return {};
      profiles[size_t(i)][size_t(j)] = value;
      if (j < kSamples / 6) out.push_back(value);
      if (j >= kSamples - kSamples / 6) in.push_back(value);
    }
  }
  const double outside = median(out), inside = median(in);
  if (!(std::abs(inside - outside) > 1e-4)) return {};
  std::vector<cv::Point2f> points;
  for (int i = 0; i < kPlaces; ++i) {
    double sum = 0;
    for (const double value : profiles[size_t(i)]) sum += (value - outside) / (inside - outside) / kSamples;
    const double across = std::clamp(1 - 2 * sum, -1.0, 1.0), along = 0.12 + 0.76 * (i + 0.5) / kPlaces;
    points.push_back({float(a[0] + along * (b[0] - a[0]) + across * inward[0]),
                      float(a[1] + along * (b[1] - a[1]) + across * inward[1])});
  }
  cv::Vec4f line;
  cv::fitLine(points, line, cv::DIST_HUBER, 0, 1e-3, 1e-3);
  return Line{line[2], line[3], line[0], line[1]};
}

std::optional<Spot> meet(const Line& a, const Line& b) {
  const double cross = a.dx * b.dy - a.dy * b.dx;
  if (std::abs(cross) < 0.1) return {};
  const double t = ((b.x - a.x) * b.dy - (b.y - a.y) * b.dx) / cross;
  return Spot{a.x + t * a.dx, a.y + t * a.dy};
}

std::optional<std::array<Spot, 4>> corners_of(const Photo& photo, const Coupon& coupon,
                                              const Sighting& sighting, int mark) {
  std::array<Spot, 4> corner;
  for (int i = 0; i < 4; ++i) {
    const Spot place = mark_corner(coupon, mark, i);
    corner[size_t(i)] = sighting.pixel(place[0], place[1]);
  }
  std::array<Line, 4> lines;
  for (size_t i = 0; i < 4; ++i) {  // from corner i to i + 1
    const Spot a = corner[i], b = corner[(i + 1) % 4], c = corner[(i + 2) % 4], d = corner[(i + 3) % 4];
    const Spot inward = {kReach * (c[0] + d[0] - a[0] - b[0]) / 2, kReach * (c[1] + d[1] - a[1] - b[1]) / 2};
    const auto line = side_line(photo, a, b, inward);
    if (!line) return {};
    lines[i] = *line;
  }
  std::array<Spot, 4> out;
  for (size_t i = 0; i < 4; ++i) {
    const auto at = meet(lines[(i + 3) % 4], lines[i]);
    if (!at) return {};
    out[i] = *at;
  }
  return out;
}

// How far off each corner is [px].
std::vector<double> strays(const std::vector<Match>& matches, const Sighting& sighting) {
  std::vector<double> out;
  for (const Match& m : matches) {
    const Spot p = sighting.pixel(m.place[0], m.place[1]);
    out.push_back(std::hypot(p[0] - m.pixel[0], p[1] - m.pixel[1]));
  }
  return out;
}

// Corners that reflections or dirt have moved lose their weight.
Sighting fit_robustly(std::vector<Match>& matches, Sighting sighting) {
  const std::vector<Match> given = matches;
  for (int round = 0; round < 6; ++round) {
    sighting = fit_sighting(matches, sighting);
    const std::vector<double> stray = strays(matches, sighting);
    const double usual = std::max(0.3, 2 * median(stray));
    for (size_t i = 0; i < matches.size(); ++i)
      matches[i].weight = given[i].weight / std::pow(1 + std::pow(stray[i] / usual, 2), 2);
  }
  return sighting;
}

}  // namespace

Sighting refine(const Photo& photo, const Coupon& coupon, const Sighting& rough) {
  Sighting sighting = rough;
  double misfit = 0, side = 0;
  for (int round = 0; round < 4; ++round) {
    std::vector<Match> matches;
    for (int mark = 0; mark < 4; ++mark) {
      const auto corners = corners_of(photo, coupon, sighting, mark);
      if (!corners)
        throw quantity::JobError(photo.name +
                                 ": a corner mark is cut off or has no edges (expected all four whole). Take "
                                 "the picture with some ground around the coupon");
      for (int i = 0; i < 4; ++i)
        matches.push_back({mark_corner(coupon, mark, i), (*corners)[size_t(i)], mark == 0 ? 0.5 : 1.0});
      side = std::hypot((*corners)[0][0] - (*corners)[2][0], (*corners)[0][1] - (*corners)[2][1]) /
             std::sqrt(2.0);
    }
    sighting = fit_robustly(matches, sighting);
    std::vector<double> stray = strays(matches, sighting);
    std::ranges::sort(stray);
    misfit = stray[11];  // three in four are no more off
  }
  if (!(misfit < 0.7 + 0.025 * side))
    throw quantity::JobError(
        fmt::format("{}: the corner marks do not lie as on this coupon ({:.1f} pixels off; expected less "
                    "than {:.1f}). Is "
                    "it another coupon, mirrored, bent, or a strip whose radius is not given?",
                    photo.name, misfit, 0.7 + 0.025 * side));
  return sighting;
}

}  // namespace circumfluence::calibration
