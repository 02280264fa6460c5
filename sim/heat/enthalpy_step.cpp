#include <algorithm>
#include <cmath>

#include "heat/enthalpy.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {
namespace {

constexpr int kLane = 8;

// One row of cells and its four neighbours; the coefficients are the row's.
struct Row {
  const double *theta, *south, *north, *up, *down, *west_of, *east_of;
  double to_south, to_north, to_up, to_down;
  int n;
};

CIRCUMFLUENCE_LANES void spread(const Row& row, double* __restrict out) {
  const double* __restrict c = row.theta, * __restrict s = row.south, * __restrict n = row.north;
  const double* __restrict u = row.up, * __restrict d = row.down, * __restrict w = row.west_of, * __restrict e = row.east_of;
  const double ks = row.to_south, kn = row.to_north, ku = row.to_up, kd = row.to_down;
  for (int i = 0; i < row.n; ++i)
    out[i] = w[i] * (c[i - 1] - c[i]) + e[i] * (c[i + 1] - c[i]) + (ks * (s[i] - c[i]) + kn * (n[i] - c[i])) +
             (ku * (u[i] - c[i]) + kd * (d[i] - c[i]));
}

// The same among cells of which some are gone: a face conducts where both its cells are there.
CIRCUMFLUENCE_LANES void spread_among(const Row& row, const Row& there, double* __restrict out) {
  const double* __restrict c = row.theta, * __restrict s = row.south, * __restrict n = row.north;
  const double* __restrict u = row.up, * __restrict d = row.down, * __restrict w = row.west_of, * __restrict e = row.east_of;
  const double* __restrict mc = there.theta, * __restrict ms = there.south, * __restrict mn = there.north;
  const double* __restrict mu = there.up;
  const double ks = row.to_south, kn = row.to_north, ku = row.to_up, kd = row.to_down;
  for (int i = 0; i < row.n; ++i)
    out[i] = mc[i] * (w[i] * mc[i - 1] * (c[i - 1] - c[i]) + e[i] * mc[i + 1] * (c[i + 1] - c[i]) +
                      (ks * ms[i] * (s[i] - c[i]) + kn * mn[i] * (n[i] - c[i])) +
                      (ku * mu[i] * (u[i] - c[i]) + kd * (d[i] - c[i])));
}

// Two half cells of different layers in series; `reach` from node to face.
struct Contact {
  const EnthalpyLaw &above, &below;
  double reach_above, reach_below;
};

// [W/m^2] downward. With theta, k(t) = sqrt(k0^2 + 2 k1 theta) and t = 2 theta / (k0 + k).
CIRCUMFLUENCE_LANES void through_contact(const Contact& c, const double* __restrict above,
                                         const double* __restrict below, double* __restrict flux, int n) {
  const double a0 = c.above.k0, a1 = 2 * c.above.k1, b0 = c.below.k0, b1 = 2 * c.below.k1;
  const double ra = c.reach_above, rb = c.reach_below;
  for (int i = 0; i < n; ++i) {
    const double ka = std::sqrt(std::max(1e-6 * a0 * a0, a0 * a0 + a1 * above[i]));
    const double kb = std::sqrt(std::max(1e-6 * b0 * b0, b0 * b0 + b1 * below[i]));
    flux[i] = (2 * above[i] / (a0 + ka) - 2 * below[i] / (b0 + kb)) / (ra / ka + rb / kb);
  }
}

CIRCUMFLUENCE_LANES void through_steady(const Contact& c, const double* __restrict above,
                                        const double* __restrict below, double* __restrict flux, int n) {
  const double per = 1 / (c.reach_above / c.above.k0 + c.reach_below / c.below.k0);
  const double a = per / c.above.k0, b = per / c.below.k0;
  for (int i = 0; i < n; ++i) flux[i] = a * above[i] - b * below[i];
}

// A stage of RKL2: change_j = mu change_(j-1) + nu change_(j-2) + p D_(j-1) + q D_0.
struct Stage {
  double mu, nu, p, q;
};

CIRCUMFLUENCE_LANES void combine(const Stage& s, const double* __restrict spread_now,
                                 const double* __restrict first, const double* __restrict before,
                                 double* __restrict change, int n) {
  const double mu = s.mu, nu = s.nu, p = s.p, q = s.q;
  for (int i = 0; i < n; ++i) change[i] = mu * before[i] + nu * change[i] + p * spread_now[i] + q * first[i];
}

// theta of H + change.
CIRCUMFLUENCE_LANES void theta_plain(const EnthalpyLaw& law, const double* __restrict h,
                                     const double* __restrict change, double* __restrict theta, int n) {
  const double solid = law.solid, liquid = law.liquid, latent = law.latent, slope = law.melt_slope;
  const double rise = law.melt_rise, per = 1 / law.c0, cap = law.cap, k0 = law.k0, k1 = law.k1 / 2;
  for (int i = 0; i < n; ++i) {
    const double now = h[i] + change[i];
    const double free = (now > liquid ? now - latent : now) * per;
    const double melting = rise + slope * (now - solid);
    const double inside = now > solid ? (now < liquid ? melting : free) : free;
    const double t = inside < cap ? inside : cap;
    theta[i] = t * (k0 + k1 * t);
  }
}

CIRCUMFLUENCE_LANES void theta_sloped(const EnthalpyLaw& law, const double* __restrict h,
                                      const double* __restrict change, double* __restrict theta, int n) {
  const double solid = law.solid, liquid = law.liquid, latent = law.latent, slope = law.melt_slope;
  const double rise = law.melt_rise, c0 = law.c0, c1 = 2 * law.c1, cap = law.cap, k0 = law.k0,
               k1 = law.k1 / 2;
  for (int i = 0; i < n; ++i) {
    const double now = h[i] + change[i];
    const double u = now > liquid ? now - latent : now;
    const double square = c0 * c0 + c1 * u;
    const double free = 2 * u / (c0 + std::sqrt(square > 0 ? square : 0.0));
    const double melting = rise + slope * (now - solid);
    const double inside = now > solid ? (now < liquid ? melting : free) : free;
    const double t = inside < cap ? inside : cap;
    theta[i] = t * (k0 + k1 * t);
  }
}

void theta_of(const EnthalpyLaw& law, const double* h, const double* change, double* theta, int n) {
  (law.c1 == 0 ? theta_plain : theta_sloped)(law, h, change, theta, n);
}

CIRCUMFLUENCE_LANES void add(const double* __restrict what, double* __restrict to, double factor, int n) {
  for (int i = 0; i < n; ++i) to[i] += factor * what[i];
}

CIRCUMFLUENCE_LANES void keep(const double* __restrict there, double* __restrict of, int n) {
  for (int i = 0; i < n; ++i) of[i] *= there[i];
}

double weight(int j) {
  return j < 2 ? 1.0 / 3 : (j * (j + 1.0) - 2) / (2.0 * j * (j + 1.0));
}

// Stage j of s, Meyer, Balsara, Aslam 2014, eqs. 15 to 18.
Stage stage(int j, int s, double step) {
  const double w = 4 * step / (s * (s + 1.0) - 2);
  if (j == 1) return {0, 0, 0, w / 3};
  const double mu = (2.0 * j - 1) / j * weight(j) / weight(j - 1);
  const double nu = -(j - 1.0) / j * weight(j) / weight(j - 2);
  return {mu, nu, mu * w, -(1 - weight(j - 1)) * mu * w};
}

// The recurrence along a row; both[0] is this stage's and the one before last, both[1] the last.
void recur(const Stage& s, const double* now, double* first, double* const (&both)[2], int n) {
  if (s.p == 0) {
    std::copy_n(now, n, first);
    for (double* change : both) std::fill_n(change, n, 0.0);
  }
  combine(s, now, first, both[1], both[0], n);
}

// What one thread needs to go through its rows.
class Sweep {
 public:
  Sweep(EnthalpyField& f) : f_(f), m_(f.mesh), out_(m_.stride), flux_(m_.stride) {}

