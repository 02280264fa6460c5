// The answer of a stack to one wave of absorbed power, for many waves at a time.
#include <algorithm>
#include <cmath>

#include "heat/layered_spot.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {
namespace {

constexpr int kMost = LayeredAnswer::kMost;

struct Waves {
  alignas(64) double re[kMost];
  alignas(64) double im[kMost];
};

struct Complex {
  double re, im;
};
inline Complex operator+(Complex a, Complex b) {
  return {a.re + b.re, a.im + b.im};
}
inline Complex operator-(Complex a, Complex b) {
  return {a.re - b.re, a.im - b.im};
}
inline Complex operator*(Complex a, Complex b) {
  return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}
inline Complex operator*(double a, Complex b) {
  return {a * b.re, a * b.im};
}
inline Complex operator/(Complex a, Complex b) {
  const double size = 1 / (b.re * b.re + b.im * b.im);
  return {(a.re * b.re + a.im * b.im) * size, (a.im * b.re - a.re * b.im) * size};
}
inline Complex at(const Waves& w, int i) {
  return {w.re[i], w.im[i]};
}
inline void put(Waves& w, int i, Complex c) {
  w.re[i] = c.re;
  w.im[i] = c.im;
}

struct Row {
  Complex start;     // q^2 less ky^2
  double forbidden;  // mu^2, to keep away from; 0 where nothing is
};

// q with Re q > 0. Where q would meet 1/optical depth the two parts of the answer are infinite and cancel:
// such a wave is moved aside by a few hundred-thousandths.
CIRCUMFLUENCE_LANES void roots(const double* ky, const Row& row, int n, Waves& q) {
  const double near = 1e-5 * row.forbidden;
  for (int i = 0; i < n; ++i) {
    double a = ky[i] * ky[i] + row.start.re;
    const double b = row.start.im, off = a - row.forbidden;
    a += off * off + b * b < near * near ? 3 * near : 0.0;
    const double u = std::sqrt(0.5 * (std::sqrt(a * a + b * b) + std::abs(a)) + 1e-300);
    const double w = 0.5 * b / u;
    const double other = w < 0 ? -w : w;
    q.re[i] = a >= 0 ? u : other;
    q.im[i] = a >= 0 ? w : (b < 0 ? -u : u);
  }
}

CIRCUMFLUENCE_LANES void exponents(const Waves& q, double length, int n, Waves& out) {
  for (int i = 0; i < n; ++i) {
    out.re[i] = -length * q.re[i];
    out.im[i] = -length * q.im[i];
  }
}

// e^(-q length)
void decays(const Waves& q, double length, int n, Waves& out) {
  if (length == 0 || std::isinf(length)) {
    std::fill_n(out.re, n, length == 0 ? 1.0 : 0.0);
    std::fill_n(out.im, n, 0.0);
    return;
  }
  exponents(q, length, n, out);
  exponentials(out.re, out.im, n);
}

// B = k q where nothing comes back.
CIRCUMFLUENCE_LANES void endless(const Waves& q, double k, int n, Waves& b) {
  for (int i = 0; i < n; ++i) put(b, i, k * at(q, i));
}

// One layer or a part of one.
struct Sheet {
  const Waves& q;
  const Waves& e;  // e^(-q thickness)
  double k;        // conductivity
};

// The share of the temperature at the sheet's upper face that gets to its lower one, B the admittance below.
CIRCUMFLUENCE_LANES void pass(const Sheet& sheet, const Waves& b, int n, Waves& passed) {
  const Complex one{1, 0};
  for (int i = 0; i < n; ++i) {
    const Complex e = at(sheet.e, i), e2 = e * e, y = sheet.k * at(sheet.q, i);
    put(passed, i, at(passed, i) * (2 * (e * y) / ((one + e2) * (y + at(b, i) * ((one - e2) / (one + e2))))));
  }
}

// From the admittance below a sheet to the one at its upper face.
CIRCUMFLUENCE_LANES void cover(const Sheet& sheet, int n, Waves& b) {
  const Complex one{1, 0};
  for (int i = 0; i < n; ++i) {
    const Complex e = at(sheet.e, i), e2 = e * e, t = (one - e2) / (one + e2), y = sheet.k * at(sheet.q, i);
    put(b, i, y * (at(b, i) + y * t) / (y + at(b, i) * t));
  }
}

CIRCUMFLUENCE_LANES void times(const Waves& factor, int n, Waves& b) {
  for (int i = 0; i < n; ++i) put(b, i, at(b, i) * at(factor, i));
}

// The first layer cut at z: `upper` above, `lower` e^(-q) of what is below, B of the layers beneath.
struct Lit {
  Sheet upper;
  const Waves& lower;
  double mu;                // [1/m] 1 / optical depth
  double here, underneath;  // e^(-mu z), e^(-mu thickness)
};

// Temperature at z for power absorbed at the surface; takes the place of B.
CIRCUMFLUENCE_LANES void light_surface(const Lit& lit, int n, Waves& b) {
  const Complex one{1, 0};
  for (int i = 0; i < n; ++i) {
    const Complex y = lit.upper.k * at(lit.upper.q, i), ez = at(lit.upper.e, i), er = at(lit.lower, i);
    const Complex e2 = ez * er * ez * er, r2 = er * er, below = at(b, i);
    put(b, i, ez * (y * (one + r2) + below * (one - r2)) / (y * (y * (one - e2) + below * (one + e2))));
  }
}

// The same for power absorbed along the way, with the rest at the lower face: a particular solution
// P e^(-mu z), and waves that mend the flux at the surface (by U) and at the lower face (by V).
CIRCUMFLUENCE_LANES void light_depth(const Lit& lit, int n, Waves& b) {
  const Complex one{1, 0};
  const double mu = lit.mu, k = lit.upper.k;
  for (int i = 0; i < n; ++i) {
    const Complex q = at(lit.upper.q, i), y = k * q, ez = at(lit.upper.e, i), er = at(lit.lower, i);
    const Complex q2 = q * q, off = q2 - Complex{mu * mu, 0}, below = at(b, i);
    const Complex z2 = ez * ez, r2 = er * er, e2 = z2 * r2;
    const Complex d = y * (one - e2) + below * (one + e2);
    const Complex at_surface = ez * (y * (one + r2) + below * (one - r2)) / y;
    const Complex at_face = lit.underneath * (er * (one + z2));
    const Complex mended = (q2 - (mu / k) * below) * at_face - (mu * mu) * at_surface;
    put(b, i, (mended / d + Complex{mu / k * lit.here, 0}) / off);
  }
}

}  // namespace

