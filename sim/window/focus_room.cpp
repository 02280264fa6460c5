// What moves the surface under the beam, against the room in height that a setting leaves.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/focus.h"

namespace circumfluence::window {
namespace {

using quantity::format;

constexpr double kSlack = 1e-12;  // [m] of rounding

struct Radii {
  double least, greatest;  // [m]
};

// Over the art; both sides of kinks and steps.
Radii radii_of(const mark::Scene& scene) {
  const double from = scene.art.axial_from, to = scene.art.axial_to, beside = 1e-9 * (to - from);
  std::vector<double> places{from, to - beside};
  for (const auto& [axial, diameter] : scene.job.workpiece.profile)
    for (const double place : {axial - beside, axial + beside})
      if (place > from && place < to) places.push_back(place);
  Radii out{quantity::kInfinity, 0};
  for (const double place : places) {
    const double radius = scene.profile.radius(place);
    out = {std::min(out.least, radius), std::max(out.greatest, radius)};
  }
  return out;
}

// How far the surface may be moved beside its own form.
struct Motion {
  double runout = 0, ovality = 0;  // [m]
};

// [m] of the lowest and the highest place of the art under the beam, above where the focus was set.
class Surface {
 public:
  explicit Surface(const mark::Scene& scene)
      : scene_(scene),
        radii_(radii_of(scene)),
        focus_(scene.light.focus_height() - scene.job.scan.focus_offset),
        turning_(scene.job.mount.hold == motion::Hold::turning) {}

  double lowest(const Motion& motion) const {
    return turning_ ? over(radii_.least - motion.runout - motion.ovality / 4, scene_.job.mount.beam_offset)
                    : over(radii_.least - motion.ovality / 4, lateral(motion, true)) + stand(motion).lift;
  }
  double highest(const Motion& motion) const {
    return turning_ ? over(radii_.greatest + motion.runout + motion.ovality / 4, scene_.job.mount.beam_offset)
                    : over(radii_.greatest + motion.ovality / 4, lateral(motion, false)) + stand(motion).lift;
  }

 private:
  double over(double radius, double lateral) const {
    if (!(radius > std::abs(lateral)))
      throw quantity::ValidityError(
          fmt::format("focus: the beam misses the part ({} beside an axis with {} of radius left; expected "
                      "less). Look at "
                      "run-out and ovality",
                      format(std::abs(lateral), "mm", 4), format(std::max(radius, 0.0), "mm", 4)));
    return std::sqrt((radius - lateral) * (radius + lateral)) - focus_;
  }
  // Of a part that does not turn.
  motion::Pose stand(const Motion& motion) const {
    motion::Mount mount = scene_.job.mount;
    mount.runout = motion.runout;
    return motion::pose(mount, scene_.reference_radius, 0);
  }
  // [m] from the axis of a standing part, of what lies furthest or nearest.
  double lateral(const Motion& motion, bool furthest) const {
    const motion::Pose pose = stand(motion);
    const double from = scene_.art.around_from + pose.beam - pose.aside,
                 to = scene_.art.around_to + pose.beam - pose.aside;
    if (furthest) return std::max(std::abs(from), std::abs(to));
    return from <= 0 && to >= 0 ? 0 : std::min(std::abs(from), std::abs(to));
  }

  const mark::Scene& scene_;
  Radii radii_;
  double focus_;  // [m] above the turning axis
  bool turning_;
};

Excursion between(double lowest, double highest) {
  const auto beyond_rounding = [](double length) { return length > kSlack ? length : 0.0; };
  return {beyond_rounding(-lowest), beyond_rounding(highest)};
}

void check_move(const char* name, double value) {
  if (!(value >= 0) || !std::isfinite(value))
    throw quantity::ValidityError(
        fmt::format("focus.{} = {} (expected a length of 0 or more)", name, format(value, "mm", 4)));
}

double share(double excursion, double room) {
  return excursion <= 0 ? 0 : room > 0 ? excursion / room : quantity::kInfinity;
}

constexpr double kSameHeight = 1e-7;  // [m]

using FaultAt = std::function<HeightFault(double height)>;

HeightEnd outward(double good, const std::vector<double>& steps, const FaultAt& fault_at) {
  for (double bad : steps) {
    HeightFault fault = fault_at(bad);
    if (fault == HeightFault::range) {
      good = bad;
      continue;
    }
    while (std::abs(bad - good) > kSameHeight) {
      const double middle = (good + bad) / 2;
      const HeightFault found = fault_at(middle);
      if (found == HeightFault::range)
        good = middle;
      else
        bad = middle, fault = found;
    }
    return {good, fault};
  }
  return {good, HeightFault::range};
}

}  // namespace

std::vector<double> heights_about(const mark::Scene& scene, int count) {
  if (count < 2) throw quantity::ValidityError(fmt::format("focus: {} heights (expected 2 or more)", count));
  const auto [axial, around] = beam::caustic(scene.job.laser);
  const double lesser = std::min(axial.rayleigh, around.rayleigh);
  const double most = std::max({std::abs(axial.height) + 2 * lesser, std::abs(around.height) + 2 * lesser,
                                std::abs(scene.job.scan.focus_offset) + lesser / 2});
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back(most * (2.0 * i - (count - 1)) / (count - 1));
  return out;
}

Excursions excursions(const mark::Scene& scene, double ovality, double sag) {
  check_move("ovality", ovality);
  check_move("sag", sag);
  const Surface surface(scene);
  const double runout = scene.job.mount.runout;
  const double lowest = surface.lowest({}), highest = surface.highest({});
  const auto alone = [&](const Motion& motion) {
    return between(surface.lowest(motion) - lowest, surface.highest(motion) - highest);
  };
  const Motion all{runout, ovality};
  return {.form = between(lowest, highest),
          .runout = alone({.runout = runout}),
          .ovality = alone({.ovality = ovality}),
          .sag = {sag, sag},
          .total = between(surface.lowest(all) - sag, surface.highest(all) + sag)};
}

HeightRoom room_in_height(double own, const std::vector<double>& heights, const FaultAt& fault) {
  if (const HeightFault found = fault(own); found != HeightFault::range)
    return {own, false, {own, found}, {own, found}};
  std::vector<double> above, below;
  for (const double height : heights)
    if (height != own) (height > own ? above : below).push_back(height);
  std::sort(above.begin(), above.end());
  std::sort(below.begin(), below.end(), std::greater<>());
  return {own, true, outward(own, below, fault), outward(own, above, fault)};
}

double used(const HeightRoom& room, const Excursion& excursion) {
  if (!room.holds) return quantity::kInfinity;
  return std::max(share(excursion.down, room.down()), share(excursion.up, room.up()));
}

}  // namespace circumfluence::window