  // Takes row r through stage j when `passed` of the step has passed; adds what leaves to `loss`, [W].
  void advance(const Stage& s, int j, int r, double passed, double& loss) {
    const int iz = r / m_.ny, iy = r % m_.ny, n = m_.stride;
    const size_t at = kLane + size_t(r) * n, line = size_t(iy) * n;
    theta_ = f_.theta[(f_.now + j - 1) % 2].data() + kLane;
    spread_row(iz, iy, passed, loss);
    double* const change[2] = {f_.change[j % 2].data() + at, f_.change[(j + 1) % 2].data() + at};
    recur(s, out_.data(), f_.rate.data() + at, change, n);
    theta_of(f_.laws[m_.layer[iz]], f_.enthalpy.data() + at, change[0],
             f_.theta[(f_.now + j) % 2].data() + at, n);
    if (iz + 1 != f_.split) return;
    double* const through[2] = {f_.through[j % 2].data() + line, f_.through[(j + 1) % 2].data() + line};
    recur(s, flux_.data(), f_.through[2].data() + line, through, n);
  }

 private:
  // Divergence of the flux and the source, [W/m^3].
  void spread_row(int iz, int iy, double passed, double& loss) {
    conduct(iz, iy);
    if (iz > 0 && m_.layer[iz - 1] != m_.layer[iz]) above(iz, iy, passed);
    if (iz + 1 < m_.nz && m_.layer[iz] != m_.layer[iz + 1]) contact(iz, iy, -1 / m_.dz[iz]);
    leave(iz, iy, loss);
    const size_t row = size_t(iz) * m_.ny + iy, at = kLane + row * m_.stride;
    if (iz >= m_.lit || !f_.lit_rows[row]) return;
    add(f_.source.data() + at, out_.data(), 1, m_.stride);
    add(f_.swing.data() + at, out_.data(), passed - 0.5, m_.stride);
  }

