#include "workpiece/profile.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::workpiece {

Profile::Profile(const Part& part) : length_(part.length) {
  check(part);
  switch (part.shape) {
    case Shape::straight:
      pieces_ = {{0.0, part.diameter / 2, 0.0}};
      break;
    case Shape::tapered:
      pieces_ = {{0.0, part.diameter / 2, (part.end_diameter - part.diameter) / 2 / part.length}};
      break;
    case Shape::stepped:
      for (const auto& [axial, diameter] : part.profile) pieces_.push_back({axial, diameter / 2, 0.0});
      break;
    case Shape::table:
      for (size_t i = 0; i + 1 < part.profile.size(); ++i) {
        const auto [from, diameter] = part.profile[i];
        const auto [to, next] = part.profile[i + 1];
        pieces_.push_back({from, diameter / 2, (next - diameter) / 2 / (to - from)});
      }
  }
}

const Profile::Piece& Profile::piece(double axial) const {
  const auto after = std::upper_bound(pieces_.begin(), pieces_.end(), axial,
                                      [](double u, const Piece& p) { return u < p.from; });
  return after == pieces_.begin() ? pieces_.front() : *(after - 1);
}

double Profile::radius(double axial) const {
  const double inside = std::clamp(axial, 0.0, length_);
  const Piece& p = piece(inside);
  return p.radius + p.slope * (inside - p.from);
}

double Profile::slope(double axial) const {
  return axial < 0 || axial > length_ ? 0.0 : piece(axial).slope;
}

double Profile::greatest_radius() const {
  double greatest = radius(length_);
  for (const Piece& p : pieces_)
    if (p.from <= length_) greatest = std::max(greatest, p.radius);
  return greatest;
}

bool Profile::constant(double from, double to) const {
  const Piece* const first = &piece(std::clamp(from, 0.0, length_));
  const Piece* const last = &piece(std::clamp(to, 0.0, length_));
  for (const Piece* p = first; p <= last; ++p)
    if (p->slope != 0.0 || p->radius != first->radius) return false;
  return true;
}

LocalGeometry Profile::at(double axial, double azimuth) const {
  const double slope = this->slope(axial);
  const double around = std::sin(azimuth) * std::sin(azimuth);
  const double along = slope * slope;
  return {radius(axial) * std::cos(azimuth), std::cos(azimuth) / std::sqrt(1 + along),
          along > 0 ? along / (along + around) : 0.0};
}

double sagitta(double radius, double lateral) {
  if (!(std::abs(lateral) <= radius))
    throw quantity::ValidityError(
        fmt::format("sagitta: lateral = {} (beyond the part; expected at most the radius, {})",
                    quantity::format(lateral, "mm"), quantity::format(radius, "mm")));
  return lateral * lateral / (radius + std::sqrt(radius * radius - lateral * lateral));
}

}  // namespace circumfluence::workpiece
