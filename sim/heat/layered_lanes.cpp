// The two loops that carry the layered spot: complex exponentials of many waves, and products of tables.
#include <algorithm>
#include <bit>
#include <cstdint>

#include "heat/layered_spot.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {
namespace {

constexpr double kShift = 6755399441055744.0;  // 1.5 * 2^52: adding it rounds to a whole number

// e^x for x in (-700, 0]: 2^k times the series of the rest, |rest| <= ln 2 / 2; relative error below 1e-14.
inline double exponential(double x) {
  const double t = x * 1.4426950408889634 + kShift, k = t - kShift;
  const double r = (x - k * 6.93147180369123816490e-01) - k * 1.90821492927058770002e-10;
  double p = 1.0 / 39916800;
  p = p * r + 1.0 / 3628800;
  p = p * r + 1.0 / 362880;
  p = p * r + 1.0 / 40320;
  p = p * r + 1.0 / 5040;
  p = p * r + 1.0 / 720;
  p = p * r + 1.0 / 120;
  p = p * r + 1.0 / 24;
  p = p * r + 1.0 / 6;
  p = p * r + 0.5;
  p = p * r + 1;
  p = p * r + 1;
  return std::bit_cast<double>(std::bit_cast<std::uint64_t>(p) + (std::bit_cast<std::uint64_t>(t) << 52));
}

struct Turn {
  double cosine, sine;
};

// Cosine and sine by quarter turns and the series up to pi/4; absolute error below 1e-14 for |x| < 1e5.
inline Turn turn(double x) {
  const double t = x * 0.63661977236758134308 + kShift, k = t - kShift;
  const double r = ((x - k * 1.57079632673412561417e+00) - k * 6.07710050630396597660e-11) -
                   k * 2.02226624879595063154e-21;
  const double z = r * r;
  double s = -1.0 / 1307674368000.0;
  s = s * z + 1.0 / 6227020800.0;
  s = s * z - 1.0 / 39916800;
  s = s * z + 1.0 / 362880;
  s = s * z - 1.0 / 5040;
  s = s * z + 1.0 / 120;
  s = s * z - 1.0 / 6;
  s = r + r * z * s;
  double c = 1.0 / 20922789888000.0;
  c = c * z - 1.0 / 87178291200.0;
  c = c * z + 1.0 / 479001600;
  c = c * z - 1.0 / 3628800;
  c = c * z + 1.0 / 40320;
  c = c * z - 1.0 / 720;
  c = c * z + 1.0 / 24;
  c = c * z - 0.5;
  c = c * z + 1;
  const std::uint64_t quarter = std::bit_cast<std::uint64_t>(t);
  const std::uint64_t odd = 0 - (quarter & 1);  // all ones where cosine and sine change places
  const std::uint64_t sb = std::bit_cast<std::uint64_t>(s), cb = std::bit_cast<std::uint64_t>(c);
  const std::uint64_t flip_sine = (quarter & 2) << 62, flip_cosine = ((quarter + 1) & 2) << 62;
  return {std::bit_cast<double>(((cb & ~odd) | (sb & odd)) ^ flip_cosine),
          std::bit_cast<double>(((sb & ~odd) | (cb & odd)) ^ flip_sine)};
}

}  // namespace

CIRCUMFLUENCE_LANES void exponentials(double* __restrict real, double* __restrict imaginary, int count) {
  for (int i = 0; i < count; ++i) {
    const double x = real[i];
    const double size = exponential(x > -690.0 ? x : -690.0);
    const Turn angle = turn(imaginary[i]);
    real[i] = size * angle.cosine;
    imaginary[i] = size * angle.sine;
  }
}

CIRCUMFLUENCE_LANES void multiply(const double* a, const double* b, double* __restrict c,
                                  const TableSize& size) {
  const int n = size.columns;
  for (int i = 0; i < size.rows; ++i) {
    double* __restrict out = c + static_cast<long>(i) * n;
    const double* left = a + static_cast<long>(i) * size.inner;
    for (int j = 0; j < n; ++j) out[j] = 0;
    int k = 0;
    for (; k + 4 <= size.inner; k += 4) {
      const double l0 = left[k], l1 = left[k + 1], l2 = left[k + 2], l3 = left[k + 3];
      const double* r0 = b + static_cast<long>(k) * n;
      const double *r1 = r0 + n, *r2 = r1 + n, *r3 = r2 + n;
      for (int j = 0; j < n; ++j) out[j] += (l0 * r0[j] + l1 * r1[j]) + (l2 * r2[j] + l3 * r3[j]);
    }
    for (; k < size.inner; ++k) {
      const double l = left[k];
      const double* r = b + static_cast<long>(k) * n;
      for (int j = 0; j < n; ++j) out[j] += l * r[j];
    }
  }
}

}  // namespace circumfluence::heat