  // The films of a split step are done before: all they gave is known, and the flux it began with.
  void above(int iz, int iy, double passed) {
    if (iz != f_.split) return contact(iz - 1, iy, 1 / m_.dz[iz]);
    const size_t line = size_t(iy) * m_.stride;
    const double* given = f_.through[f_.film_stages % 2].data() + line;
    add(given, out_.data(), 2 * passed / (m_.dz[iz] * f_.step), m_.stride);
    add(f_.through[2].data() + line, out_.data(), (1 - 2 * passed) / m_.dz[iz], m_.stride);
  }

  Row around(const double* field, int iz, int iy) const {
    const ptrdiff_t line = m_.stride, plane = line * m_.ny;
    const double* c = field + plane * iz + line * iy;
    return {.theta = c,
            .south = iy > 0 ? c - line : c,
            .north = iy + 1 < m_.ny ? c + line : c,
            .up = iz > 0 ? c - plane : c,
            .down = iz + 1 < m_.nz ? c + plane : c,
            .west_of = m_.west.data(),
            .east_of = m_.east.data(),
            .to_south = m_.south[iy],
            .to_north = m_.north[iy],
            .to_up = m_.up[iz],
            .to_down = m_.down[iz],
            .n = m_.stride};
  }

  void conduct(int iz, int iy) {
    const Row row = around(theta_, iz, iy);
    if (iz < m_.films)
      spread_among(row, around(f_.mask.data() + kLane, iz, iy), out_.data());
    else
      spread(row, out_.data());
  }

  void contact(int upper, int iy, double sign) {
    const Contact c{f_.laws[m_.layer[upper]], f_.laws[m_.layer[upper + 1]], m_.dz[upper] / 2,
                    m_.dz[upper + 1] / 2};
    const ptrdiff_t line = m_.stride, plane = line * m_.ny, at = plane * upper + line * iy;
    const bool steady = c.above.k1 == 0 && c.below.k1 == 0;
    (steady ? through_steady : through_contact)(c, theta_ + at, theta_ + at + plane, flux_.data(), m_.stride);
    if (upper < m_.films) keep(f_.mask.data() + kLane + at, flux_.data(), m_.stride);
    add(flux_.data(), out_.data(), sign, m_.stride);
  }

