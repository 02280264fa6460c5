#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "heat/enthalpy.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

constexpr int kLane = 8, kMostStages = 199;
constexpr double kSafety = 0.95;  // of the longest stable step
constexpr double kLoose = 0.05;   // of what the base takes up, that a film may

// How hot each layer is; throws where its properties no longer mean anything.
void find_hottest(EnthalpyField& f) {
  const EnthalpyMesh& m = f.mesh;
  std::vector<double> most(f.laws.size(), 0);
  for (int iz = 0; iz < m.nz; ++iz) {
    const auto plane = f.enthalpy.begin() + kLane + ptrdiff_t(iz) * m.ny * m.stride;
    double& now = most[m.layer[iz]];
    now = std::max(now, *std::max_element(plane, plane + ptrdiff_t(m.ny) * m.stride));
  }
  for (size_t l = 0; l < most.size(); ++l) {
    const EnthalpyLaw& law = f.laws[l];
    const double t = law.rise(most[l]);
    f.hottest[l] = std::min(1.05 * t + 10, law.cap);
    if (!(law.k0 + law.k1 * t > 0.02 * law.k0 && law.c0 + law.c1 * t > 0.02 * law.c0))
      throw quantity::ValidityError(
          fmt::format("layer {}: temperature = {:g} K (its conductivity or heat capacity ends there; "
                      "expected less power)",
                      l, f.run.start + t));
  }
}

// [1/s] twice the fastest decay in a plane, by the sum of its coefficients (Gershgorin).
double fastest(const EnthalpyField& f, int iz) {
  const EnthalpyMesh& m = f.mesh;
  double along = 0, across = 0, contact = 0;
  for (int i = 0; i < m.nx; ++i) along = std::max(along, m.west[i] + m.east[i]);
  for (int i = 0; i < m.ny; ++i) across = std::max(across, m.south[i] + m.north[i]);
  const auto k = [&](int z) {
    const EnthalpyLaw& law = f.laws[m.layer[z]];
    return std::max(law.k0, law.k0 + law.k1 * f.hottest[m.layer[z]]);
  };
  const auto touch = [&](int a, int b) {
    if (b >= 0 && b < m.nz && m.layer[a] != m.layer[b])
      contact += 1 / ((m.dz[a] / (2 * k(a)) + m.dz[b] / (2 * k(b))) * m.dz[a]);
  };
  touch(iz, iz - 1);
  touch(iz, iz + 1);
  if (iz == m.nz - 1) contact += k(iz) * m.loss_z[0] + f.patch.back_coefficient / m.dz[iz];
  const EnthalpyLaw& law = f.laws[m.layer[iz]];
  const double hot = f.hottest[m.layer[iz]], c_hot = std::max(law.c0 + law.c1 * hot, 1e-3 * law.c0);
  const double c = std::min(law.c0, c_hot);
  const double ratio = std::max(law.k0 / law.c0, (law.k0 + law.k1 * hot) / c_hot);
  return ratio * (along + across + m.up[iz] + m.down[iz] + m.loss_y[size_t(iz) * m.stride]) + contact / c;
}

// [s] of the explicit rule.
double stable_step(const EnthalpyField& f, int first, int last) {
  double most = 0;
  for (int iz = first; iz < last; ++iz) most = std::max(most, fastest(f, iz));
  return kSafety / std::max(most, 1e-30);
}

// RKL2 with s stages spans (s^2 + s - 2) / 4 explicit steps.
int stages_for(double step, double stable) {
  return std::max(3, static_cast<int>(std::ceil((std::sqrt(9 + 16 * step / stable) - 1) / 2)));
}

// [J/(m^2 K)] what a body takes up in a step per temperature of its surface: as deep as heat diffuses.
double uptake(const EnthalpyLaw& law, double step) {
  return std::sqrt(law.k0 * law.c0 * step);
}

// Films that need far fewer stages than the base go first, over a base that stands still meanwhile; what they
// give it goes into its own step. Sound where the film can move the base by little in a step.
void split(EnthalpyField& f) {
  const EnthalpyMesh& m = f.mesh;
  const int base =
      static_cast<int>(std::find(m.layer.begin(), m.layer.end(), m.layer.back()) - m.layer.begin());
  f.split = 0;
  if (base == 0) return;
  const EnthalpyLaw &film = f.laws[m.layer[base - 1]], &law = f.laws.back();
  const double base_takes = std::min(uptake(law, f.step), law.c0 * f.layers.back().thickness);
  f.film_stages = stages_for(f.step, stable_step(f, 0, base));
  f.film_stages += (f.film_stages + f.stages) % 2;
  if (uptake(film, f.step) > kLoose * base_takes || 2 * f.film_stages > f.stages) return;
  f.split = base;
  const size_t plane = size_t(m.ny) * m.stride, at = kLane + base * plane;
  std::copy_n(f.theta[f.now].data() + at, plane, f.theta[1 - f.now].data() + at);
}

}  // namespace

void pace(EnthalpyField& f, const EnthalpySteps& s) {
  find_hottest(f);
  const EnthalpyRun& run = f.run;
  const double usual =
      std::min(run.duration / s.least, s.travel * run.spot.along / std::max(run.spot.speed, 1e-30));
  const double left = run.duration - f.time, end = run.duration + run.after;
  double step = usual;
  if (left > 1e-9 * run.duration)
    step = std::min({step, left, s.front * front_step(f)});
  else
    step = std::min(std::max(step, 0.05 * (f.time - run.duration)), end - f.time);
  const double stable = stable_step(f, 0, f.mesh.nz);
  f.step = std::min(step, stable * (kMostStages * (kMostStages + 1.0) - 2) / 4);
  f.stages = stages_for(f.step, stable);
  split(f);
}

}  // namespace circumfluence::heat
