// Where a coupon lies for a job, and whether the job can burn it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calibration/coupon_drawing.h"
#include "mark/scene.h"
#include "motion/rotary.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::format;
using quantity::JobError;

constexpr double kMost = 1 + 1e-9;  // [1] rounding

artwork::Extent art_of(job::Job job) {
  job.path = {};
  const mark::Scene scene = mark::prepare(job);
  return artwork::extent(mark::fed(scene), scene.image);
}

void check_on_part(const Coupon& coupon, const job::Job& job, const artwork::Extent& at, double radius) {
  if (at.axial_from < -1e-9 || at.axial_from + coupon.width > job.workpiece.length + 1e-9)
    throw JobError(fmt::format("coupon from {} to {} along the part (expected on it, from 0 mm to {})",
                               format(at.axial_from, "mm"), format(at.axial_from + coupon.width, "mm"),
                               format(job.workpiece.length, "mm")));
  const bool turning = job.mount.hold == motion::Hold::turning;
  const double most = turning ? 2 * quantity::kPi * radius : radius;
  const double reach =
      turning ? coupon.height : std::max(std::abs(at.around_from), std::abs(at.around_from + coupon.height));
  if (reach > most * kMost)
    throw JobError(fmt::format("coupon {} around the part (expected at most {}{})", format(reach, "mm"),
                               format(most, "mm"), turning ? ", one turn" : " from its top"));
}

void check_patch(const Patch& patch, const std::string& whose, const job::Job& job) {
  if (patch.power > job.laser.rated_power * kMost)
    throw JobError(fmt::format("power of {} = {} (more than the laser gives; expected at most laser.rated_power, {})",
                               whose, format(patch.power, "W"), format(job.laser.rated_power, "W")));
  const bool axial = patch.direction == motion::Direction::axial;
  const double most = axial ? job.machine.axial_speed : job.machine.around_speed;
  if (patch.speed > most * kMost)
    throw JobError(fmt::format("speed of {} = {} (more than the axis can do; expected at most machine.{}_speed, {})",
                               whose, format(patch.speed, "mm/min"), axial ? "axial" : "around",
                               format(most, "mm/min")));
}

}  // namespace

Lie lie_of(const Coupon& coupon, const job::Job& job) {
  if (coupon.ground == Ground::flat) return {};
  artwork::Extent at{};
  const bool zeroed = !std::isnan(job.path.axial);
  if (!job.artwork.file.empty())
    at = art_of(job);
  else if (zeroed)
    at.axial_from = job.path.axial, at.around_from = job.path.around;
  else
    throw JobError(
        "path.axial is missing (where the coupon begins, since the job has no art; expected a place on the part)");
  const bool known = !std::isnan(job.mount.focus_at);
  const double focus_at = known                      ? job.mount.focus_at
                          : job.artwork.file.empty() ? at.axial_from + coupon.width / 2
                                                     : (at.axial_from + at.axial_to) / 2;
  const double radius = motion::driven_radius(job.rotary, job.mount, workpiece::Profile(job.workpiece), focus_at);
  check_on_part(coupon, job, at, radius);
  const int against = static_cast<int>(motion::against(job.mount));
  Lie lie;
  lie.along = job.path.along == motion::AxisWord::y ? 'Y' : 'X';
  lie.around = job.path.turn == motion::AxisWord::a ? 'A' : job.path.turn == motion::AxisWord::x ? 'X' : 'Y';
  if (lie.along == lie.around) throw JobError("path.turn (the same word as path.along; expected another)");
  lie.axial = zeroed ? at.axial_from - job.path.axial : 0;
  lie.arc = zeroed ? at.around_from - job.path.around : 0;
  if (lie.degrees()) lie.unit = radius * quantity::kPi / 180;
  if (against & static_cast<int>(artwork::Mirror::axial)) lie.flip_x = coupon.width;
  if (against & static_cast<int>(artwork::Mirror::around)) lie.flip_y = coupon.height;
  lie.turns = job.mount.hold == motion::Hold::turning;
  return lie;
}

void check_burnable(const Coupon& coupon, const job::Job& job) {
  if (!(job.path.full_power_word > 0))
    throw JobError(
        "path.full_power_word is missing (controllers differ in it; expected the S that asks for the rated power, "
        "such as 1000)");
  if (std::isnan(job.scan.run_up) && std::isnan(job.scan.acceleration) &&
      (std::isnan(job.machine.axial_acceleration) || std::isnan(job.machine.around_acceleration)))
    throw JobError(
        "scan.run_up is missing (how far before a patch the head sets off; expected a length, or the axes' "
        "accelerations in [machine])");
  check_patch(coupon.ink, "corner marks and labels", job);
  for (const Slot& slot : coupon.slots) check_patch(slot.patch, fmt::format("slot {}", slot.number), job);
}

}  // namespace circumfluence::calibration
