// What a fit leaves behind: records of the material as it is, the job with what was learnt of the machine,
// and what that changes.
//
// Records: the coat's and the base's, under a name of their own, with the fitted medians and spreads, source
// "coupon DATE, FILE: N patches, ...", and the correlations between all that was fitted together
// (workpiece::Settled): without them two figures that were only settled together would be drawn apart, and
// the window would come out too wide. The power that arrives is one factor f on everything and can't be told
// from the material by a coupon: it is put into the figures, which so hold for this laser's own watts, and
// the source says so. A coat's energy of removal and threshold are divided by f, absorptivities of a base, of
// a dyed layer and of an organic body multiplied by it, to at most 1 (then a line of `changes` says so). The
// wall's warming by light that a standing coat takes up is not: it keeps the coat's own absorptivity. Figures
// of the job (spot, shape, depth, thickness of the coat, height of the focus) go into the job.
//
// Algebra: ln x_j = ln v_j + s_j z_j, z ~ N(m, C). A figure with the weights l on z has the median v exp(l
// m), the spread sqrt(l C l^T) and with another the covariance l C l'^T. Exact, since f too is exp(s z).
// Figures that hardly took part stay as they were: the least learnt ones, each with less than kUntouched of
// its variance learnt, as long as leaving all of them out moves the joint posterior by less than kUnmoved
// [nat] (Kullback-Leibler).
//
// Checked: a window drawn from records and job has the medians and intervals of the fit's own forecast,
// within sampling.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "calibration/fit.h"
#include "calibration/plan.h"
#include "job/material_file.h"

namespace circumfluence::calibration {

inline constexpr double kUntouched = 0.01, kUnmoved = 0.01;

// What is no longer as it was.
struct Posterior {
  std::vector<window::Unknown> before;  // figures of with_threshold(scene), the power not among them
  std::vector<double> shift, spread;    // of ln (of a height: itself, [m]): of its median; standard deviation
  Eigen::MatrixXd correlations;
  std::optional<window::Interval>
      power;  // [1] that arrives, of what was stated; none: the job states no doubt of it
};
// Throws ValidityError for the fit of another job.
Posterior posterior(const mark::Scene& scene, const Fit& fit);

struct Fitted {
  std::vector<workpiece::Material> records;  // those with something learnt; the coat's first
  job::Job job;  // with the figures of the machine and these records' names, but not the records
  std::vector<std::string> changes;  // a line a figure: "laser.spot: 80 um +- 10 % -> 84.1 um +- 2 %"

  mark::Scene scene() const;  // the job's, with the records
};
// `name`: of the coat's record, or a bare body's; the base's is NAME_base. Throws ValidityError for a name of
// a built-in one, and for a fit that learnt nothing since results are at odds.
Fitted fitted(const mark::Scene& scene, const Fit& fit, const Report& report, const std::string& name);

// Adds the records to the user's own file (or another), in place of those of the same names; all else in it
// stays as it is, to the byte. Written whole or not at all. Throws FileError, JobError where the file is no
// material file.
void keep(const std::vector<workpiece::Material>& records, const std::string& path);
using job::own_materials_path;

// The job as it was and as it is, at its own setting.
struct Side {
  window::Interval marks, burns;  // [W] ends of the even fill at the job's speed
  window::Chances chances;        // as set
};
struct BeforeAfter {
  Side before, after;
  double power;  // [W] as set
};
BeforeAfter compare(const mark::Scene& before, const mark::Scene& after, const window::Draws& draws = {});
std::string text(const BeforeAfter& both);
// Both windows over power and speed, with their intervals, in one picture. Throws FileError.
void write_picture(const std::string& path, const mark::Scene& before, const mark::Scene& after);

// Two coupons on the same material weeks apart: what power arrives now of what arrived then, all else held as
// shared.
struct Drift {
  window::Interval ratio;  // [1] now over then
  double chance_lower;     // [1] that it has fallen
  std::vector<std::string> notes;
};
struct Coupons {
  const Coupon& coupon;
  const Report& report;
};
// The delivered power of the second is let free within a factor of 3; throws what fit() throws.
Drift drift(const mark::Scene& scene, const Coupons& then, const Coupons& now,
            const FitRequest& request = {});
std::string text(const Drift& drift);

}  // namespace circumfluence::calibration
