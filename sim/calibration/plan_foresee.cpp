// Chances by draw of what is not known.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "calibration/plan.h"
#include "quantity/error.h"
#include "quantity/figure.h"
#include "window/sobol.h"

namespace circumfluence::calibration {
namespace {

constexpr double kBeyond =
    3.0;  // [1] of ln power: ends farther than that from all that is asked count the same
constexpr size_t kMostSpeeds = 8;  // solved as they are, of one fill
constexpr int kDecade = 6;         // else so many a decade
constexpr int kInkDraws = 64;

using Row = Eigen::RowVectorXd;

// All of a setting but power, and all but power and speed.
using Fill = std::tuple<double, int, double, int>;
Fill fill_of(const Patch& p) {
  return {p.spacing, p.passes, p.focus_offset, int(p.direction)};
}

// Deviates of the unknowns from evenly drawn normal points.
class Drawing {
 public:
  Drawing(const Fit* known, size_t unknowns) : mean_(Eigen::VectorXd::Zero(Eigen::Index(unknowns))) {
    if (known == nullptr) return;
    mean_ = known->best;
    root_ = root_of(known->covariance);
  }
  Eigen::VectorXd at(const Row& point) const {
    return root_.size() == 0 ? point.transpose().eval() : (mean_ + root_ * point.transpose()).eval();
  }

 private:
  Eigen::VectorXd mean_;
  Eigen::MatrixXd root_;
};

// [draw][unknown]
Eigen::MatrixXd points(size_t unknowns, int count, std::uint64_t seed) {
  if (unknowns == 0) return Eigen::MatrixXd(count, 0);
  const std::vector<double> flat = window::normal_points(int(unknowns), count, seed);
  return Eigen::Map<const Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>>(
      flat.data(), count, Eigen::Index(unknowns));
}

// 1, x, and (x^2 - 1) / sqrt 2 where there are draws enough to tell them.
Eigen::MatrixXd terms(const Eigen::MatrixXd& points, bool squares) {
  Eigen::MatrixXd out(points.rows(), 1 + (squares ? 2 : 1) * points.cols());
  out.col(0).setOnes();
  out.middleCols(1, points.cols()) = points;
  if (squares) out.rightCols(points.cols()) = (points.array().square() - 1) / std::sqrt(2.0);
  return out;
}

// [draw][3 setting + end]: ln of begins, marks, burns, solved.
Eigen::MatrixXd solved(const Trials& trials, const Eigen::MatrixXd& points, const PlanRequest& request) {
  const Drawing drawing(request.known, trials.unknowns().size());
  Eigen::MatrixXd out(points.rows(), 3 * Eigen::Index(trials.count()));
  const auto solve = [&](int from, int to, int) {
    for (int i = from; i < to; ++i) {
      const Eigen::VectorXd z = drawing.at(points.row(i));
      const std::vector<LogEnds> ends = trials.ends({z.data(), size_t(z.size())});
      for (size_t k = 0; k < ends.size(); ++k) {
        const Eigen::Index at = 3 * Eigen::Index(k);
        out(i, at) = ends[k].begins, out(i, at + 1) = ends[k].marks, out(i, at + 2) = ends[k].burns;
      }
    }
  };
  quantity::for_bands({.count = int(points.rows()), .band = 4, .threads = request.threads}, solve,
                      request.progress);
  return out;
}

// Many draws from some: the quadratic, and what it leaves over of one of those solved.
Eigen::MatrixXd many(const Eigen::MatrixXd& few_points, const Eigen::MatrixXd& few,
                     const Eigen::MatrixXd& points) {
  const Eigen::Index unknowns = few_points.cols(), draws = few.rows();
  if (unknowns == 0) return few.row(0).replicate(points.rows(), 1);
  const bool squares = draws >= 3 * (1 + 2 * unknowns);
  if (!squares && draws < 2 * (1 + unknowns))
    throw quantity::ValidityError(
        fmt::format("plan: draws = {} (too few for {} unknowns; expected {} or more)", draws, unknowns,
                    2 * (1 + unknowns)));
  const Eigen::MatrixXd known = terms(few_points, squares);
  const Eigen::MatrixXd slopes = least_squares(known, few);
  // What least squares has fitted away of it is put back.
  const double shrunk = std::sqrt(double(draws) / double(draws - known.cols()));
  const Eigen::MatrixXd left = shrunk * (few - known * slopes);
  Eigen::MatrixXd out = terms(points, squares) * slopes;
  for (Eigen::Index i = 0; i < out.rows(); ++i) out.row(i) += left.row(i % draws);
  return out;
}

// Which settings are solved, and where on their curve over ln speed a patch lies.
struct Solving {
  std::vector<Patch> nodes;
  struct Curve {
    size_t first;
    std::vector<double> speeds;  // rising, as the nodes from `first`
  };
  std::map<Fill, Curve> curves;
};

Solving solving(const std::vector<Patch>& patches) {
  std::map<Fill, std::vector<Patch>> fills;
  for (const Patch& patch : patches) fills[fill_of(patch)].push_back(patch);
  Solving out;
  for (const auto& [fill, members] : fills) {
    std::vector<double> speeds;
    for (const Patch& patch : members) speeds.push_back(patch.speed);
    std::sort(speeds.begin(), speeds.end());
    speeds.erase(std::unique(speeds.begin(), speeds.end()), speeds.end());
    if (speeds.size() > kMostSpeeds) speeds = window::nodes_of(speeds, kDecade);
    out.curves[fill] = {out.nodes.size(), speeds};
    for (const double speed : speeds) {
      out.nodes.push_back(members.front());
      out.nodes.back().speed = speed;
    }
  }
  return out;
}

struct Span {
  double low, high;  // of ln power that matters
};

// The ends of a patch for each draw, straight between nodes where it is none of them.
class Reading {
 public:
  Reading(const Eigen::MatrixXd& all, const Solving& solving, Span span)
      : all_(all), solving_(solving), span_(span) {}

