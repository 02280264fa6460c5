// What the model expects of a coupon's patches, given the unknowns, and how likely a report is.
//
// Unknowns z are standard normal deviates of window/unknown.h's figures. For a patch the fast periodic model
// (window/ends.h) gives the powers [W] at which it begins to change b, is marked m and over-burns o. What comes out strays
// from that by a lognormal factor on power, e ~ N(0, s), s = kStray: unevenness of the coat and of judgement. Hence
//   p(over-burned) = Phi(ln(P / o) / s),  p(at least marked) = max of that and Phi(ln(P / m) / s).
// A coat begins to change far below what an eye or a camera sees, and where between b and m that is nobody knows:
//   p(seen) = max of those and Phi(ln(P / c) / t),  c = sqrt(b m),  t = max(s, ln(m / b) / 4),
// so that at b 2 % are seen, at m all but 2 %; where m is none, or below b, c = b and t = s. All are mixed with an even
// chance over the four classes of kSlip: someone ticked the wrong box. A measured width or depth d against the predicted
// one D has ln sqrt(d^2 + r^2) ~ N(ln sqrt(D^2 + r^2), e), r the resolution, e the error, or 1 by a chance of kSlip. Of a
// width r^2 has what stray makes of its square as well, 2 w^2 s, and e the half of that over d^2 + r^2.
// Patches count as independent given z, and as cold: what earlier patches left in the wall is left out.
// A patch lies square under the beam, its spacing and speed are those on the surface. A single line is marked when its
// middle is, and over-burned when its middle is (of 64 places over kLineReach radii, the share outcome.tolerated is left
// out). Its width is that of one passage: a line of several passes has none here.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "calibration/report.h"
#include "window/ends.h"
#include "window/unknown.h"

namespace circumfluence::calibration {

inline constexpr double kStray = 0.06;   // [1]; an estimate: a coat's thickness strays by some 5 % over a piece
inline constexpr double kSlip = 0.01;    // [1]
inline constexpr double kLineReach = 4;  // [1] 1/e^2 radii, beyond which one line does not feel another

// The job with a coat's or an organic body's removal threshold as a figure of its own in place of the one from conduction:
// its median that of the law at the job's dwell, its spread that of the figures it comes from, taken as independent. So
// that what a coupon settles best is one figure, not four. What has a threshold on record stays as it is, and so does what
// nothing removes.
mark::Scene with_threshold(const mark::Scene& scene);

// What is fitted: unknowns of with_threshold(scene) but for the rollers' slip, the power that arrives among them.
std::vector<window::Unknown> fitted_unknowns(const mark::Scene& scene);

// ln of [W]; kept finite as window::log_of does.
struct LogEnds {
  double begins, marks, burns;
};
double seen(const LogEnds& ends, double log_power, double stray);  // ln(P / c) / t
// The chance of each class, in the order of Outcome. Classes are never negative where ends cross: what burns is marked.
std::array<double, 4> chances(const LogEnds& ends, double power, double stray = kStray, double slip = kSlip);

// By patch.
struct Expected {
  std::vector<LogEnds> ends;
  // [m^2] of a single line's width; where nothing is marked below zero, 2 w^2 ln(P / marks), as if the law of squared
  // widths went on. NaN of what is no single line of one pass.
  std::vector<double> squares;
  std::vector<double> depths;  // [m] gone, mean over the patch; NaN of single lines
};

// The patches' settings but for power, told apart: what has to be solved for each draw of z.
class Trials {
 public:
  // `scene` as with_threshold makes it, or any other whose unknowns these are. Throws ValidityError for a patch without a
  // place in the model: figures that are not finite and above zero.
  Trials(const mark::Scene& scene, std::vector<Patch> patches, std::vector<window::Unknown> unknowns);
  // With the scene's fitted unknowns.
  Trials(const mark::Scene& scene, std::vector<Patch> patches);

