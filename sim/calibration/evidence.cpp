// How likely a report is, given what the model expects, and how that changes with it.
#include <fmt/format.h>

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "calibration/trial.h"
#include "mark/fill.h"
#include "quantity/error.h"
#include "quantity/figure.h"

namespace circumfluence::calibration {
namespace {

constexpr double kFar = 12;                      // [1] ln of power, beyond which an end is none
constexpr double kSquare = 1e-9, kDepth = 1e-6;  // [m^2], [m] that count as 1
constexpr double kWideResolution = 20e-6;        // [m] with errors taken wider
constexpr double kFinest = 1e-9;                 // [m] of a resolution
constexpr double kAmiss = 1;                     // [1] error of what was measured amiss

double phi(double x) {
  return std::exp(-x * x / 2) / std::sqrt(2 * std::numbers::pi);
}

// One of the bounds of a class: the chance of lying above it, and which output it is of.
struct Bound {
  double chance, deviate;
  int output;
};

// Above class c: the greatest of the ends from c on; 0 and 4 are no ends.
Bound bound(int c, const double* outputs, double stray) {
  if (c == 0) return {1, 0, -1};
  if (c == 4) return {0, 0, -1};
  int which = c - 1;
  for (int i = c; i < 3; ++i)
    if (outputs[i] > outputs[which]) which = i;
  const double deviate = outputs[which] / stray;
  return {quantity::normal_below(deviate), deviate, which};
}

// [m^2] by which a line's squared width strays, 2 w^2 s, w the radius across it on record: D^2 = 2 w^2 ln(P / P_th).
double square_of_stray(const Trials& trials, const Patch& patch, double stray) {
  mark::Scene scene = trials.scene();
  scene.job.scan.direction = patch.direction;
  const double across = mark::line_at(scene, {.height = -patch.focus_offset}).across;
  return 2 * across * across * stray;
}

}  // namespace

struct Evidence::Term {
  double log = 0, surprise = 0;
  double slope[kOutputs] = {};
  Block bend = Block::Zero();

