// From a fit's deviates to figures: which of them, and the linear algebra.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "calibration/fitted.h"
#include "quantity/error.h"
#include "workpiece/material.h"

namespace circumfluence::calibration {
namespace {

using window::Unknown;
using workpiece::Material;
using workpiece::Optics;
using Of = Unknown::Of;

constexpr double kFivePercent = 1.6448536269514722;  // [1] deviate of the 95th percentile
constexpr double kLeast = 1e-12;                     // [1] variance along what is known exactly

bool is_power(const Unknown& u) {
  return u.of == Of::power;
}

// What the power that arrives is put into, with its exponent.
struct Fold {
  Of of;
  quantity::Figure Material::*figure;
  quantity::Figure Optics::*optic;
  double exponent;

  bool is(const Unknown& u) const { return u.of == of && u.figure == figure && u.optic == optic; }
};

std::vector<Fold> folds(const mark::Scene& scene) {
  std::vector<Fold> out{{Of::base, nullptr, &Optics::absorptivity, 1.0}};
  if (!scene.coat) return out;
  if (scene.body() == response::Body::dyed) {
    out.push_back({Of::coat, nullptr, &Optics::absorptivity, 1.0});
    return out;
  }
  out.push_back({Of::coat, &Material::threshold, nullptr, -1.0});
  if (scene.job.outcome.removal == response::RemovalLaw::steady)
    out.push_back({Of::coat, &Material::removal_energy, nullptr, -1.0});
  return out;
}

const quantity::Figure& figure_of(const mark::Scene& scene, const Fold& fold) {
  const Material& material = fold.of == Of::coat ? *scene.coat : scene.base;
  return fold.figure ? material.*fold.figure
                     : workpiece::optics_at(material, scene.job.laser.wavelength).*fold.optic;
}

const char* unit_of(const Fold& fold) {
  for (const auto& field : workpiece::material_fields())
    if (const auto* member = std::get_if<quantity::Figure Material::*>(&field.member);
        member && *member == fold.figure)
      return field.unit;
  return "%";
}

const char* key_of(const Fold& fold) {
  return fold.optic ? "absorptivity" : fold.figure == &Material::threshold ? "threshold" : "removal_energy";
}

// A figure of which only the power that arrives is in doubt.
Unknown exact(const mark::Scene& scene, const Fold& fold) {
  const Material& material = fold.of == Of::coat ? *scene.coat : scene.base;
  return {.name = material.name + "." + key_of(fold),
          .words = std::string(window::words_of(key_of(fold))) + " of " + material.title,
          .value = figure_of(scene, fold).value,
          .spread = 0,
          .unit = unit_of(fold),
          .relative = true,
          .of = fold.of,
          .figure = fold.figure,
          .optic = fold.optic};
}

// [nat] by which the posterior moves when those left out are as before the fit, each by itself.
double moved(const Fit& fit, const std::vector<bool>& kept) {
  const auto n = fit.best.size();
  Eigen::MatrixXd apart = fit.covariance;
  double trace = 0, distance = 0;
  for (Eigen::Index i = 0; i < n; ++i) {
    if (kept[size_t(i)]) {
      trace += 1;
      continue;
    }
    trace += fit.covariance(i, i), distance += fit.best(i) * fit.best(i);
    apart.row(i).setZero(), apart.col(i).setZero(), apart(i, i) = 1;
  }
  return 0.5 * (trace - double(n) + distance + log_determinant(apart, kLeast) - log_determinant(fit.covariance, kLeast));
}

// The least learnt ones are left out as long as that changes nothing.
std::vector<bool> kept_of(const Fit& fit, const std::vector<Fold>& folded) {
  const Eigen::VectorXd learnt = fit.learnt();
  const bool power = std::ranges::any_of(fit.unknowns, is_power);
  std::vector<bool> kept(fit.unknowns.size(), true);
  std::vector<size_t> order(fit.unknowns.size());
  std::iota(order.begin(), order.end(), size_t(0));
  std::ranges::stable_sort(order, {}, [&](size_t i) { return learnt(Eigen::Index(i)); });
  for (const size_t i : order) {
    const Unknown& u = fit.unknowns[i];
    if (learnt(Eigen::Index(i)) >= kUntouched) break;
    if (is_power(u) || (power && std::ranges::any_of(folded, [&](const Fold& f) { return f.is(u); })))
      continue;
    kept[i] = false;
    if (moved(fit, kept) > kUnmoved) kept[i] = true;
  }
  return kept;
}

// The figures that change and, by figure, its weights on the fit's deviates.
struct Linear {
  std::vector<Unknown> figures;
  std::vector<Eigen::RowVectorXd> weights;
};

Linear linear(const mark::Scene& scene, const Fit& fit) {
  const std::vector<Fold> folded = folds(scene);
  const std::vector<bool> kept = kept_of(fit, folded);
  const Eigen::Index n = fit.best.size();
  Eigen::RowVectorXd power = Eigen::RowVectorXd::Zero(n);
  for (size_t i = 0; i < fit.unknowns.size(); ++i)
    if (is_power(fit.unknowns[i])) power(Eigen::Index(i)) = fit.unknowns[i].spread;
  Linear out;
  for (size_t i = 0; i < fit.unknowns.size(); ++i) {
    const Unknown& u = fit.unknowns[i];
    if (is_power(u) || !kept[i]) continue;
    out.figures.push_back(u);
    out.weights.push_back(u.spread * Eigen::RowVectorXd::Unit(n, Eigen::Index(i)));
    for (const Fold& fold : folded)
      if (fold.is(u)) out.weights.back() += fold.exponent * power;
  }
  if (power.isZero()) return out;
  for (const Fold& fold : folded) {
    if (!figure_of(scene, fold).known() ||
        std::ranges::any_of(out.figures, [&](const Unknown& u) { return fold.is(u); }))
      continue;
    out.figures.push_back(exact(scene, fold));
    out.weights.push_back(fold.exponent * power);
  }
  return out;
}

void check(const mark::Scene& scene, const Fit& fit) {
  const std::vector<Unknown> known = fitted_unknowns(scene);
  const auto n = static_cast<Eigen::Index>(fit.unknowns.size());
  bool same = fit.best.size() == n && fit.covariance.rows() == n && fit.covariance.cols() == n &&
              fit.best.allFinite() && fit.covariance.allFinite();
  for (const Unknown& u : fit.unknowns)
    same = same && std::ranges::any_of(known, [&u](const Unknown& k) {
             return k.name == u.name && std::abs(k.value - u.value) <= 1e-9 * std::abs(k.value) &&
                    std::abs(k.spread - u.spread) <= 1e-9 * k.spread;
           });
  if (!same)
    throw quantity::ValidityError(
        "fit (of another job: its unknowns are not those of this one; expected a fit of this job)");
}

}  // namespace

Posterior posterior(const mark::Scene& scene, const Fit& fit) {
  const mark::Scene full = with_threshold(scene);
  check(full, fit);
  const Linear parts = linear(full, fit);
  const auto n = static_cast<Eigen::Index>(parts.figures.size());
  Eigen::MatrixXd weights(n, fit.best.size());
  for (Eigen::Index i = 0; i < n; ++i) weights.row(i) = parts.weights[size_t(i)];
  const Eigen::VectorXd shift = weights * fit.best;
  const Eigen::MatrixXd covariance = weights * fit.covariance * weights.transpose();
  Posterior out{.before = parts.figures,
                .shift = {},
                .spread = {},
                .correlations = Eigen::MatrixXd::Identity(n, n),
                .power = {}};
  for (Eigen::Index i = 0; i < n; ++i) {
    out.shift.push_back(shift(i));
    out.spread.push_back(std::sqrt(std::max(covariance(i, i), 0.0)));
  }
  for (Eigen::Index i = 0; i < n; ++i)
    for (Eigen::Index j = 0; j < n; ++j)
      if (const double both = out.spread[size_t(i)] * out.spread[size_t(j)]; i != j && both > 0)
        out.correlations(i, j) = std::clamp(covariance(i, j) / both, -1.0, 1.0);
  for (size_t i = 0; i < fit.unknowns.size(); ++i)
    if (is_power(fit.unknowns[i])) {
      const double s = fit.unknowns[i].spread, mean = s * fit.best(Eigen::Index(i));
      const double wide = s * kFivePercent * std::sqrt(fit.covariance(Eigen::Index(i), Eigen::Index(i)));
      out.power = window::Interval{std::exp(mean - wide), std::exp(mean), std::exp(mean + wide)};
    }
  return out;
}

}  // namespace circumfluence::calibration
