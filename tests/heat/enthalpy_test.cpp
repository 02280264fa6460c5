// Truth: closed forms of one-dimensional conduction (Carslaw and Jaeger 2.9, 2.11, 3.8; their values computed
// by two methods), Neumann's solution of melting, the energy of steady ablation, conservation and symmetry.
#include "heat/enthalpy.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

using std::numbers::pi;

constexpr double kStart = 293;
constexpr double kWide = 10e-3;  // [m] a spot so wide that the patch sees an even flux

EnthalpyLayer steel() {
  return {.thickness = 1e-3,
          .conductivity = 16.2,
          .capacity = 7900 * 500.0,
          .absorptivity = 1,
          .cell = 2e-6,
          .growth = 1.03};
}

EnthalpyLayer aluminium() {
  return {.thickness = 1e-3,
          .conductivity = 167,
          .capacity = 2700 * 896.0,
          .absorptivity = 1,
          .cell = 2e-6,
          .growth = 1.03};
}

EnthalpyLayer polymer() {
  return {.thickness = 0.1e-3,
          .conductivity = 0.25,
          .capacity = 1400 * 1500.0,
          .absorptivity = 1,
          .cell = 0.5e-6,
          .growth = 1.02};
}

// One column of cells.
EnthalpyPatch column() {
  return {.length = 50e-6,
          .half_width = 50e-6,
          .margin = 0,
          .cell_along = 50e-6,
          .cell_across = 100e-6,
          .sides = Edge::insulated,
          .back = Edge::insulated};
}

EnthalpyRun flux(double density, double duration) {
  return {.spot = {kWide, kWide, 0},
          .power = {density * pi * kWide * kWide / 2},
          .from = 25e-6,
          .duration = duration,
          .start = kStart};
}

// [K] rise at depth z of the base, which ends hottest.
double at_depth(const EnthalpyResult& r, double z) {
  if (z == 0) return r.peak[0] - kStart;
  size_t i = 1;
  while (r.z[i] < z) ++i;
  const double share = (z - r.z[i - 1]) / (r.z[i] - r.z[i - 1]);
  return r.peak_below[i - 1] * (1 - share) + r.peak_below[i] * share - kStart;
}

TEST(Enthalpy, ConstantFluxIntoHalfSpace) {
  const auto check = [](const EnthalpyLayer& layer, const EnthalpyRun& run, std::vector<double> depths,
                        std::vector<double> rises) {
    const EnthalpyResult r = solve_enthalpy({layer}, column(), run);
    for (size_t i = 0; i < depths.size(); ++i)
      EXPECT_NEAR(at_depth(r, depths[i]) / rises[i], 1, 2e-3) << depths[i];
    EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
  };
  check(steel(), flux(1e8, 1e-3), {0, 50e-6, 100e-6}, {446.066, 203.725, 76.098});
  check(aluminium(), flux(1e9, 1e-4), {0, 50e-6, 100e-6}, {561.385, 312.058, 154.454});
  check(polymer(), flux(1e7, 1e-3), {0, 10e-6, 20e-6}, {492.465, 192.410, 56.663});
}

TEST(Enthalpy, LightAbsorbedOverADepth) {
  const double rises[3][2] = {{198.513, 13.462}, {185.835, 41.641}, {109.726, 62.070}};
  const double depths[3] = {2e-6, 10e-6, 30e-6};
  for (int i = 0; i < 3; ++i) {
    EnthalpyLayer layer = polymer();
    layer.optical_depth = depths[i];
    layer.thickness = 0.4e-3;
    const EnthalpyResult r = solve_enthalpy({layer}, column(), flux(1e7, 1e-3));
    EXPECT_NEAR(at_depth(r, 10e-6) / rises[i][0], 1, 2e-3);
    EXPECT_NEAR(at_depth(r, 30e-6) / rises[i][1], 1, 4e-3);
  }
}