  void add_class(int c, const double* outputs, double stray);
  // An output that stands for ln sqrt(D^2 + r^2) = t, which changes by dt with it.
  void add_measured(int output, double off, double error, double dt);
};

// p = (1 - slip) (Phi(a) - Phi(b)) + slip / 4, a and b the deviates of the bounds below and above.
void Evidence::Term::add_class(int c, const double* outputs, double stray) {
  const Bound low = bound(c, outputs, stray), high = bound(c + 1, outputs, stray);
  const double kept = 1 - kSlip;
  const double chance = kept * std::max(low.chance - high.chance, 0.0) + kSlip / 4;
  log += std::log(chance);
  surprise = std::max(surprise, -std::log(chance));
  if (low.output == high.output) return;
  const auto side = [&](const Bound& b, double sign) {
    if (b.output < 0) return 0.0;
    const double slope_of = sign * kept * phi(b.deviate) / stray / chance;
    slope[b.output] += slope_of;
    bend(b.output, b.output) += slope_of * slope_of + b.deviate / stray * slope_of;
    return slope_of;
  };
  const double below = side(low, 1), above = side(high, -1);
  if (low.output < 0 || high.output < 0) return;
  bend(low.output, high.output) += below * above;
  bend(high.output, low.output) += below * above;
}

void Evidence::Term::add_measured(int output, double off, double error, double dt) {
  const double good = (1 - kSlip) / error * phi(off / error), amiss = kSlip / kAmiss * phi(off / kAmiss);
  const double density = good + amiss,
               weight = (good / (error * error) + amiss / (kAmiss * kAmiss)) / density;
  log += std::log(density);
  const double tail =
      2 * ((1 - kSlip) * quantity::normal_below(-std::abs(off) / error) + kSlip * quantity::normal_below(-std::abs(off) / kAmiss));
  surprise = std::max(surprise, -std::log(std::max(tail, 1e-300)));
  slope[output] -= off * weight * dt;
  bend(output, output) += weight * dt * dt;
}

Evidence::Evidence(const Trials& trials, const Coupon& coupon, const Report& report, double stray)
    : trials_(trials),
      measured_(trials.count(), false),
      stray_(stray),
      width_error_(report.width_error),
      depth_error_(report.depth_error),
      resolution_(std::max(report.resolution, kFinest)) {
  if (!(stray > 0) || !std::isfinite(stray))
    throw quantity::ValidityError(fmt::format("stray = {} (of patches; expected a share above 0)", stray));
  std::map<int, size_t> patches;
  for (size_t i = 0; i < std::min(coupon.slots.size(), trials.count()); ++i)
    patches[coupon.slots[i].number] = i;
  for (const Result& result : report.results) {
    const auto found = patches.find(result.number);
    if (found == patches.end())
      throw quantity::ValidityError(
          fmt::format("patch {} has a result and no trial (expected a number of the coupon)", result.number));
    const Patch& patch = trials.patches()[found->second];
    Told told{found->second, patch.power, result.outcome, {}, {}, width_error_, resolution_};
    const bool widthless = !patch.is_line() || patch.passes != 1;
    if (!std::isnan(result.width) && widthless) ++widthless_;
    if (!std::isnan(result.width) && !widthless) {
      // A mark that barely shows grows fast with power: what strays there is no finer than the stray of its square.
      const double strays = square_of_stray(trials, patch, stray);
      told.finest = std::sqrt(resolution_ * resolution_ + strays);
      const double seen = std::hypot(result.width, told.finest);
      told.width = std::log(seen);
      told.width_error = std::hypot(width_error_, strays / (2 * seen * seen));
    }
    if (!std::isnan(result.depth) && !patch.is_line())
      told.depth = std::log(std::hypot(result.depth, resolution_));
    if (told.width || told.depth) measured_[told.patch] = true;
    told_.push_back(told);
  }
}

Eigen::VectorXd Evidence::outputs(const Eigen::VectorXd& deviates) const {
  const Expected expected = trials_.expected({deviates.data(), size_t(deviates.size())}, measured_);
  Eigen::VectorXd out = Eigen::VectorXd::Zero(long(kOutputs * told_.size()));
  for (size_t i = 0; i < told_.size(); ++i) {
    const Told& told = told_[i];
    double* const y = out.data() + kOutputs * i;
    const LogEnds& ends = expected.ends[told.patch];
    if (told.outcome) {
      const double log = std::log(told.power);
      y[0] = std::clamp(stray_ * seen(ends, log, stray_), -kFar, kFar);
      y[1] = std::clamp(log - ends.marks, -kFar, kFar);
      y[2] = std::clamp(log - ends.burns, -kFar, kFar);
    }
    if (told.width) y[3] = expected.squares[told.patch] / kSquare;
    if (told.depth) y[4] = expected.depths[told.patch] / kDepth;
  }
  return out;
}

Evidence::Term Evidence::term(size_t result, const double* y, double wider) const {
  const Told& told = told_[result];
  Term out;
  if (told.outcome) out.add_class(int(*told.outcome), y, wider* stray_);
  const bool wide = wider > 1;
  const double least = wide ? std::max(told.finest, kWideResolution) : told.finest;
  const double small = least * least / kSquare;
  if (told.width) {
    // Below the threshold a width is none; taken wide, it goes on, so that a climb finds its way back.
    const double above = std::max(y[3], 0.0) + small,
                 seen = wide ? std::log(std::hypot(std::exp(*told.width), least)) : *told.width;
    const double beyond = wide ? std::min(y[3], 0.0) / (2 * small) : 0;
    const double dt = y[3] > 0 || wide ? 1 / (2 * above) : 0;
    out.add_measured(3, 0.5 * std::log(above * kSquare) + beyond - seen, wider * told.width_error, dt);
  }
  if (told.depth) {
    const double fine = resolution_ / kDepth, square = y[4] * y[4] + fine * fine;
    out.add_measured(4, 0.5 * std::log(square * kDepth * kDepth) - *told.depth, wider * depth_error_,
                     y[4] / square);
  }
  return out;
}

double Evidence::log(const Eigen::Ref<const Eigen::VectorXd>& outputs, double wider) const {
  double sum = 0;
  for (size_t i = 0; i < told_.size(); ++i) sum += term(i, outputs.data() + kOutputs * i, wider).log;
  return sum;
}

double Evidence::log(const Eigen::Ref<const Eigen::VectorXd>& outputs, double wider,
                     Eigen::VectorXd& slope) const {
  slope.resize(outputs.size());
  double sum = 0;
  for (size_t i = 0; i < told_.size(); ++i) {
    const Term found = term(i, outputs.data() + kOutputs * i, wider);
    sum += found.log;
    std::copy_n(found.slope, kOutputs, slope.data() + kOutputs * i);
  }
  return sum;
}

std::vector<Evidence::Block> Evidence::bends(const Eigen::VectorXd& outputs) const {
  std::vector<Block> out;
  for (size_t i = 0; i < told_.size(); ++i) {
    const Eigen::SelfAdjointEigenSolver<Block> parts(term(i, outputs.data() + kOutputs * i, 1).bend);
    out.push_back(parts.eigenvectors() * parts.eigenvalues().cwiseMax(0).asDiagonal() *
                  parts.eigenvectors().transpose());
  }
  return out;
}

bool Evidence::none() const {
  return std::ranges::none_of(told_, [](const Told& t) { return t.outcome || t.width || t.depth; });
}

std::vector<double> Evidence::surprise(const Eigen::VectorXd& outputs) const {
  std::vector<double> out;
  for (size_t i = 0; i < told_.size(); ++i) out.push_back(term(i, outputs.data() + kOutputs * i, 1).surprise);
  return out;
}

}  // namespace circumfluence::calibration
