// How a coupon lies in a picture: a homography, fitted to corners.
#include <Eigen/Dense>
#include <cmath>

#include "calibration/photo.h"

namespace circumfluence::calibration {
namespace {

// Scaled and shifted to about [-1, 1], which keeps the equations well-conditioned.
struct Scaling {
  double x = 0, y = 0, unit = 1;

  explicit Scaling(const std::vector<Spot>& spots) {
    for (const Spot& s : spots) x += s[0] / double(spots.size()), y += s[1] / double(spots.size());
    double sum = 0;
    for (const Spot& s : spots) sum += std::hypot(s[0] - x, s[1] - y) / double(spots.size());
    unit = sum > 0 ? sum : 1;
  }
  Spot operator()(const Spot& s) const { return {(s[0] - x) / unit, (s[1] - y) / unit}; }
  Eigen::Matrix3d matrix() const {
    Eigen::Matrix3d m;
    m << 1 / unit, 0, -x / unit, 0, 1 / unit, -y / unit, 0, 0, 1;
    return m;
  }
};

using Rows = Eigen::Matrix<double, 8, 1>;

// h of u w = h0 x + h1 y + h2, v w = h3 x + h4 y + h5, w = h6 x + h7 y + 1, by least squares of u and v: each
// round divides its equations by the w of the last.
Rows solve(const std::vector<Spot>& from, const std::vector<Spot>& to, const std::vector<Match>& matches) {
  Rows h = Rows::Zero();
  for (int round = 0; round < 4; ++round) {
    Eigen::Matrix<double, 8, 8> normal = Eigen::Matrix<double, 8, 8>::Identity() * 1e-12;
    Rows right = Rows::Zero();
    for (size_t i = 0; i < from.size(); ++i) {
      const double x = from[i][0], y = from[i][1], u = to[i][0], v = to[i][1];
      const double w = round == 0 ? 1 : std::max(0.05, h[6] * x + h[7] * y + 1);
      const double weight = matches[i].weight / (w * w);
      Rows a, b;
      a << x, y, 1, 0, 0, 0, -u * x, -u * y;
      b << 0, 0, 0, x, y, 1, -v * x, -v * y;
      normal += weight * (a * a.transpose() + b * b.transpose());
      right += weight * (u * a + v * b);
    }
    h = normal.ldlt().solve(right);
  }
  return h;
}

}  // namespace

double Sighting::above(double y) const {
  return std::isnan(radius) ? y : middle + radius * std::sin((y - middle) / radius);
}

Spot Sighting::pixel(double x, double y) const {
  const auto& h = pixel_from_plane;
  const double up = above(y);
  const double w = h[6] * x + h[7] * up + h[8];
  return {(h[0] * x + h[1] * up + h[2]) / w, (h[3] * x + h[4] * up + h[5]) / w};
}

Sighting fit_sighting(const std::vector<Match>& matches, Sighting sighting) {
  std::vector<Spot> from, to;
  for (const Match& m : matches) {
    from.push_back({m.place[0], sighting.above(m.place[1])});
    to.push_back(m.pixel);
  }
  const Scaling plane(from), picture(to);
  for (Spot& s : from) s = plane(s);
  for (Spot& s : to) s = picture(s);
  const Rows h = solve(from, to, matches);
  Eigen::Matrix3d small;
  small << h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1;
  const Eigen::Matrix3d all = picture.matrix().inverse() * small * plane.matrix();
  for (int i = 0; i < 9; ++i) sighting.pixel_from_plane[size_t(i)] = all(i / 3, i % 3);
  return sighting;
}

Spot mark_corner(const Coupon& coupon, int mark, int corner) {
  const Rectangle r = corner_mark(coupon, mark);
  return {r.x + (corner == 1 || corner == 2 ? r.width : 0), r.y + (corner >= 2 ? r.height : 0)};
}

}  // namespace circumfluence::calibration
