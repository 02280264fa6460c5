// What a report says of the unknowns: a Gaussian of their standard deviates z, or draws of them.
//
// Prior z ~ N(0, I), or with the correlations of what records say was settled together, or as an earlier fit left it;
// likelihood as of trial.h. The model is solved about a point and taken as
// y + J dz + (h dz) dz / 2 near it, y its outputs, J their slopes and h the bend along each unknown, from differences over
// half a deviate; NLopt finds where ln prior + ln likelihood is greatest, the model is solved anew there, and a step is kept
// where the model itself agrees that it rises; until z moves by less than 0.02. The climb begins with errors taken wider,
// since far off a result has no slope.
//
// Laplace: the inverse Hessian there. What classes say is often but a bound, so that the density is lopsided or flat: the
// mean and the covariance are then those of kDraws quasi-random draws of the model near that point, weighted by importance
// against a proposal split about the Laplace Gaussian, and again about what came out. Where too few of them count (below
// 20 a dimension: thousands of patches) Laplace's own stands, and a note says so. Unknowns that no result depends on keep
// their prior exactly.
// More surprising results than slips account for (kAtOdds) mean that the density hangs on which of them are taken for slips.
// Errors and stray are then taken two times, four times as wide, where that fits and is likelier; else nothing is learnt.
// MCMC, on request: Metropolis-Hastings on the model itself, independent proposals from a wider t distribution mixed with
// small steps, several chains; R-hat and effective draws as of Gelman et al., Bayesian Data Analysis, 3rd ed., section
// 11.4-11.5 [from memory].
//
// Checked: 500 simulated coupons, the 90 % intervals hold the truth 87 to 93 % of the time; a density summed over a grid.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <string>
#include <vector>

#include "calibration/trial.h"
#include "quantity/bands.h"
#include "window/chance.h"

namespace circumfluence::calibration {

struct Chains {
  int count = 4, draws = 1000;  // kept, each; a quarter as many are thrown away first
  std::uint64_t seed = 1;
};

struct Sampling {
  double rhat = 0, effective = 0;  // the worst of all unknowns
  double accepted = 0;             // [1] share of proposals
  Eigen::MatrixXd draws;           // [draw][unknown] deviates, chain after chain
};

struct Fit {
  std::vector<window::Unknown> unknowns;  // as before the fit
  Eigen::VectorXd best;                   // [unknown] deviates, their mean
  Eigen::MatrixXd covariance;             // of them; the prior's where nothing was learnt
  // [draw][unknown] deviates that stand for the density, each as likely: bends of it that a Gaussian has not, so that ends
  // come out as narrow as they are known. Empty: the Gaussian.
  Eigen::MatrixXd draws;
  double log_evidence = 0;                // ln of the report's chance before the fit; to compare fits of one report
  std::optional<Sampling> sampling;       // best, covariance and draws are then of the chains
  std::vector<double> surprise;           // by result: -ln of its chance at the best fit; above kSurprising it is named
  // How many times what was stated errors and stray had to be taken for what came out to fit. Infinite: nothing fits it,
  // and the fit is what was known before.
  double strays = 1;
  std::vector<std::string> notes;         // what can and can't be concluded, in sentences