  size_t count() const { return patches_.size(); }
  const std::vector<Patch>& patches() const { return patches_; }
  const std::vector<window::Unknown>& unknowns() const { return unknowns_; }
  const mark::Scene& scene() const { return scene_; }

  // By patch, for one draw: one deviate an unknown. Power that arrives is a factor and needs no solving of its own; several
  // unknowns may be such. Throws what window::ends throws.
  std::vector<LogEnds> ends(std::span<const double> deviates) const;
  // [m] of a single line's mark, and mean depth gone, by patch; NaN where a patch is not such.
  std::vector<double> widths(std::span<const double> deviates) const;
  std::vector<double> depths(std::span<const double> deviates) const;
  // `measured`: whether widths and depths are wanted of a patch; empty: of every one.
  Expected expected(std::span<const double> deviates, const std::vector<bool>& measured = {}) const;

 private:
  struct Setting {  // one solution serves every power
    Patch patch;
    std::vector<size_t> patches;
  };
  struct Draw {
    mark::Scene scene;
    double nearer;   // [m] that the surface stands below where it was set
    double arrives;  // ln of the power that arrives, over what is set
  };
  Draw drawn(std::span<const double> deviates) const;
  void solve(const Setting& setting, const Draw& draw, const std::vector<bool>& measured, Expected& out) const;

  mark::Scene scene_;
  std::vector<Patch> patches_;
  std::vector<window::Unknown> unknowns_;
  std::vector<Setting> settings_;
};

// What a report says of the model's outputs y. A result has five: s times the deviate of being seen, ln(P / m), ln(P / o),
// squared width [1e-9 m^2], depth [um]; 0 of what was not told. `wider`: how many times stray and errors are taken.
class Evidence {
 public:
  static constexpr int kOutputs = 5;
  using Block = Eigen::Matrix<double, kOutputs, kOutputs>;

  // Throws ValidityError: a result whose slot has no trial, a stray that is not above 0.
  Evidence(const Trials& trials, const Coupon& coupon, const Report& report, double stray = kStray);

  size_t results() const { return told_.size(); }
  bool none() const;  // nothing told that the model has a word on
  const Trials& trials() const { return trials_; }
  Eigen::VectorXd outputs(const Eigen::VectorXd& deviates) const;
  // ln of the likelihood, and what it changes by with each output.
  double log(const Eigen::Ref<const Eigen::VectorXd>& outputs, double wider = 1) const;
  double log(const Eigen::Ref<const Eigen::VectorXd>& outputs, double wider, Eigen::VectorXd& slope) const;
  // By result, minus its second derivatives; of a log likelihood that bends upward somewhere only what bends downward.
  std::vector<Block> bends(const Eigen::VectorXd& outputs) const;
  // By result, -ln of the chance of that class, or of a width or depth at least as far off; the greater where both are told.
  std::vector<double> surprise(const Eigen::VectorXd& outputs) const;
  size_t widthless() const { return widthless_; }  // widths of lines of several passes, which are left aside

 private:
  struct Told {
    size_t patch;
    double power;
    std::optional<response::Outcome> outcome;
    std::optional<double> width, depth;  // ln sqrt(d^2 + r^2)
    double width_error, finest;          // [1], [m]
  };
  struct Term;  // of one result
  Term term(size_t result, const double* outputs, double wider) const;

  const Trials& trials_;
  std::vector<Told> told_;
  std::vector<bool> measured_;  // by patch
  double stray_, width_error_, depth_error_, resolution_;
  size_t widthless_ = 0;
};

// A report drawn at random for a truth: for tests, notebooks, and to see what a coupon could tell. A class of every patch,
// and of single lines of one pass the width. The trials' patches are those of the coupon's slots, in their order. The same
// for a seed on every machine.
Report simulated(const Trials& trials, const Coupon& coupon, std::span<const double> truth, std::uint64_t seed);

}  // namespace circumfluence::calibration