TEST(Enthalpy, SlabWithInsulatedBack) {
  EnthalpyLayer wall = aluminium();
  wall.thickness = 0.4e-3;
  const EnthalpyResult early = solve_enthalpy({wall}, column(), flux(1e6, 1e-3));
  const EnthalpyResult late = solve_enthalpy({wall}, column(), flux(1e6, 10e-3));
  EXPECT_NEAR(at_depth(early, 0) / 1.8249, 1, 1e-3);
  EXPECT_NEAR((early.peak_below.back() - kStart) / 0.6411, 1, 1e-2);  // a cell above the back face
  EXPECT_NEAR(at_depth(late, 0) / 11.1324, 1, 1e-3);
  EXPECT_NEAR((late.peak_below.back() - kStart) / 9.9348, 1, 1e-3);
}

TEST(Enthalpy, CooledBackTakesTheFluxInTheEnd) {
  EnthalpyLayer wall = aluminium();
  wall.thickness = 0.1e-3;
  EnthalpyPatch patch = column();
  patch.back = Edge::cooled;
  patch.back_coefficient = 2e5;
  const EnthalpyResult r = solve_enthalpy({wall}, patch, flux(1e7, 20e-3));  // time constant 1.3 ms
  EXPECT_NEAR(at_depth(r, 0) / (1e7 * (1 / 2e5 + 0.1e-3 / 167)), 1, 1e-3);
  EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
}

TEST(Enthalpy, ErrorFallsWithTheSquareOfTheCell) {
  const double exact = 2 * 1e8 / 16.2 * std::sqrt(16.2 / (7900 * 500.0) * 1e-3 / pi);
  double errors[3];
  for (int i = 0; i < 3; ++i) {
    EnthalpyLayer layer = steel();
    layer.cell = 20e-6 / (1 << i);
    layer.growth = 1;
    errors[i] =
        std::abs(at_depth(solve_enthalpy({layer}, column(), flux(1e8, 1e-3), {.least = 2000}), 0) - exact);
  }
  EXPECT_GT(std::log2(errors[0] / errors[1]), 1.7);
  EXPECT_GT(std::log2(errors[1] / errors[2]), 1.7);
}

TEST(Enthalpy, SteadySlabWhoseConductivityRises) {
  // Kirchhoff: k0 t + k1 t^2 / 2 = q h over a slab whose back is held; capacity does not matter in the end.
  EnthalpyLayer wall = steel();
  wall.thickness = 0.1e-3;
  wall.conductivity = 12.85674;
  wall.conductivity_slope = 0.01618;
  wall.capacity_slope = 800;
  EnthalpyPatch patch = column();
  patch.back = Edge::held;
  const double linear[] = {500, 1000, 1500}, real[] = {692.548 - kStart, 988.566 - kStart, 1234.832 - kStart};
  const double true_rise[] = {399.548, 695.566, 941.832};
  for (int i = 0; i < 3; ++i) {
    const double density = linear[i] * wall.conductivity / wall.thickness;
    const EnthalpyResult r = solve_enthalpy({wall}, patch, flux(density, 30e-3));
    EXPECT_NEAR(at_depth(r, 0) / true_rise[i], 1, 1e-3);
    EXPECT_NEAR(real[i], true_rise[i], 1e-9);
  }
}

TEST(Enthalpy, CapacityThatRises) {
  // A slab so thin that it is at one temperature: c0 t + c1 t^2 / 2 = q time / h.
  EnthalpyLayer wall = aluminium();
  wall.thickness = 20e-6;
  wall.capacity_slope = 2000;
  const EnthalpyResult r = solve_enthalpy({wall}, column(), flux(1e6, 20e-3));
  const double energy = 1e6 * 20e-3 / 20e-6, c0 = 2700 * 896.0;
  EXPECT_NEAR(r.peak_below.back() - kStart, (std::sqrt(c0 * c0 + 2 * 2000 * energy) - c0) / 2000, 0.1);
}

// Neumann: a half-space at T0 whose surface is put to Tw melts to 2 lambda sqrt(a t).
double neumann(double stefan, double cold) {
  double low = 1e-6, high = 3;
  for (int i = 0; i < 100; ++i) {
    const double l = (low + high) / 2, e = std::exp(-l * l);
    (e / std::erf(l) - cold * e / std::erfc(l) > l * std::sqrt(pi) / stefan ? low : high) = l;
  }
  return low;
}