  // 1 - posterior over prior variance of each unknown's deviate, from 0 (nothing learnt) to 1.
  Eigen::VectorXd learnt() const;
  window::Interval interval(size_t unknown) const;  // SI, 5th to 95th percentile
};

inline constexpr double kSurprising = 4.0;  // a chance below 1.8 %
inline constexpr double kAtOdds = 0.125;     // [1] share of results, above which two or more so surprising ones are no slips
inline constexpr double kForeign = 2.5;     // deviates, beyond which it may be another material
inline constexpr int kDraws = 4096, kKept = 1024;  // solved near the best fit; kept in Fit::draws

struct FitRequest {
  std::optional<Chains> chains = {};
  const Fit* earlier = nullptr;  // its posterior is the prior; of the same unknowns
  double stray = kStray;
  int threads = 0;
  quantity::Progress progress = {};
};

// Throws ValidityError: no results, or unknowns of another job's; Interrupted.
Fit fit(const mark::Scene& scene, const Coupon& coupon, const Report& report, const FitRequest& request = {});
// The same for trials whose model stands ready, many times over: a patch for each slot of the coupon, in their order.
Fit fit(const Trials& trials, const Coupon& coupon, const Report& report, const FitRequest& request = {});
// A fit without results: the prior.
Fit nothing_learnt(const mark::Scene& scene);

// [draw][unknown] some of a fit's draws, or quasi-random ones of its Gaussian where it has none (of these unknowns).
Eigen::MatrixXd draws_of(const Fit& fit, int count, std::uint64_t seed = 1);

// "spot and threshold are told apart; absorptivity of the base is not": pairs whose correlation is beyond 0.9 are told
// only together, an unknown that lost less than a fifth of its variance was not learnt.
std::string identifiability(const Fit& fit);
// A table for a person: before, after, how much learnt; and as JSON, SI.
std::string text(const Fit& fit);
std::string json(const Fit& fit);

// The chance of each class at a setting, and the ends' intervals, as the fit has it (or as before it: no data).
struct Forecast {
  std::array<double, 4> chances;          // in the order of Outcome
  window::Interval begins, marks, burns;  // [W]
};
Forecast forecast(const mark::Scene& scene, const Fit& fit, const Patch& setting, int draws = 256, int threads = 0);

// Parts of fit().
struct Prior {  // z ~ N(mean, covariance)
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
};
struct Local {  // the model near a point
  Eigen::VectorXd at, outputs;  // [unknown], [output]
  Eigen::MatrixXd slope, bend;  // [output][unknown]
  Eigen::VectorXd operator()(const Eigen::VectorXd& deviates) const;
};
Local local(const Evidence& evidence, const Eigen::VectorXd& at, int threads);
// z = mean + active c + idle e, c and e ~ N(0, I) beforehand; outputs depend on c only.
struct Coordinates {
  Eigen::VectorXd mean;
  Eigen::MatrixXd active, idle;
};
Coordinates coordinates(const Prior& prior, const Local& near);
struct Peak {
  Local near;         // solved where it lies
  Eigen::VectorXd c;
  bool settled;       // the last step was a small one
};
Peak climb(const Evidence& evidence, const Prior& prior, const FitRequest& request, Coordinates& coordinates);
struct Moments {  // of c
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
  double log_evidence, effective;  // effective: share of the draws
  double lopsided;                 // skewness along what is known best
  Eigen::MatrixXd draws = {};      // [c][draw] of kKept, each as likely
};
Moments laplace(const Evidence& evidence, const Coordinates& coordinates, const Peak& peak);
Moments moments(const Evidence& evidence, const Coordinates& coordinates, const Peak& peak, int threads);
Sampling sample(const Evidence& evidence, const Coordinates& coordinates, const Moments& about, const FitRequest& request);

// The linear algebra of all that, of any size.
struct Principal {  // of a symmetric matrix: along diag(squares) along^T
  Eigen::VectorXd squares;  // rising
  Eigen::MatrixXd along;    // a column each
};
Principal principal(const Eigen::MatrixXd& symmetric);
// R with R R^T the covariance: by its axes, which holds where something is known exactly; and a lower triangle.
Eigen::MatrixXd root_of(const Eigen::MatrixXd& covariance);
Eigen::MatrixXd lower_root_of(const Eigen::MatrixXd& covariance);
double log_determinant(const Eigen::MatrixXd& covariance, double least);  // pivots count as `least` at least
Eigen::MatrixXd turned_to(const Eigen::MatrixXd& columns);  // orthonormal; the first k of it span the first k of those
Eigen::MatrixXd least_squares(const Eigen::MatrixXd& of, const Eigen::MatrixXd& to);  // the least x with |of x - to| least

}  // namespace circumfluence::calibration
