#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "heat/enthalpy.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

constexpr int kLane = 8, kMostCells = 400;  // doubles a vector; cells along one edge of a graded part
constexpr double kLarge = 1e300;

void need(bool good, const char* what, double value, const char* expected) {
  if (!good) throw quantity::ValidityError(fmt::format("{} = {:g} (expected {})", what, value, expected));
}

void check_layer(const EnthalpyLayer& l, double start) {
  need(l.thickness > 0, "layer: thickness", l.thickness, "more than 0 m");
  need(l.conductivity > 0, "layer: conductivity", l.conductivity, "more than 0 W/(m K)");
  need(l.capacity > 0, "layer: capacity", l.capacity, "more than 0 J/(m^3 K)");
  need(l.absorptivity >= 0 && l.absorptivity <= 1, "layer: absorptivity", l.absorptivity, "0 to 1");
  need(l.optical_depth >= 0, "layer: optical depth", l.optical_depth, "0 m or more");
  need(l.solidus > start, "layer: solidus", l.solidus, "above the temperature at the start");
  need(l.liquidus >= l.solidus, "layer: liquidus", l.liquidus, "the solidus or above");
  need((l.liquidus < kNever) == (l.solidus < kNever), "layer: liquidus", l.liquidus,
       "one where there is a solidus");
  need(l.latent >= 0 && l.latent < kLarge, "layer: latent heat", l.latent, "0 J/m^3 or more");
  need(l.removal_temperature > start, "layer: removal temperature", l.removal_temperature, "above the start");
  need(l.removal_heat >= 0 && l.removal_heat < kLarge, "layer: removal heat", l.removal_heat,
       "0 J/m^3 or more");
  need(l.cell > 0 && l.cell <= l.thickness, "layer: cell", l.cell, "more than 0 m, at most its thickness");
  need(l.growth >= 1 && l.growth <= 2, "layer: growth", l.growth, "1 to 2");
}

void check(const std::vector<EnthalpyLayer>& layers, const EnthalpyPatch& p, const EnthalpyRun& r) {
  need(!layers.empty(), "layers: count", 0, "one or more");
  for (const EnthalpyLayer& layer : layers) check_layer(layer, r.start);
  for (size_t i = 1; i < layers.size(); ++i)
    need(layers[i].removal_temperature == kNever || layers[i - 1].removal_temperature < kNever,
         "layer: removal temperature", layers[i].removal_temperature, "none below a layer that stays");
  need(layers.back().removal_temperature == kNever, "base: removal temperature",
       layers.back().removal_temperature, "none, it stays");
  need(p.length > 0, "patch: length", p.length, "more than 0 m");
  need(p.half_width > 0, "patch: half width", p.half_width, "more than 0 m");
  need(p.margin >= 0 && p.margin < kLarge, "patch: margin", p.margin, "0 m or more");
  need(p.cell_along > 0 && p.cell_along <= p.length, "patch: cell along", p.cell_along, "0 m to the length");
  need(p.cell_across > 0, "patch: cell across", p.cell_across, "more than 0 m");
  need(p.growth > 1 && p.growth <= 2, "patch: growth", p.growth, "1 to 2");
  need(p.sides != Edge::cooled, "patch: sides", 0, "insulated, open or held");
  need(p.back_coefficient >= 0, "patch: back coefficient", p.back_coefficient, "0 W/(m^2 K) or more");
  need(r.spot.along > 0 && r.spot.across > 0, "run: spot", std::min(r.spot.along, r.spot.across),
       "radii above 0 m");
  need(r.spot.speed >= 0 && r.spot.speed < kLarge, "run: speed", r.spot.speed, "0 m/s or more");
  need(!r.power.empty(), "run: power, pieces", 0, "one or more");
  for (const double power : r.power) need(power >= 0 && power < kLarge, "run: power", power, "0 W or more");
  need(r.duration > 0 && r.duration < kLarge, "run: duration", r.duration, "more than 0 s");
  need(r.after >= 0 && r.after < kLarge, "run: after", r.after, "0 s or more");
  need(std::isfinite(r.from), "run: from", r.from, "a position");
  need(r.start > 0, "run: start", r.start, "more than 0 K");
}

// Heights that begin with `first`, grow by `growth` and are stretched alike to fill `total`.
std::vector<double> graded(double first, double growth, double total) {
  std::vector<double> out;
  double sum = 0;
  for (double d = first; sum + d / 2 < total && out.size() < 1000000; d *= growth) {
    out.push_back(d);
    sum += d;
  }
  for (double& d : out) d *= total / sum;
  return out;
}