  // [draw][begins, marks, burns]
  Eigen::MatrixX3d ends(const Patch& patch) const {
    const Solving::Curve& curve = solving_.curves.at(fill_of(patch));
    const std::vector<double>& speeds = curve.speeds;
    size_t upper =
        size_t(std::lower_bound(speeds.begin(), speeds.end(), patch.speed * (1 - 1e-12)) - speeds.begin());
    upper = std::min(upper, speeds.size() - 1);
    const size_t lower = upper > 0 && speeds[upper] > patch.speed * (1 + 1e-12) ? upper - 1 : upper;
    const double share =
        lower == upper ? 0 : std::log(patch.speed / speeds[lower]) / std::log(speeds[upper] / speeds[lower]);
    return clamped((1 - share) * node(curve.first + lower) + share * node(curve.first + upper));
  }

  // Columns of four.
  Eigen::MatrixXf chances(const std::vector<Patch>& patches, double slip, int threads) const {
    Eigen::MatrixXf out(all_.rows(), 4 * Eigen::Index(patches.size()));
    const auto fill = [&](int from, int to, int) {
      for (int k = from; k < to; ++k) {
        const Eigen::MatrixX3d ends = this->ends(patches[size_t(k)]);
        for (Eigen::Index i = 0; i < ends.rows(); ++i) {
          const auto four = calibration::chances({ends(i, 0), ends(i, 1), ends(i, 2)},
                                                 patches[size_t(k)].power, kStray, slip);
          for (Eigen::Index c = 0; c < 4; ++c) out(i, 4 * k + c) = float(four[size_t(c)]);
        }
      }
    };
    quantity::for_bands({.count = int(patches.size()), .band = 1, .threads = threads}, fill);
    return out;
  }

 private:
  Eigen::MatrixX3d node(size_t index) const { return clamped(all_.middleCols(3 * Eigen::Index(index), 3)); }
  Eigen::MatrixX3d clamped(const Eigen::MatrixX3d& ends) const {
    return ends.cwiseMax(span_.low).cwiseMin(span_.high);
  }

