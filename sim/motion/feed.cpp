#include "motion/feed.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

using quantity::format;
using quantity::JobError;

constexpr int kSteps = 512;       // along a side of the art
constexpr double kBeside = 1e-9;  // [m] what lies on an edge lies on both its sides

double size(const char* key, double value) {
  if (!(value > 0) || !std::isfinite(value))
    throw JobError(
        fmt::format("artwork.{} = {} (a size; expected more than 0 mm)", key, format(value, "mm")));
  return value;
}

}  // namespace

Feed::Feed(const workpiece::Part& part, const Mount& mount, double reference_radius, const Lie& lie)
    : profile_(part),
      slant_(part),
      cone_(profile_.radius(lie.axial), profile_.slope(lie.axial)),
      hold_(mount.hold),
      lie_(lie),
      reference_radius_(reference_radius),
      azimuth_(lie.around / reference_radius),
      origin_(slant_.length(lie.axial)),
      extent_{quantity::kInfinity, -quantity::kInfinity, quantity::kInfinity, -quantity::kInfinity} {
  const double along = size("size_axial", lie.size_along) / 2,
               across = size("size_around", lie.size_around) / 2;
  check_ends();
  std::vector<double> stations;
  for (int i = 0; i <= kSteps; ++i) stations.push_back(along * (2.0 * i / kSteps - 1));
  for (const double kink : slant_.breaks())
    for (const double beside : {-kBeside, kBeside})
      stations.push_back(std::clamp(slant_.length(kink) - origin_ + beside, -along, along));
  for (const double x : stations)
    for (const double y : {-across, 0.0, across}) add({x, y});
  for (int i = 0; i <= kSteps; ++i)
    for (const double x : {-along, along}) add({x, across * (2.0 * i / kSteps - 1)});
  check_one_slope();
}

// Before anything is laid: whether the part is long enough, and has not come to a point.
void Feed::check_ends() const {
  const double half = lie_.size_along / 2;
  if (lie_.truth == Truth::developed && std::abs(cone_.apex()) <= half)
    throw JobError(
        fmt::format("artwork.size_axial = {} (the part tapers to a point within the art, {} from its "
                    "middle). Make the art smaller "
                    "or move it toward the wide end",
                    format(lie_.size_along, "mm"), format(std::abs(cone_.apex()), "mm", 4)));
  if (lie_.truth == Truth::developed) return;  // add() sees where its corners come to lie
  const double from = origin_ - half, to = origin_ + half, end = slant_.length(profile_.length());
  if (from < -kBeside || to > end + kBeside)
    throw JobError(fmt::format(
        "artwork.axial = {} (the art, {} along the surface, spans {} to {} of it; the part has 0 mm to {})",
        format(lie_.axial, "mm"), format(lie_.size_along, "mm"), format(from, "mm"), format(to, "mm"),
        format(end, "mm")));
}

// A label lies on one cone only.
void Feed::check_one_slope() const {
  if (lie_.truth == Truth::level) return;
  for (const double kink : slant_.breaks()) {
    if (kink <= extent_.axial_from + kBeside || kink >= extent_.axial_to - kBeside) continue;
    const double step = profile_.radius(kink) - profile_.radius(kink - kBeside);
    if (std::abs(profile_.slope(kink) - cone_.sine() / cone_.cosine()) > 1e-9 || std::abs(step) > 1e-7)
      throw JobError(fmt::format(
          "workpiece.profile row at {} lies within the art, which spans {} to {} (a flat label lies without "
          "stretching on one cone only). Lay it level, or keep it within one piece",
          format(kink, "mm"), format(extent_.axial_from, "mm"), format(extent_.axial_to, "mm")));
  }
}

Feed::Landing Feed::landing(ArtPoint point) const {
  if (lie_.truth == Truth::developed) {
    const workpiece::ConePoint on_part = cone_.lay({point.along, point.around});
    return {lie_.axial + on_part.slant * cone_.cosine(), azimuth_ + on_part.azimuth};
  }
  const double axial = slant_.axial(origin_ + point.along);
  return {axial, azimuth_ + point.around / profile_.radius(axial)};
}

FedPoint Feed::under_head(Landing at) const {
  if (hold_ == Hold::turning) return {at.axial, at.azimuth * reference_radius_};
  return {at.axial, profile_.radius(at.axial) * std::sin(at.azimuth)};
}

std::optional<ArtPoint> Feed::meant(FedPoint point) const {
  if (point.axial < -kBeside || point.axial > profile_.length() + kBeside) return std::nullopt;
  const double radius = profile_.radius(point.axial);
  const bool turning = hold_ == Hold::turning;
  if (!turning && !(std::abs(point.around) < radius)) return std::nullopt;
  const double azimuth =
      (turning ? point.around / reference_radius_ : std::asin(point.around / radius)) - azimuth_;
  if (lie_.truth == Truth::level) return ArtPoint{slant_.length(point.axial) - origin_, radius * azimuth};
  const auto flat = cone_.flat({(point.axial - lie_.axial) / cone_.cosine(), azimuth});
  return ArtPoint{flat.along, flat.around};
}

void Feed::check_landing(Landing at) const {
  const double length = profile_.length(), diameter = 2 * profile_.radius(at.axial);
  if (at.axial < -kBeside || at.axial > length + kBeside)
    throw JobError(
        fmt::format("artwork.axial = {} (laid on the taper the art reaches {}, beyond the part: 0 mm to {})",
                    format(lie_.axial, "mm"), format(at.axial, "mm"), format(length, "mm")));
  const std::string where = fmt::format("at {} along, where the diameter is {}", format(at.axial, "mm", 5),
                                        format(diameter, "mm", 5));
  if (hold_ == Hold::turning && std::abs(at.azimuth - azimuth_) > quantity::kPi * (1 + 1e-9))
    throw JobError(
        fmt::format("artwork.size_around = {} (more than one turn {}: the art would overlap itself)",
                    format(lie_.size_around, "mm"), where));
  if (hold_ == Hold::standing && std::abs(at.azimuth) >= quantity::kPi / 2)
    throw JobError(
        fmt::format("artwork.size_around = {} (reaches past the flank of a standing part {}; the head sees "
                    "{} of arc from the top)",
                    format(lie_.size_around, "mm"), where, format(diameter * quantity::kPi / 4, "mm", 5)));
}

// Widens the extent by a point on the rim of the art, if it may lie there.
void Feed::add(ArtPoint point) {
  const Landing spot = landing(point);
  check_landing(spot);
  const FedPoint at = under_head(spot);
  farthest_ = std::max(farthest_, std::abs(spot.azimuth));
  extent_.axial_from = std::min(extent_.axial_from, at.axial);
  extent_.axial_to = std::max(extent_.axial_to, at.axial);
  extent_.around_from = std::min(extent_.around_from, at.around);
  extent_.around_to = std::max(extent_.around_to, at.around);
}

}  // namespace circumfluence::motion