std::vector<double> grown(double first, const EnthalpyPatch& p) {
  std::vector<double> out;
  for (double d = first * p.growth, sum = 0; sum < p.margin && out.size() < kMostCells; d *= p.growth) {
    out.push_back(d);
    sum += d;
  }
  return out;
}

void mesh_along(EnthalpyMesh& m, const EnthalpyPatch& p) {
  const std::vector<double> fine = graded(p.cell_along, 1, p.length), margin = grown(fine[0], p);
  m.dx.assign(margin.rbegin(), margin.rend());
  m.dx.insert(m.dx.end(), fine.begin(), fine.end());
  m.dx.insert(m.dx.end(), margin.begin(), margin.end());
  double edge = 0;
  for (const double d : margin) edge -= d;
  for (const double d : m.dx) m.x.push_back(edge + d / 2), edge += d;
}

// The first cell is a half one, its node on y = 0.
void mesh_across(EnthalpyMesh& m, const EnthalpyPatch& p) {
  const int fine = std::max(1, static_cast<int>(std::lround(p.half_width / p.cell_across)));
  m.dy.assign(fine, p.cell_across);
  m.dy[0] = p.cell_across / 2;
  const std::vector<double> margin = grown(p.cell_across, p);
  m.dy.insert(m.dy.end(), margin.begin(), margin.end());
  double edge = 0;
  for (const double d : m.dy) m.y.push_back(edge + d / 2), edge += d;
  m.y[0] = 0;
}

void mesh_down(EnthalpyMesh& m, const std::vector<EnthalpyLayer>& layers) {
  double edge = 0;
  m.films = m.lit = 0;
  for (size_t l = 0; l < layers.size(); ++l) {
    for (const double d : graded(layers[l].cell, layers[l].growth, layers[l].thickness)) {
      m.dz.push_back(d);
      m.z.push_back(edge + d / 2);
      m.layer.push_back(static_cast<int>(l));
      edge += d;
    }
    if (layers[l].removal_temperature < kNever) m.films = static_cast<int>(m.dz.size());
  }
}

// Light reaches below the films until an opaque layer's first plane.
void find_lit(EnthalpyMesh& m, const std::vector<EnthalpyLayer>& layers) {
  m.lit = m.films;
  while (m.lit < m.nz && layers[m.layer[m.lit]].optical_depth > 0) ++m.lit;
  m.lit = std::min(m.lit + 1, m.nz);
}

// 1/(d_i s) to the neighbour before and after, s the distance of the nodes; 0 at the ends.
void coefficients(const std::vector<double>& nodes, const std::vector<double>& d, std::vector<double>& before,
                  std::vector<double>& after) {
  const size_t n = d.size();
  before.assign(n + 2 * kLane, 0);
  after.assign(n + 2 * kLane, 0);
  for (size_t i = 0; i + 1 < n; ++i) {
    after[i] = 1 / (d[i] * (nodes[i + 1] - nodes[i]));
    before[i + 1] = 1 / (d[i + 1] * (nodes[i + 1] - nodes[i]));
  }
}

// [1/m] flux of theta through a face at `reach` from the node, per theta.
double loss(Edge edge, double reach, double normal, double radius2) {
  if (edge == Edge::held) return 1 / reach;
  if (edge == Edge::open) return std::max(0.0, normal) / radius2;
  return 0;
}

void losses(EnthalpyMesh& m, const EnthalpyPatch& p, double base_top) {
  const int nx = m.nx, ny = m.ny, nz = m.nz;
  m.loss_west.assign(size_t(ny) * nz, 0);
  m.loss_east = m.loss_west;
  m.loss_y.assign(size_t(nz) * m.stride, 0);
  m.loss_z.assign(size_t(ny) * m.stride, 0);
  const auto radius2 = [&](int ix, int iy, int iz) {
    const double x = m.x[ix] - p.length / 2, z = m.z[iz] - base_top;
    return x * x + m.y[iy] * m.y[iy] + z * z;
  };
  for (int iz = 0; iz < nz; ++iz)
    for (int iy = 0; iy < ny; ++iy) {
      const size_t row = size_t(iz) * ny + iy;
      m.loss_west[row] = loss(p.sides, m.dx[0] / 2, p.length / 2 - m.x[0], radius2(0, iy, iz)) / m.dx[0];
      m.loss_east[row] =
          loss(p.sides, m.dx[nx - 1] / 2, m.x[nx - 1] - p.length / 2, radius2(nx - 1, iy, iz)) / m.dx[nx - 1];
    }
  for (int ix = 0; ix < nx; ++ix) {
    for (int iz = 0; iz < nz; ++iz)
      m.loss_y[size_t(iz) * m.stride + ix] =
          loss(p.sides, m.dy[ny - 1] / 2, m.y[ny - 1], radius2(ix, ny - 1, iz)) / m.dy[ny - 1];
    for (int iy = 0; iy < ny; ++iy)
      m.loss_z[size_t(iy) * m.stride + ix] =
          loss(p.back, m.dz[nz - 1] / 2, m.z[nz - 1] - base_top, radius2(ix, iy, nz - 1)) / m.dz[nz - 1];
  }
}