  void take(int ix, double power, double volume, double& loss) {
    out_[ix] -= power;
    loss += power * volume;
  }

  void leave(int iz, int iy, double& loss) {
    const size_t row = size_t(iz) * m_.ny + iy;
    const double* theta = theta_ + row * m_.stride;
    const double face = m_.dy[iy] * m_.dz[iz];
    const int last = m_.nx - 1;
    take(0, m_.loss_west[row] * theta[0], face * m_.dx[0], loss);
    take(last, m_.loss_east[row] * theta[last], face * m_.dx[last], loss);
    if (iy == m_.ny - 1)
      for (int i = 0; i <= last; ++i)
        take(i, m_.loss_y[size_t(iz) * m_.stride + i] * theta[i], face * m_.dx[i], loss);
    if (iz < m_.nz - 1) return;
    for (int i = 0; i <= last; ++i)
      take(i, m_.loss_z[size_t(iy) * m_.stride + i] * theta[i], face * m_.dx[i], loss);
    if (f_.patch.back == Edge::cooled) cool(theta, face, loss);
  }

  void cool(const double* theta, double face, double& loss) {
    const EnthalpyLaw& law = f_.laws.back();
    const double dz = m_.dz.back(), h = f_.patch.back_coefficient;
    for (int i = 0; i < m_.nx && h > 0; ++i) {
      const double k = std::sqrt(std::max(1e-6 * law.k0 * law.k0, law.k0 * law.k0 + 2 * law.k1 * theta[i]));
      take(i, 2 * theta[i] / (law.k0 + k) / (1 / h + dz / 2 / k) / dz, face * m_.dx[i], loss);
    }
  }

  EnthalpyField& f_;
  const EnthalpyMesh& m_;
  const double* theta_ = nullptr;
  std::vector<double> out_, flux_;
};

// A number that obeys the same recurrence: the energy lost, the share of the step that has passed.
struct Tally {
  double now[2] = {0, 0}, first = 0;
  void recur(const Stage& s, double rate, int j) {
    if (j == 1) first = rate;
    now[j % 2] = s.mu * now[(j + 1) % 2] + s.nu * now[j % 2] + s.p * rate + s.q * first;
  }
};

// Planes that go through the step together.
struct Span {
  int first, last, stages;
};

void step_span(EnthalpyField& f, const Span& span, int part, int parts, std::barrier<>& meet) {
  const EnthalpyMesh& m = f.mesh;
  const long rows = long(span.last - span.first) * m.ny;
  const int start = span.first * m.ny, from = start + static_cast<int>(rows * part / parts);
  const int to = start + static_cast<int>(rows * (part + 1) / parts);
  Sweep sweep(f);
  Tally lost, passed;
  for (int j = 1; j <= span.stages; ++j) {
    const Stage s = stage(j, span.stages, f.step);
    double loss = 0;
    for (int r = from; r < to; ++r) sweep.advance(s, j, r, passed.now[(j + 1) % 2], loss);
    lost.recur(s, loss, j);
    passed.recur(s, 1 / f.step, j);
    meet.arrive_and_wait();
  }
  for (int r = from; r < to; ++r) {
    const size_t at = kLane + size_t(r) * m.stride;
    add(f.change[span.stages % 2].data() + at, f.enthalpy.data() + at, 1, m.stride);
  }
  f.lost[part] += lost.now[span.stages % 2];
}

}  // namespace

void advance(EnthalpyField& f, int part, int parts, std::barrier<>& meet) {
  if (f.split > 0) step_span(f, {0, f.split, f.film_stages}, part, parts, meet);
  step_span(f, {f.split, f.mesh.nz, f.stages}, part, parts, meet);
}

}  // namespace circumfluence::heat
