// Truth: peaks of the moving Gaussian spot and of two layers under it (each computed by two or more
// independent methods), the half-space integral of heat/moving_spot.h, conservation of energy, symmetry.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "heat/enthalpy.h"
#include "heat/kirchhoff.h"

namespace circumfluence::heat {
namespace {

constexpr double kStart = 293, kRadius = 40e-6, kSpeed = 41.667e-3;

EnthalpyLayer steel(double cell, double growth) {
  return {.thickness = 1.5e-3,
          .conductivity = 16.2,
          .capacity = 7900 * 500.0,
          .absorptivity = 1,
          .cell = cell,
          .growth = growth};
}

EnthalpyLayer aluminium(double cell) {
  return {.thickness = 1.5e-3,
          .conductivity = 167,
          .capacity = 2700 * 896.0,
          .absorptivity = 1,
          .cell = cell,
          .growth = 1.3};
}

EnthalpyLayer coat(double cell) {
  return {
      .thickness = 30e-6, .conductivity = 0.25, .capacity = 1400 * 1500.0, .absorptivity = 1, .cell = cell};
}

EnthalpyPatch patch(double length, double cell, double growth) {
  return {.length = length,
          .half_width = 1.5 * kRadius,
          .margin = 1.5e-3,
          .cell_along = cell,
          .cell_across = cell,
          .growth = growth};
}

// From `before` the patch to `beyond` its middle.
EnthalpyRun pass(const EnthalpyPatch& p, double watts, double beyond, double before = 0.6e-3) {
  EnthalpyRun run{.spot = {kRadius, kRadius, kSpeed}, .power = {watts}, .from = -before, .start = kStart};
  run.duration = (before + p.length / 2 + beyond) / kSpeed;
  return run;
}

size_t middle(const EnthalpyResult& r, double x) {
  const auto closer = [x](double a, double b) { return std::abs(a - x) < std::abs(b - x); };
  return size_t(std::min_element(r.x.begin(), r.x.end(), closer) - r.x.begin());
}

// [K] rise at a probe when the beam was `ahead` past the cell it lies in.
double when(const EnthalpyResult& r, const EnthalpyRun& run, double x, double ahead) {
  const double time = (r.x[middle(r, x)] + ahead - run.from) / kSpeed;
  size_t i = 1;
  while (i + 1 < r.time.size() && r.time[i] < time) ++i;
  const double share = (time - r.time[i - 1]) / (r.time[i] - r.time[i - 1]);
  return r.cycle[0][i - 1] * (1 - share) + r.cycle[0][i] * share - kStart;
}

struct Four {
  double peak, behind, under, ahead;
};

Four steel_pass(double cell, double growth) {
  const EnthalpyPatch p = patch(84e-6, cell, growth);
  EnthalpyRun run = pass(p, 1, 60e-6, 1.2e-3);
  run.probes = {{p.length / 2, 0, 0}};
  const EnthalpyResult r = solve_enthalpy({steel(cell, growth)}, p, run);
  EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
  return {r.peak[middle(r, p.length / 2)] - kStart, when(r, run, 42e-6, 40e-6), when(r, run, 42e-6, 0),
          when(r, run, 42e-6, -40e-6)};
}

TEST(EnthalpyMoving, PublishedPeakAndPair) {
  const Four coarse = steel_pass(12e-6, 1.24), fine = steel_pass(6e-6, 1.12);
  const auto extrapolated = [&](double Four::*what) { return (4 * (fine.*what) - coarse.*what) / 3; };
  EXPECT_NEAR(coarse.peak / 571.28892, 1, 0.01);
  EXPECT_NEAR(extrapolated(&Four::peak) / 571.28892, 1, 0.005);
  EXPECT_NEAR(extrapolated(&Four::under) / 570.115962, 1, 0.005);
  EXPECT_NEAR(extrapolated(&Four::behind) / 279.274241, 1, 0.006);
  EXPECT_NEAR(extrapolated(&Four::ahead) / 212.167327, 1, 0.006);
}

TEST(EnthalpyMoving, EllipticalSpotBothWays) {
  const auto most = [](double along, double across) {
    const EnthalpyPatch p = patch(80e-6, 5e-6, 1.2);
    EnthalpyRun run = pass(p, 1, 60e-6);
    run.spot = {along, across, kSpeed};
    const EnthalpyResult r = solve_enthalpy({steel(5e-6, 1.2)}, p, run);
    return r.peak[middle(r, p.length / 2)] - kStart;
  };
  EXPECT_NEAR(most(60e-6, 20e-6) / 617.46652, 1, 0.01);
  EXPECT_NEAR(most(20e-6, 60e-6) / 615.17969, 1, 0.01);
}

TEST(EnthalpyMoving, BesideAndBelowTheTrack) {
  const EnthalpyPatch p = patch(80e-6, 8e-6, 1.2);
  const EnthalpyResult r = solve_enthalpy({steel(5e-6, 1.2)}, p, pass(p, 1, 120e-6));
  const Solid solid{16.2, 16.2 / (7900 * 500.0)};
  const Spot spot{kRadius, kRadius, kSpeed};
  for (size_t j = 0; r.y[j] < 60e-6; ++j)
    EXPECT_NEAR((r.peak[j * r.x.size() + middle(r, 40e-6)] - kStart) / peak(solid, spot, r.y[j]).rise, 1,
                0.015);
  for (size_t i = 0; r.z[i] < 60e-6; ++i)
    EXPECT_NEAR((r.peak_below[i] - kStart) / peak(solid, spot, 0, r.z[i]).rise, 1, 0.015);
}

TEST(EnthalpyMoving, ConductivityThatRises) {
  // The Kirchhoff transform holds for a slow spot.
  const EnthalpyPatch p = patch(80e-6, 8e-6, 1.2);
  EnthalpyRun run = pass(p, 2, 60e-6);
  run.spot.speed = 10e-3;
  run.duration *= kSpeed / 10e-3;
  EnthalpyLayer layer = steel(5e-6, 1.2);
  layer.conductivity_slope = 0.01618;
  const EnthalpyResult r = solve_enthalpy({layer}, p, run);
  const double linear = 2 * 604.02787;
  EXPECT_NEAR((r.peak[middle(r, 40e-6)] - kStart) / true_rise({16.2, 0.01618}, linear), 1, 0.015);
}

TEST(EnthalpyMoving, TwoLayers) {
  const EnthalpyPatch p = patch(96e-6, 8e-6, 1.3);
  const auto check = [&](const EnthalpyLayer& base, double mid, double interface) {
    const EnthalpyResult r = solve_enthalpy({coat(2e-6), base}, p, pass(p, 5, 120e-6), {.travel = 0.1});
    EXPECT_NEAR(r.z[7], 15e-6, 1e-9);
    EXPECT_NEAR((r.peak_below[7] - kStart) / mid, 1, 0.01);
    EXPECT_NEAR((r.peak[middle(r, 48e-6)] - kStart) / interface, 1, 0.01);
  };
  check(aluminium(4e-6), 24099.562, 106.888);
  EnthalpyLayer base = steel(4e-6, 1.3);
  check(base, 24288.927, 869.393);
}

TEST(EnthalpyMoving, LightAbsorbedInTheCoat) {
  const EnthalpyPatch p = patch(96e-6, 8e-6, 1.3);
  EnthalpyLayer film = coat(2e-6);
  film.optical_depth = 20e-6;
  const EnthalpyResult r = solve_enthalpy({film, aluminium(4e-6)}, p, pass(p, 5, 120e-6), {.travel = 0.1});
  EXPECT_NEAR((r.peak_below[7] - kStart) / 18655.279, 1, 0.015);
  EXPECT_NEAR((r.peak[middle(r, 48e-6)] - kStart) / 149.0339, 1, 0.015);
}

EnthalpyLayer paint() {
  EnthalpyLayer film = coat(3e-6);
  film.absorptivity = 0.9;
  film.removal_temperature = 873;
  film.removal_heat = 2e9;
  return film;
}

TEST(EnthalpyMoving, FilmGoesAndEnergyIsKept) {
  EnthalpyPatch p = patch(0.2e-3, 10e-6, 1.4);
  p.half_width = 80e-6;
  EnthalpyLayer base = aluminium(6e-6);
  base.absorptivity = 0.15;
  EnthalpyRun run = pass(p, 5, 0.3e-3);
  run.after = 1e-3;
  const EnthalpyResult r = solve_enthalpy({paint(), base}, p, run, {.travel = 0.1});
  EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
  EXPECT_GT(r.balance.ablated, 0.2 * r.balance.absorbed);
  const size_t mid = middle(r, 0.1e-3), n = r.x.size();
  EXPECT_NEAR(r.removed[mid], 30e-6, 1e-12);
  // Where the film is just gone all its light went into it: A F(y) = e h, but for what the film leads away.
  const double needed = (1400 * 1500.0 * 580 + 2e9) * 30e-6,
               line = std::sqrt(2 / std::numbers::pi) * 5 / (kRadius * kSpeed);
  const double edge = kRadius * std::sqrt(0.5 * std::log(0.9 * line / needed));
  double width = 0;
  for (size_t j = 0; j < r.y.size(); ++j)
    width += r.removed[j * n + mid] / 30e-6 * (j == 0 ? 0.5 : 1) * 10e-6;
  EXPECT_NEAR(width / edge, 1, 0.1);
  // Neighbours along the track are alike, and no one beside it is deeper than one nearer.
  for (size_t j = 1; j < r.y.size(); ++j) {
    EXPECT_LE(r.removed[j * n + mid], r.removed[(j - 1) * n + mid] + 1e-12);
    EXPECT_LE(r.peak[j * n + mid], r.peak[(j - 1) * n + mid] + 1e-9);
    EXPECT_NEAR(r.removed[j * n + mid], r.removed[j * n + mid + 2], 3.01e-6);
  }
}

TEST(EnthalpyMoving, RestingSpotIsSymmetric) {
  const EnthalpyPatch p = patch(0.2e-3, 10e-6, 1.4);
  EnthalpyRun run{.spot = {kRadius, kRadius, 0}, .power = {2}, .from = p.length / 2, .start = kStart};
  run.duration = 3e-3;
  EnthalpyLayer base = aluminium(6e-6);
  base.absorptivity = 0.15;
  const EnthalpyResult r = solve_enthalpy({paint(), base}, p, run);
  const size_t n = r.x.size();
  EXPECT_GT(r.removed[middle(r, p.length / 2)], 20e-6);
  for (size_t j = 0; j < r.y.size(); ++j)
    for (size_t i = 0; i < n / 2; ++i) {
      EXPECT_NEAR(r.peak[j * n + i], r.peak[j * n + n - 1 - i], 1e-6 * r.peak[j * n + i]);
      EXPECT_DOUBLE_EQ(r.removed[j * n + i], r.removed[j * n + n - 1 - i]);
    }
}

TEST(EnthalpyMoving, RestingSpotTransient) {
  EnthalpyPatch p = patch(0.12e-3, 6e-6, 1.2);
  EnthalpyRun run{.spot = {kRadius, kRadius, 0}, .power = {1}, .from = p.length / 2, .start = kStart};
  const double rises[] = {376.727764, 530.467953}, times[] = {1e-4, 1e-3};
  for (int i = 0; i < 2; ++i) {
    run.duration = times[i];
    const EnthalpyResult r = solve_enthalpy({steel(4e-6, 1.2)}, p, run);
    EXPECT_NEAR((r.peak[middle(r, p.length / 2)] - kStart) / rises[i], 1, 0.01);
  }
}

TEST(EnthalpyMoving, PiecesOfPowerAddUp) {
  // Without melting and with constant properties the rise is linear in the power's picture.
  const EnthalpyPatch p = patch(0.16e-3, 10e-6, 1.4);
  const auto end = [&](std::vector<double> power) {
    EnthalpyRun run = pass(p, 1, 60e-6);
    run.power = std::move(power);
    run.probes = {{0.08e-3, 0, 0}};
    const EnthalpyResult r = solve_enthalpy({steel(5e-6, 1.3)}, p, run);
    EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
    double sum = 0;
    for (const double piece : run.power) sum += piece * run.duration / double(run.power.size());
    EXPECT_NEAR(r.balance.absorbed / sum, 1, 2e-3);
    return r.cycle[0].back() - kStart;
  };
  const double whole = end({1, 1, 1, 1, 1, 1, 1}), odd = end({1, 0, 1, 0, 1, 0, 1}),
               even = end({0, 1, 0, 1, 0, 1, 0});
  EXPECT_NEAR((odd + even) / whole, 1, 1e-9);
  EXPECT_GT(odd, 3 * even);
}

TEST(EnthalpyMoving, ThreadsAgree) {
  const EnthalpyPatch p = patch(0.2e-3, 5e-6, 1.3);
  EnthalpyRun run = pass(p, 5, -50e-6, 0.05e-3);
  const auto result = [&](int threads) {
    return solve_enthalpy({paint(), aluminium(6e-6)}, p, run, {.travel = 0.2, .threads = threads});
  };
  const EnthalpyResult one = result(1), three = result(3);
  ASSERT_GT(one.cells, 40000);
  EXPECT_EQ(one.peak, three.peak);
  EXPECT_EQ(one.removed, three.removed);
  EXPECT_NEAR(one.balance.lost, three.balance.lost, 1e-12 * one.balance.absorbed);
}

}  // namespace
}  // namespace circumfluence::heat
