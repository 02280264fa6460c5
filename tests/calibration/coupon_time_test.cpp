// Truth: the coupon as words, planned ahead move by move as a machine runs them.
#include <gtest/gtest.h>

#include "calibration/coupon_drawing.h"
#include "calibration/small_coupon.h"
#include "mark/small_job.h"
#include "motion/kinematics.h"
#include "motion/tool_path.h"

namespace circumfluence::calibration {
namespace {

// [s] as planned move by move.
double planned(const Coupon& coupon, const job::Job& job) {
  double time = 0;
  motion::Planner planner(job.machine, [&](const motion::Travel& travel) {
    time = travel.start + travel.duration;
    return true;
  });
  motion::PathFile file = job.path;
  file.driven_diameter = job.workpiece.diameter, file.axial = 0;
  motion::parse_path(path_text(coupon, job), "c.nc", file,
                     [&](const motion::Move& move) { return planner.take(move); });
  planner.finish();
  return time;
}

TEST(CouponDuration, IsNearThatOfThePath) {
  mark::SmallJob small;
  job::Job job = small.job;
  job.path.full_power_word = 1000, job.path.m4_follows_speed = true;
  job.scan.top_speed = job.machine.axial_speed = job.machine.around_speed = 0.1;
  Coupon coupon = small_coupon();
  coupon.slots[2].patch.speed = 0.05;
  for (const double acceleration : {0.3, 1.0, 5.0}) {
    job.scan.acceleration = job.machine.axial_acceleration = job.machine.around_acceleration = acceleration;
    for (const double letters : {0.0, 0.8e-3, 1.8e-3}) {
      coupon.letters = letters;
      const double time = planned(coupon, job);
      EXPECT_NEAR(duration(coupon, job.scan), time, 0.03 * time) << acceleration << " " << letters;
    }
  }
}

}  // namespace
}  // namespace circumfluence::calibration