  const Eigen::MatrixXd& all_;
  const Solving& solving_;
  Span span_;
};

std::vector<window::Unknown> unknowns_of(const mark::Scene& scene, const Fit* known) {
  std::vector<window::Unknown> out = fitted_unknowns(scene);
  if (known == nullptr) return out;
  const auto same = [](const window::Unknown& a, const window::Unknown& b) { return a.name == b.name; };
  if (!std::equal(out.begin(), out.end(), known->unknowns.begin(), known->unknowns.end(), same) ||
      known->best.size() != Eigen::Index(out.size()) || known->covariance.rows() != Eigen::Index(out.size()))
    throw quantity::ValidityError(
        "plan: results so far are of other unknowns than this job's (expected a fit of this job)");
  return out;
}

Span span_of(const std::vector<Patch>& patches) {
  const auto [least, most] = std::minmax_element(
      patches.begin(), patches.end(), [](const Patch& a, const Patch& b) { return a.power < b.power; });
  return {std::log(least->power) - kBeyond, std::log(most->power) + kBeyond};
}

}  // namespace

Foreseen foresee(const mark::Scene& scene, const std::vector<Patch>& candidates, const PlanRequest& request,
                 int draws) {
  std::vector<Patch> all = candidates;
  all.insert(all.end(), request.wanted.begin(), request.wanted.end());
  if (request.wanted.empty() || draws < 1 || request.draws < 1)
    throw quantity::ValidityError(fmt::format("plan: {} wanted settings, draws = {} of {} (expected some)",
                                              request.wanted.size(), draws, request.draws));
  const mark::Scene settled = with_threshold(scene);
  const Solving solving = calibration::solving(all);
  const Span span = span_of(all);
  const Trials trials(settled, solving.nodes, unknowns_of(scene, request.known));
  const size_t unknowns = trials.unknowns().size();
  const Eigen::MatrixXd few_points = points(unknowns, unknowns == 0 ? 1 : request.draws, request.seed);
  const Eigen::MatrixXd few = solved(trials, few_points, request).cwiseMax(span.low).cwiseMin(span.high);
  const Eigen::MatrixXd ends = many(few_points, few, points(unknowns, draws, request.seed + 1));
  const Reading reading(ends, solving, span);
  return {reading.chances(candidates, kSlip, request.threads),
          reading.chances(request.wanted, 0, request.threads),
          reading.ends(request.wanted.front()).rightCols(2).cast<float>()};
}

Ink ink_for(const mark::Scene& scene, const PlanRequest& request) {
  const Patch wanted = request.wanted.empty() ? job_setting(scene) : request.wanted.front();
  Patch patch = wanted;
  patch.passes = 1, patch.focus_offset = scene.job.scan.focus_offset;
  if (patch.is_line())
    patch.spacing = 0.8 * std::max(scene.job.laser.spot_axial, scene.job.laser.spot_around);
  const double rated = scene.job.laser.rated_power;
  const mark::Scene settled = with_threshold(scene);
  Ink best{patch, -1};
  for (const double slower : {1.0, 0.5, 0.25}) {
    patch.speed = slower * wanted.speed;
    const Trials trials(settled, {patch}, unknowns_of(scene, request.known));
    const size_t unknowns = trials.unknowns().size();
    const Eigen::MatrixXd ends =
        solved(trials, points(unknowns, unknowns == 0 ? 1 : kInkDraws, request.seed), request);
    const Eigen::VectorXd marks = ends.col(1).cwiseMin(ends.col(2));  // what burns shows as well
    const auto marked = [&](double power) {
      double sum = 0;
      for (Eigen::Index i = 0; i < marks.size(); ++i)
        sum += quantity::normal_below((std::log(power) - marks(i)) / kStray);
      return sum / double(marks.size());
    };
    for (int percent = 5; percent <= 100; percent += 5) {
      patch.power = 0.01 * percent * rated;
      const double chance = marked(patch.power);
      if (chance > best.marks) best = {patch, chance};
      if (chance >= kSurelySeen) return best;
    }
  }
  return best;
}

}  // namespace circumfluence::calibration