// The flux that keeps the surface there falls as 1/sqrt(t); pieces carry its exact energy.
EnthalpyRun neumann_run(double per_root, double duration, int pieces) {
  EnthalpyRun run = flux(1, duration);
  const double watts = run.power[0], piece = duration / pieces;
  run.power.clear();
  for (int i = 0; i < pieces; ++i)
    run.power.push_back(watts * per_root * 2 * (std::sqrt(piece * (i + 1)) - std::sqrt(piece * i)) / piece);
  return run;
}

TEST(Enthalpy, MeltingOfAHalfSpace) {
  const double c = 7900 * 500.0, a = 16.2 / c, duration = 1e-3;
  for (const double latent : {0.5e9, 2e9}) {
    EnthalpyLayer layer = steel();
    layer.cell = 1e-6;
    layer.growth = 1.01;
    layer.solidus = layer.liquidus = 1700;
    layer.latent = latent;
    const double wall = 1000, melt = 1700 - kStart;
    const double lambda = neumann(c * wall / latent, melt / wall);
    const EnthalpyRun run = neumann_run(16.2 * wall / (std::erf(lambda) * std::sqrt(pi * a)), duration, 4000);
    const EnthalpyResult r = solve_enthalpy({layer}, column(), run, {.least = 4000});
    EXPECT_NEAR(r.melted_depth / (2 * lambda * std::sqrt(a * duration)), 1, 0.01) << latent;
    EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
    EnthalpyLayer cold = layer;  // without the latent heat it melts deeper
    cold.latent = 0;
    EXPECT_GT(solve_enthalpy({cold}, column(), run, {.least = 4000}).melted_depth, 1.05 * r.melted_depth);
  }
}

TEST(Enthalpy, MeltingOverARangeEndsWithTheSameEnergy) {
  // A thin slab: solidus passed with c (Ts - T0), liquidus with c (Tl - T0) + L.
  EnthalpyLayer wall = aluminium();
  wall.thickness = 10e-6;
  wall.solidus = 855;
  wall.liquidus = 925;
  wall.latent = 1.08e9;
  const double c = 2700 * 896.0, half = c * (890 - kStart) + wall.latent / 2;
  const EnthalpyResult r = solve_enthalpy({wall}, column(), flux(half * 10e-6 / 10e-3, 10e-3));
  EXPECT_NEAR(r.peak_below.back(), 890, 1);
  EXPECT_NEAR(r.melted_depth / wall.thickness, 0.5, 0.02);
}

EnthalpyLayer film(double thickness, double cell) {
  return {.thickness = thickness,
          .conductivity = 0.25,
          .capacity = 1400 * 1500.0,
          .absorptivity = 1,
          .removal_temperature = kStart + 600,
          .removal_heat = 1.4e9,
          .cell = cell};
}

constexpr double kRemoval = 1400 * 1500.0 * 600 + 1.4e9;  // [J/m^3]

TEST(Enthalpy, SteadyAblationCostsItsEnthalpy) {
  for (const double density : {1e8, 1e9}) {
    const double speed = density / kRemoval;
    const auto removed = [&](double depth) {
      return solve_enthalpy({film(200e-6, 1e-6), aluminium()}, column(), flux(density, depth / speed))
          .removed[0];
    };
    EXPECT_NEAR((removed(160e-6) - removed(40e-6)) / 120e-6, 1, 0.01) << density;
  }
}

TEST(Enthalpy, AblationDoesNotDependOnStepOrCell) {
  const double duration = 100e-6 * kRemoval / 1e9;
  const auto removed = [&](double cell, double front) {
    return solve_enthalpy({film(150e-6, cell), aluminium()}, column(), flux(1e9, duration), {.front = front})
        .removed[0];
  };
  EXPECT_NEAR(removed(1e-6, 0.25), removed(1e-6, 3), 1.01e-6);
  EXPECT_NEAR(removed(1e-6, 1), removed(0.5e-6, 1), 1.51e-6);
}