LayeredAnswer::LayeredAnswer(const Stack& stack, double z) : stack_(stack), z_(z) {
  double top = 0;
  for (size_t j = 0; j < stack.layers.size(); ++j) {
    const double h = stack.layers[j].thickness, inside = z - top;
    const int layer = static_cast<int>(j);
    if (j > 0 && inside > 0 && inside < h) {
      slabs_.push_back({layer, inside, true});
      slabs_.push_back({layer, h - inside, false});
    } else if (j > 0) {
      slabs_.push_back({layer, h, inside >= h});
    }
    top += h;
  }
  std::reverse(slabs_.begin(), slabs_.end());
}

void LayeredAnswer::at(std::complex<double> kx, double speed, std::span<const double> ky, double* out) const {
  const int n = static_cast<int>(ky.size());
  const Layer& first = stack_.layers[0];
  const double mu = stack_.depth > 0 ? 1 / stack_.depth : 0.0;
  Waves q, e, rest, passed, b;
  const auto root = [&](const Layer& layer, double forbidden) {
    const std::complex<double> start =
        kx * kx - std::complex(0.0, speed * layer.capacity / layer.conductivity) * kx;
    roots(ky.data(), {{start.real(), start.imag()}, forbidden}, n, q);
  };
  std::fill_n(b.re, n, stack_.back == Back::insulated ? 0.0 : stack_.back_transfer);
  std::fill_n(b.im, n, 0.0);
  std::fill_n(passed.re, n, 1.0);
  std::fill_n(passed.im, n, 0.0);
  for (size_t i = 0; i < slabs_.size(); ++i) {
    const Slab& part = slabs_[i];
    const Layer& layer = stack_.layers[part.layer];
    if (i == 0 || slabs_[i - 1].layer != part.layer) root(layer, 0);
    if (std::isinf(part.thickness)) {
      endless(q, layer.conductivity, n, b);
      continue;
    }
    decays(q, part.thickness, n, e);
    const Sheet sheet{q, e, layer.conductivity};
    if (part.above) pass(sheet, b, n, passed);
    cover(sheet, n, b);
  }
  const double upper = std::min(z_, first.thickness);
  root(first, mu * mu);
  decays(q, upper, n, e);
  decays(q, first.thickness - upper, n, rest);
  if (mu > 0)
    light_depth(
        {{q, e, first.conductivity}, rest, mu, std::exp(-mu * upper), std::exp(-mu * first.thickness)}, n, b);
  else
    light_surface({{q, e, first.conductivity}, rest, 0, 1, 1}, n, b);
  times(passed, n, b);
  std::copy_n(b.re, n, out);
  std::copy_n(b.im, n, out + n);
}

}  // namespace circumfluence::heat