EnthalpyMesh make_mesh(const std::vector<EnthalpyLayer>& layers, const EnthalpyPatch& patch) {
  EnthalpyMesh m;
  mesh_along(m, patch);
  mesh_across(m, patch);
  mesh_down(m, layers);
  m.nx = static_cast<int>(m.dx.size());
  m.ny = static_cast<int>(m.dy.size());
  m.nz = static_cast<int>(m.dz.size());
  m.stride = (m.nx + 1 + kLane - 1) / kLane * kLane;
  const double cells = double(m.nx) * m.ny * m.nz;
  need(cells < 3e7, "patch: cells", cells, "fewer than 3e7; take larger cells");
  find_lit(m, layers);
  coefficients(m.x, m.dx, m.west, m.east);
  coefficients(m.y, m.dy, m.south, m.north);
  coefficients(m.z, m.dz, m.up, m.down);
  for (int iz = 0; iz + 1 < m.nz; ++iz)
    if (m.layer[iz] != m.layer[iz + 1]) m.down[iz] = m.up[iz + 1] = 0;  // a contact, see enthalpy_step.cpp
  double base_top = 0;
  for (size_t l = 0; l + 1 < layers.size(); ++l) base_top += layers[l].thickness;
  losses(m, patch, base_top);
  return m;
}

EnthalpyLaw make_law(const EnthalpyLayer& l, double start) {
  const auto sensible = [&](double t) { return t * (l.capacity + l.capacity_slope * t / 2); };
  EnthalpyLaw law{l.conductivity,
                  l.conductivity_slope,
                  l.capacity,
                  l.capacity_slope,
                  kLarge,
                  kLarge,
                  0,
                  0,
                  l.latent,
                  kLarge,
                  kLarge};
  if (l.solidus < kNever) {
    law.melt_rise = l.solidus - start;
    law.solid = sensible(law.melt_rise);
    law.liquid = sensible(l.liquidus - start) + l.latent;
    law.melt_slope = law.liquid > law.solid ? (l.liquidus - l.solidus) / (law.liquid - law.solid) : 0;
  }
  if (l.removal_temperature < kNever) {
    law.cap = l.removal_temperature - start;
    law.removal = sensible(law.cap) + l.removal_heat;
    if (l.removal_temperature > l.liquidus) law.removal += l.latent;
  }
  return law;
}

}  // namespace

double EnthalpyLaw::rise(double enthalpy) const {
  const double u = enthalpy > liquid ? enthalpy - latent : enthalpy;
  const double root = std::sqrt(std::max(0.0, c0 * c0 + 2 * c1 * u));
  const double free = enthalpy > solid && enthalpy < liquid ? melt_rise + melt_slope * (enthalpy - solid)
                                                            : 2 * u / (c0 + root);
  return std::min(free, cap);
}

EnthalpyField make_field(std::vector<EnthalpyLayer> layers, const EnthalpyPatch& patch,
                         const EnthalpyRun& run) {
  check(layers, patch, run);
  EnthalpyField f{.patch = patch, .run = run, .profile = beam::SpotProfile(run.order_along)};
  for (const EnthalpyLayer& layer : layers) f.laws.push_back(make_law(layer, run.start));
  f.mesh = make_mesh(layers, patch);
  f.layers = std::move(layers);
  share_across(f);
  const EnthalpyMesh& m = f.mesh;
  const size_t cells = size_t(m.nz) * m.ny * m.stride + 2 * kLane;
  for (std::vector<double>* a : {&f.enthalpy, &f.rate, &f.change[0], &f.change[1], &f.theta[0], &f.theta[1]})
    a->assign(cells, 0);
  f.mask.assign(size_t(m.films) * m.ny * m.stride + 2 * kLane, 1);
  f.source.assign(size_t(m.lit) * m.ny * m.stride + 2 * kLane, 0);
  f.swing = f.source;
  f.carried.assign(size_t(m.ny) * m.nx, 0);
  for (std::vector<double>& through : f.through) through.assign(size_t(m.ny) * m.stride, 0);
  f.lit_rows.assign(size_t(m.lit) * m.ny, 0);
  f.top.assign(size_t(m.ny) * m.nx, 0);
  f.hottest.assign(f.laws.size(), 0);
  return f;
}

}  // namespace circumfluence::heat