TEST(Enthalpy, RemovalBeginsWhenTheSurfaceIsHotEnough) {
  // t = pi k rho c T^2 / (4 q^2); without removal heat the top cell goes when it is at the temperature.
  EnthalpyLayer layer = film(60e-6, 0.25e-6);
  layer.removal_heat = 0;
  const double onset = pi * 0.25 * 1400 * 1500 * 600 * 600 / (4 * 1e7 * 1e7);
  EXPECT_EQ(solve_enthalpy({layer, aluminium()}, column(), flux(1e7, 0.98 * onset)).removed[0], 0);
  EXPECT_GT(solve_enthalpy({layer, aluminium()}, column(), flux(1e7, 1.05 * onset)).removed[0], 0);
}

TEST(Enthalpy, BaseTakesOverWithItsOwnAbsorptivity) {
  EnthalpyLayer coat = film(20e-6, 1e-6), base = aluminium();
  coat.absorptivity = 0.9;
  base.absorptivity = 0.2;
  const double gone = 20e-6 * kRemoval / (0.9 * 1e9);
  const EnthalpyResult r = solve_enthalpy({coat, base}, column(), flux(1e9, 3 * gone));
  EXPECT_NEAR(r.removed[0], 20e-6, 1e-12);
  const double area = r.balance.ablated / (20e-6 * kRemoval);
  EXPECT_NEAR(r.balance.absorbed / area / (1e9 * gone * (0.9 + 0.2 * 2)), 1, 0.02);
  EXPECT_NEAR(r.balance.stored / area / (1e9 * gone * 0.2 * 2), 1, 0.06);
  EXPECT_LT(std::abs(r.balance.imbalance), 1e-10);
}

TEST(Enthalpy, FilmsOneOnTheOther) {
  EnthalpyLayer upper = film(10e-6, 1e-6), lower = film(10e-6, 1e-6);
  lower.removal_heat = 2.8e9;
  const double both = 10e-6 * (2 * kRemoval + 1.4e9) / 1e9;
  const EnthalpyResult most = solve_enthalpy({upper, lower, aluminium()}, column(), flux(1e9, 0.9 * both));
  EXPECT_GT(most.removed[0], 16e-6);
  EXPECT_LT(most.removed[0], 20e-6);
  EXPECT_LT(std::abs(most.balance.imbalance), 1e-10);
}

TEST(Enthalpy, SaysWhatCannotBe) {
  const auto message = [](const EnthalpyLayer& layer, const EnthalpyPatch& patch, const EnthalpyRun& run) {
    try {
      solve_enthalpy({layer}, patch, run);
    } catch (const quantity::ValidityError& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  EnthalpyLayer layer = steel();
  layer.conductivity = -1;
  EXPECT_THAT(message(layer, column(), flux(1, 1)), testing::HasSubstr("conductivity = -1"));
  EXPECT_THAT(message(film(1e-5, 1e-6), column(), flux(1, 1)), testing::HasSubstr("removal temperature"));
  EXPECT_THAT(message(steel(), column(), {}), testing::HasSubstr("expected"));
  layer = steel();
  layer.conductivity_slope = -0.02;  // ends 810 K above the start
  EXPECT_THAT(message(layer, column(), flux(1e9, 1e-3)), testing::HasSubstr("temperature"));
  EnthalpyPatch patch = column();
  patch.cell_along = 1e-12;
  EXPECT_THAT(message(steel(), patch, flux(1, 1)), testing::HasSubstr("larger cells"));
}

TEST(Enthalpy, StopsWhenAsked) {
  double last = -1;
  EXPECT_THROW(solve_enthalpy({steel()}, column(), flux(1e8, 1e-3), {},
                              [&](double share) {
                                EXPECT_GE(share, last);
                                last = share;
                                return share < 0.5;
                              }),
               quantity::Interrupted);
  EXPECT_GE(last, 0.5);
  EXPECT_LT(last, 0.6);
}

}  // namespace
}  // namespace circumfluence::heat
