#include "workpiece/development.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "quantity/error.h"
#include "workpiece/profile.h"

namespace circumfluence::workpiece {
namespace {

double sinc(double t) {
  return std::abs(t) < 1e-4 ? 1 - t * t / 6 : std::sin(t) / t;
}

}  // namespace

Cone::Cone(double radius, double slope)
    : radius_(radius), sine_(slope / std::hypot(1, slope)), cosine_(1 / std::hypot(1, slope)) {
  if (!(radius > 0) || !std::isfinite(radius) || !std::isfinite(slope))
    throw quantity::ValidityError(fmt::format(
        "cone: radius = {} m, slope = {} (expected a positive radius and a finite slope)", radius, slope));
}

double Cone::apex() const {
  return sine_ == 0 ? std::numeric_limits<double>::infinity() : -radius_ / sine_;
}

FlatPoint Cone::flat(ConePoint point) const {
  const double r = radius(point.slant), phi = point.azimuth;
  const double half = sinc(sine_ * phi / 2);
  return {point.slant - sine_ / 2 * r * phi * phi * half * half, r * phi * sinc(sine_ * phi)};
}

ConePoint Cone::lay(FlatPoint point) const {
  const double k = sine_ / radius_;
  const double ahead = 1 + k * point.along, aside = k * point.around;
  const double slant =
      (point.along * (2 + k * point.along) + aside * point.around) / (1 + std::hypot(ahead, aside));
  // atan2 of two small numbers over a small one: near a cylinder its series, arc over radius.
  if (std::abs(aside) < 1e-5 * ahead) {
    const double t = aside / ahead;
    return {slant, point.around / (radius_ * ahead) * (1 - t * t / 3)};
  }
  return {slant, std::atan2(aside, ahead) / sine_};
}

Slant::Slant(const Part& part) {
  const Profile profile(part);
  std::vector<double> starts = {0.0};
  if (part.shape == Shape::stepped || part.shape == Shape::table)
    for (const auto& [axial, diameter] : part.profile)
      if (axial > 0 && axial < part.length) breaks_.push_back(axial);
  starts.insert(starts.end(), breaks_.begin(), breaks_.end());
  pieces_.push_back({std::numeric_limits<double>::lowest(), 0, 1});
  double length = 0;
  for (size_t i = 0; i < starts.size(); ++i) {
    const double to = i + 1 < starts.size() ? starts[i + 1] : part.length;
    const double stretch = std::hypot(1, profile.slope(starts[i]));
    pieces_.push_back({starts[i], length, stretch});
    length += (to - starts[i]) * stretch;
  }
  pieces_.push_back({part.length, length, 1});
}

double Slant::length(double axial) const {
  const auto after = std::upper_bound(pieces_.begin(), pieces_.end(), axial,
                                      [](double u, const Piece& piece) { return u < piece.from; });
  if (after == pieces_.begin() + 1) return axial;  // before the part
  const Piece& piece = *(after - 1);
  return piece.length + (axial - piece.from) * piece.stretch;
}

double Slant::axial(double length) const {
  if (length < 0) return length;
  const auto after = std::upper_bound(pieces_.begin() + 1, pieces_.end(), length,
                                      [](double l, const Piece& piece) { return l < piece.length; });
  const Piece& piece = *(after - 1);
  return piece.from + (length - piece.length) / piece.stretch;
}

}  // namespace circumfluence::workpiece
