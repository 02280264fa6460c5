#include <algorithm>
#include <cmath>
#include <utility>

#include "beam/spot_profile.h"
#include "heat/enthalpy.h"

namespace circumfluence::heat {
namespace {

constexpr int kLane = 8;

struct Way {
  double from, to;  // [m] of the beam
  double energy;    // [J] sent meanwhile
};

// The pieces of the way in [time, time + step].
std::vector<Way> ways(const EnthalpyRun& run, double time, double step) {
  std::vector<Way> out;
  const double end = std::min(time + step, run.duration), piece = run.duration / double(run.power.size());
  for (double t = time; t < end;) {
    const auto i = std::min(size_t((t + 1e-9 * piece) / piece), run.power.size() - 1);
    const double until = i + 1 == run.power.size() ? end : std::min(end, piece * double(i + 1));
    if (!(until > t)) break;
    out.push_back(
        {run.from + run.spot.speed * t, run.from + run.spot.speed * until, run.power[i] * (until - t)});
    t = until;
  }
  return out;
}

// Share of the light left of x, the mean while the beam goes its way.
double left_of(double x, const Way& way, double radius, const beam::SpotProfile& profile) {
  const double a = (x - way.from) / radius, b = (x - way.to) / radius;
  if (a - b < 1e-4) return profile.cumulative((a + b) / 2);
  return (profile.ramp(a) - profile.ramp(b)) / (a - b);
}

// [W/m] of each column of cells along the track, the mean over [time, time + step].
std::vector<double> along(const EnthalpyField& f, double time, double step) {
  const EnthalpyMesh& m = f.mesh;
  std::vector<double> out(m.nx, 0);
  for (const Way& way : ways(f.run, time, step)) {
    double before = left_of(m.x[0] - m.dx[0] / 2, way, f.run.spot.along, f.profile);
    for (int i = 0; i < m.nx; ++i) {
      const double now = left_of(m.x[i] + m.dx[i] / 2, way, f.run.spot.along, f.profile);
      out[i] += way.energy / step * std::max(0.0, now - before) / m.dx[i];
      before = now;
    }
  }
  return out;
}

// Light [W/m^2] on a column: its mean over the step, and how much more there is at the end than at the start.
struct Light {
  double mean, swing;
};

// It goes down the column; what a layer lets through meets the next.
void absorb(EnthalpyField& f, int iy, int ix, Light light) {
  const EnthalpyMesh& m = f.mesh;
  const size_t column = size_t(iy) * m.nx + ix;
  const int top = f.top[column];
  for (int iz = top; iz < m.lit; ++iz) {
    const EnthalpyLayer& layer = f.layers[m.layer[iz]];
    const double enters = iz == top || m.layer[iz] != m.layer[iz - 1] ? layer.absorptivity : 1;
    light = {light.mean * enters, light.swing * enters};
    if (iz == top) light.mean += std::exchange(f.carried[column], 0) / f.step;
    const double share = layer.optical_depth > 0 ? -std::expm1(-m.dz[iz] / layer.optical_depth) : 1;
    const size_t row = size_t(iz) * m.ny + iy, at = kLane + row * m.stride + ix;
    f.source[at] = light.mean * share / m.dz[iz];
    f.swing[at] = light.swing * share / m.dz[iz];
    f.lit_rows[row] = 1;
    f.spent.absorbed += light.mean * share * m.dx[ix] * m.dy[iy] * f.step;
    light = {light.mean * (1 - share), light.swing * (1 - share)};
    if (share == 1) return;
  }
}

void set_enthalpy(EnthalpyField& f, size_t at, int layer, double enthalpy) {
  const EnthalpyLaw& law = f.laws[layer];
  const double t = law.rise(enthalpy);
  f.enthalpy[at] = enthalpy;
  f.theta[f.now][at] = t * (law.k0 + law.k1 * t / 2);
}

// Light that came too late for the last film is absorbed by the base as that absorbs, in the next step.
double left_over(const EnthalpyLayer& film, const EnthalpyLayer& base) {
  return film.absorptivity > 0 ? base.absorptivity / film.absorptivity : 1;
}

void ablate_column(EnthalpyField& f, int iy, int ix) {
  const EnthalpyMesh& m = f.mesh;
  int& top = f.top[size_t(iy) * m.nx + ix];
  const double face = m.dx[ix] * m.dy[iy];
  while (top < m.films) {
    const int layer = m.layer[top], next = m.layer[top + 1];
    const size_t at = kLane + (size_t(top) * m.ny + iy) * m.stride + ix, below = at + size_t(m.ny) * m.stride;
    const double removal = f.laws[layer].removal, beyond = (f.enthalpy[at] - removal) * m.dz[top];
    if (beyond < 0) return;
    f.spent.ablated += removal * m.dz[top] * face;
    set_enthalpy(f, at, layer, 0);
    f.mask[at] = 0;
    if (top + 1 < m.films) {
      set_enthalpy(f, below, next, f.enthalpy[below] + beyond / m.dz[top + 1]);
    } else {
      f.spent.absorbed -= beyond * face;
      f.carried[size_t(iy) * m.nx + ix] = beyond * left_over(f.layers[layer], f.layers[next]);
    }
    ++top;
  }
}

}  // namespace

void share_across(EnthalpyField& f) {
  const EnthalpyMesh& m = f.mesh;
  const beam::SpotProfile profile(f.run.order_across);
  f.crosswise.resize(m.ny);
  double edge = 0, before = profile.cumulative(0);
  for (int i = 0; i < m.ny; ++i) {
    edge += m.dy[i];
    const double now = profile.cumulative(edge / f.run.spot.across);
    f.crosswise[i] = std::max(0.0, now - before) / m.dy[i];
    before = now;
  }
}

void deposit(EnthalpyField& f) {
  const EnthalpyMesh& m = f.mesh;
  for (size_t row = 0; row < f.lit_rows.size(); ++row)
    if (f.lit_rows[row]) {
      std::fill_n(f.source.data() + kLane + row * m.stride, m.nx, 0.0);
      std::fill_n(f.swing.data() + kLane + row * m.stride, m.nx, 0.0);
    }
  std::fill(f.lit_rows.begin(), f.lit_rows.end(), 0);
  const double end = std::min(f.time + f.step, f.run.duration), moment = 1e-6 * f.step;
  const std::vector<double> mean = along(f, f.time, f.step);
  const std::vector<double> first = along(f, f.time, moment), last = along(f, end - moment, moment);
  for (int iy = 0; iy < m.ny; ++iy)
    for (int ix = 0; ix < m.nx; ++ix) {
      const Light light{mean[ix] * f.crosswise[iy], (last[ix] - first[ix]) * f.crosswise[iy]};
      if (light.mean > 0 || f.carried[size_t(iy) * m.nx + ix] > 0) absorb(f, iy, ix, light);
    }
}

double front_step(const EnthalpyField& f) {
  const EnthalpyMesh& m = f.mesh;
  if (m.films == 0 || f.time >= f.run.duration) return kNever;
  const double soon = 0.02 * f.run.spot.along / std::max(f.run.spot.speed, 1e-30);
  const std::vector<double> lengthwise = along(f, f.time, std::min(soon, f.run.duration - f.time));
  double least = kNever;
  for (int iy = 0; iy < m.ny; ++iy)
    for (int ix = 0; ix < m.nx; ++ix) {
      const int top = f.top[size_t(iy) * m.nx + ix];
      const double arriving = lengthwise[ix] * f.crosswise[iy];
      if (top >= m.films || !(arriving > 0)) continue;
      const double need = f.laws[m.layer[top]].removal * m.dz[top];
      least = std::min(least, need / (arriving * f.layers[m.layer[top]].absorptivity));
    }
  return least;
}

void ablate(EnthalpyField& f) {
  const EnthalpyMesh& m = f.mesh;
  if (m.films == 0) return;
  for (int iy = 0; iy < m.ny; ++iy)
    for (int ix = 0; ix < m.nx; ++ix) ablate_column(f, iy, ix);
}

// The cell's mean, its flux going evenly from what enters above to what leaves below.
double surface_rise(const EnthalpyField& f, int iy, int ix) {
  const EnthalpyMesh& m = f.mesh;
  int iz = 0;
  while (iz + 1 < m.nz && m.layer[iz] != m.layer[m.nz - 1]) ++iz;
  const size_t at = kLane + (size_t(iz) * m.ny + iy) * m.stride + ix, plane = size_t(m.ny) * m.stride;
  const std::vector<double>& theta = f.theta[f.now];
  const EnthalpyLaw& law = f.laws.back();
  const bool lit = iz < m.lit && f.layers.back().optical_depth == 0;
  double above = lit ? (f.source[at] + f.swing[at] / 2) * m.dz[iz] : 0, below = 0;
  if (f.top[size_t(iy) * m.nx + ix] < iz) {
    const EnthalpyLaw& film = f.laws[m.layer[iz - 1]];
    const double hot = film.rise(f.enthalpy[at - plane]), cold = law.rise(f.enthalpy[at]);
    above += (hot - cold) /
             (m.dz[iz - 1] / 2 / (film.k0 + film.k1 * hot) + m.dz[iz] / 2 / (law.k0 + law.k1 * cold));
  }
  if (iz + 1 < m.nz) below = (theta[at] - theta[at + plane]) / (m.z[iz + 1] - m.z[iz]);
  const double surface = theta[at] + m.dz[iz] * (above / 3 + below / 6);
  const double square = std::max(0.0, law.k0 * law.k0 + 2 * law.k1 * surface);
  return 2 * surface / (law.k0 + std::sqrt(square));
}

}  // namespace circumfluence::heat
