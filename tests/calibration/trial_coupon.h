// Coupons on a bottle as doubtful as the demo's, and what may come out of them.
#pragma once

#include <vector>

#include "calibration/fit.h"
#include "mark/small_job.h"

namespace circumfluence::calibration {

inline mark::SmallJob doubtful_bottle() {
  mark::SmallJob small;
  small.with("laser.power_spread", "5 %")
      .with("laser.spot_spread", "10 %")
      .with("mount.height_spread", "0.3 mm");
  small.with("workpiece.coat_spread", "20 %").with("workpiece.diameter", "73 mm");
  return small;
}

// Twelve patches over powers and speeds around the job's, and four single lines.
inline Coupon trial_coupon() {
  Coupon out;
  int number = 0;
  for (const double speed : {1250.0, 2500.0, 4000.0})
    for (const double power : {2.5, 4.0, 6.0, 9.0})
      out.slots.push_back({++number, {.power = power, .speed = speed / 60e3, .spacing = 0.1e-3}, {}});
  for (const double power : {3.0, 5.0, 7.0, 10.0})
    out.slots.push_back({++number, {.power = power, .speed = 2500 / 60e3, .spacing = 0}, {}});
  return out;
}

inline std::vector<Patch> patches_of(const Coupon& coupon) {
  std::vector<Patch> out;
  for (const Slot& slot : coupon.slots) out.push_back(slot.patch);
  return out;
}

inline Trials trials_of(const mark::Scene& scene, const Coupon& coupon) {
  return Trials(scene, patches_of(coupon));
}

inline size_t index_of(const std::vector<window::Unknown>& unknowns, const std::string& name) {
  for (size_t i = 0; i < unknowns.size(); ++i)
    if (unknowns[i].name == name || unknowns[i].name.ends_with("." + name)) return i;
  throw std::out_of_range(name);
}

// Only these of the unknowns, in this order.
inline std::vector<window::Unknown> only(const std::vector<window::Unknown>& all,
                                         const std::vector<std::string>& names) {
  std::vector<window::Unknown> out;
  for (const std::string& name : names) out.push_back(all[index_of(all, name)]);
  return out;
}

inline Result came_out(int number, response::Outcome outcome) {
  Result out;
  out.number = number, out.outcome = outcome;
  return out;
}

inline Result as_wide(int number, double width) {
  Result out;
  out.number = number, out.width = width;
  return out;
}

// Every patch as the truth makes it, without error.
inline Report without_error(const Trials& trials, const Coupon& coupon, const std::vector<double>& truth) {
  const Expected expected = trials.expected(truth);
  Report out;
  for (size_t i = 0; i < trials.count(); ++i) {
    const std::array<double, 4> c = chances(expected.ends[i], trials.patches()[i].power);
    Result result =
        came_out(coupon.slots[i].number, response::Outcome(std::max_element(c.begin(), c.end()) - c.begin()));
    if (!std::isnan(expected.squares[i])) result.width = std::sqrt(std::max(expected.squares[i], 0.0));
    out.results.push_back(result);
  }
  return out;
}

}  // namespace circumfluence::calibration
