// Truth: closed forms (Lax 1977, J. Appl. Phys. 48, 3919; Rosenthal 1946, Trans. ASME 68, 849), the values of
// the integral of Cline & Anthony (1977, J. Appl. Phys. 48, 3895) and Nissim et al. (1980, J. Appl. Phys. 51,
// 274) computed independently by Hankel and Fourier forms, adaptive quadrature, limits, conservation of
// energy.
#include "heat/moving_spot.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

using quantity::kPi;

Solid solid(double k, double heat_capacity) {
  return {k, k / heat_capacity};
}
const Solid kSteel = solid(16.2, 7900.0 * 500.0);
const Solid kAluminium = solid(167.0, 2700.0 * 896.0);
const Solid kPolymer = solid(0.25, 1400.0 * 1500.0);
constexpr double um = 1e-6, mm = 1e-3;

using Real = long double;

// Adaptive Simpson rule.
template <class F>
Real simpson(const F& f, Real a, Real b, Real fa, Real fm, Real fb, Real tolerance, int depth) {
  const Real m = (a + b) / 2, fl = f((a + m) / 2), fr = f((m + b) / 2);
  const Real one = (b - a) / 6 * (fa + 4 * fm + fb),
             two = (b - a) / 12 * (fa + 4 * fl + 2 * fm + 4 * fr + fb);
  if (depth <= 0 || std::fabs(two - one) < 15 * tolerance) return two + (two - one) / 15;
  return simpson(f, a, m, fa, fl, fm, tolerance / 2, depth - 1) +
         simpson(f, m, b, fm, fr, fb, tolerance / 2, depth - 1);
}

// The integral as the header writes it, over ln t, in pieces that cannot step over a feature.
double adaptive_rise(const Solid& body, const Spot& spot, const Point& at, double peak_rise) {
  const Real a = body.diffusivity, wx = spot.along, wy = spot.across;
  const auto integrand = [&](Real ln_t) {
    const Real t = std::exp(ln_t), sx = wx * wx + 8 * a * t, sy = wy * wy + 8 * a * t;
    const Real d = at.x + spot.speed * t, y = at.y, z = at.z;
    const Real exponent = 2 * d * d / sx + 2 * y * y / sy + z * z / (4 * a * t);
    return t * std::exp(-exponent) * 2 / (Real(kPi) * std::sqrt(sx * sy)) / std::sqrt(Real(kPi) * a * t);
  };
  const Real factor = a / body.conductivity, tolerance = 1e-12L * peak_rise / factor;
  const Real first = std::log(1e-24L * std::min(wx, wy) * std::min(wx, wy) / a);
  Real sum = 0;
  const auto add = [&](Real from, Real to) {
    sum += simpson(integrand, from, to, integrand(from), integrand((from + to) / 2), integrand(to),
                   tolerance / 300, 40);
  };
  Real from = first;
  if (at.x < 0 && spot.speed > 0) {  // fine pieces where the beam passed
    const Real t = -at.x / spot.speed, width = std::min(std::sqrt(wx * wx + 8 * a * t) / -at.x, Real(0.5));
    for (; from < std::log(t) - 12 * width - 1; from += 1) add(from, from + 1);
    const Real piece = width / 2;
    for (const Real end = std::log(t) + 12 * width; from < end; from += piece) add(from, from + piece);
  }
  for (const Real end = first + 120; from < end; from += 1) add(from, from + 1);
  return static_cast<double>(factor * sum);
}

TEST(MovingSpot, StandingRoundSpotFollowsTheClosedFormsOfLax) {
  const Spot spot{40 * um, 40 * um, 0};
  const struct {
    Point at;
    double aluminium, steel, polymer;
  } rows[] = {{{0, 0, 0}, 59.721898, 615.651667, 39894.228},
              {{20 * um, 0, 0}, 47.241046, 486.991035, 31557.019},
              {{0, 40 * um, 0}, 27.816048, 286.745679, 18581.120},
              {{0, 0, 10 * um}, 41.759801, 430.486837, 27895.547},
              {{0, 0, 40 * um}, 20.078741, 206.984555, 13412.599}};
  for (const auto& row : rows) {
    EXPECT_NEAR(rise(kAluminium, spot, row.at), row.aluminium, 1e-6);
    EXPECT_NEAR(rise(kSteel, spot, row.at), row.steel, 1e-6);
    EXPECT_NEAR(rise(kPolymer, spot, row.at), row.polymer, 1e-3);
  }
  const double centre = 1 / (std::sqrt(2 * kPi) * 16.2 * 40 * um);
  EXPECT_NEAR(peak(kSteel, spot).rise / centre, 1, 1e-9);
  for (const double r : {0.0, 0.3, 1.0, 2.5}) {  // in beam radii: exp(-r^2) I0(r^2)
    const double expected = centre * std::exp(-r * r) * std::cyl_bessel_i(0.0, r * r);
    EXPECT_NEAR(rise(kSteel, spot, {0.6 * r * spot.along, 0.8 * r * spot.along, 0}) / centre,
                expected / centre, 1e-9);
  }
  for (const double z : {1e-4, 0.01, 0.2, 1.0, 3.0}) {  // exp(2z^2) erfc(sqrt2 z)
    const double expected = std::exp(2 * z * z) * std::erfc(std::sqrt(2.0) * z);
    EXPECT_NEAR(rise(kSteel, spot, {0, 0, z * spot.along}) / centre, expected, 1e-8);
  }
}

TEST(MovingSpot, PeakOfARoundSpotMatchesTheTable) {
  const struct {
    const Solid& body;
    double radius, speed, x, rise;
  } rows[] = {{kSteel, 40, 10, -0.470, 604.02787},      {kSteel, 40, 41.667, -1.754, 571.28892},
              {kSteel, 40, 100, -3.558, 523.06872},     {kSteel, 40, 1000, -11.170, 282.21499},
              {kSteel, 80, 41.667, -6.201, 267.77542},  {kAluminium, 40, 41.667, -0.120, 59.43643},
              {kAluminium, 40, 1000, -2.368, 53.85675}, {kPolymer, 40, 41.667, -12.123, 15804.63391}};
  for (const auto& row : rows) {
    const Peak found = peak(row.body, {row.radius * um, row.radius * um, row.speed * mm});
    EXPECT_NEAR(found.rise, row.rise, 6e-6);  // half of the last digit printed
    EXPECT_NEAR(found.x / um, row.x, 6e-4);
  }
}

TEST(MovingSpot, PointsBesideThePeakMatchTheTable) {
  const Spot spot{40 * um, 40 * um, 41.667 * mm};
  const struct {
    Point at;
    double rise;
  } rows[] = {{{0, 0, 0}, 570.115962},   {{-40, 0, 0}, 279.274241}, {{40, 0, 0}, 212.167327},
              {{-100, 0, 0}, 99.410518}, {{0, 20, 0}, 441.950318},  {{0, 40, 0}, 242.968082},
              {{0, 0, 10}, 385.121675},  {{-20, 0, 20}, 262.610426}};
  for (const auto& row : rows)
    EXPECT_NEAR(rise(kSteel, spot, {row.at.x * um, row.at.y * um, row.at.z * um}), row.rise, 1e-6);
}

TEST(MovingSpot, EllipsesMatchTheTableInBothOrientations) {
  // At rest sqrt2 K(m) / (pi^(3/2) k a), m = 1 - (b/a)^2, a the longer radius.
  for (const auto [a, b, expected] :
       {std::array{60., 20., 660.70629}, {100., 25., 439.15743}, {50., 40., 548.94679}}) {
    EXPECT_NEAR(peak(kSteel, {a * um, b * um, 0}).rise, expected, 1e-5);
    EXPECT_NEAR(peak(kSteel, {b * um, a * um, 0}).rise, expected, 1e-5);
    const double closed = std::sqrt(2.0) * std::comp_ellint_1(std::sqrt(1 - b * b / (a * a))) /
                          (std::pow(kPi, 1.5) * 16.2 * a * um);
    EXPECT_NEAR(peak(kSteel, {a * um, b * um, 0}).rise / closed, 1, 1e-9);
  }
  EXPECT_NEAR(peak(kSteel, {60 * um, 20 * um, 41.667 * mm}).rise, 617.46652, 1e-5);
  EXPECT_NEAR(peak(kSteel, {20 * um, 60 * um, 41.667 * mm}).rise, 615.17969, 1e-5);
}

TEST(MovingSpot, TinySpotIsThePointSourceOfRosenthal) {
  const Spot spot{0.1 * um, 0.1 * um, 41.667 * mm};
  const struct {
    Point at;
    double five_watts;
  } rows[] = {{{-100, 0, 0}, 491.21896},
              {{-500, 0, 0}, 98.24379},
              {{0, 100, 0}, 295.57206},
              {{50, 0, 0}, 591.14412},
              {{-200, 100, 50}, 184.89874}};
  for (const auto& row : rows)
    EXPECT_NEAR(5 * rise(kSteel, spot, {row.at.x * um, row.at.y * um, row.at.z * um}) / row.five_watts, 1,
                3e-6);
}

TEST(MovingSpot, AgreesWithAdaptiveQuadrature) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> unit(0, 1);
  const auto between = [&](double low, double high) { return low * std::pow(high / low, unit(random)); };
  for (int i = 0; i < 150; ++i) {
    const double w = between(5e-6, 3e-4), aspect = between(1.0 / 50, 50);
    Spot spot{w * std::sqrt(aspect), w / std::sqrt(aspect), 0};
    if (i % 8) spot.speed = between(1e-4, 1e4) * 2 * kSteel.diffusivity / spot.along;
    const double reach = between(0.05, 20);
    Point at{(2 * unit(random) - 1) * reach * spot.along, reach * unit(random) * spot.across, 0};
    if (i % 3 == 0) at.z = between(1e-6, 5) * w;
    const double top = peak(kSteel, spot, 0, 0).rise;
    EXPECT_NEAR(rise(kSteel, spot, at) / top, adaptive_rise(kSteel, spot, at, top) / top, 1e-8)
        << "along " << spot.along << " across " << spot.across << " speed " << spot.speed << " at " << at.x
        << " " << at.y << " " << at.z;
  }
}

TEST(MovingSpot, FastSpotIsAOneDimensionalPulse) {
  // v -> infinity: no time for lateral flow; a Gaussian pulse of flux q on a half-space,
  // T = int q(t - s) / sqrt(pi k rho c s) ds.
  const double w = 50 * um, speed = 1e4 * 2 * kSteel.diffusivity / w;
  double top = 0;
  for (double at = 0; at < 1; at += 0.002) {  // in w / v after the beam's centre
    double sum = 0;
    for (double r = 0.0005; r < 3; r += 0.001) sum += 0.001 * 2 * std::exp(-2 * (at - r * r) * (at - r * r));
    top = std::max(top, sum);
  }
  const double effusivity = kSteel.conductivity / std::sqrt(kSteel.diffusivity);
  const double expected = 2 / (kPi * w * w) * std::sqrt(w / speed) * top / (std::sqrt(kPi) * effusivity);
  EXPECT_NEAR(peak(kSteel, {w, w, speed}).rise / expected, 1, 5e-4);
  EXPECT_LT(peak(kSteel, {w, w, speed}).rise, expected);
}

TEST(MovingSpot, SlowSpotTendsToTheStandingOne) {
  const double still = peak(kSteel, {40 * um, 40 * um, 0}).rise;
  double last = 1;
  for (const double speed : {1e-2, 1e-3, 1e-4, 1e-6}) {
    const double gap = 1 - peak(kSteel, {40 * um, 40 * um, speed}).rise / still;
    EXPECT_GT(gap, 0);
    EXPECT_LT(gap, last);
    last = gap;
  }
  EXPECT_LT(last, 1e-5);
}

TEST(MovingSpot, FarBesideAFastTrackItIsALineSource) {
  // All of P / v at once along a line: T = P / (2 pi k v t) exp(-r^2/4at), highest at t = r^2 / 4a.
  const double w = 20 * um, speed = 1000 * 2 * kSteel.diffusivity / w, r = 50 * w;
  const double expected =
      4 * kSteel.diffusivity / (2 * kPi * kSteel.conductivity * speed * r * r * std::exp(1.0));
  EXPECT_NEAR(peak(kSteel, {w, w, speed}, r).rise / expected, 1, 1e-3);
  EXPECT_NEAR(peak(kSteel, {w, w, speed}, 0.6 * r, 0.8 * r).rise / expected, 1, 1e-3);
  EXPECT_NEAR(peak(kSteel, {w, w, speed}, r).x / (-speed * r * r / (4 * kSteel.diffusivity)), 1, 1e-2);
}

TEST(MovingSpot, EveryWattPassesThroughThePlaneBehindTheSpot) {
  // Conservation: in the frame of the spot, int (rho c v T + k dT/dx) dy dz over x = -X is 1 W.
  const Spot spot{40 * um, 30 * um, 1.0};
  const double x = -200 * um, step = 8 * um, d = 0.5 * um;
  double flow = 0;
  for (int i = 0; i < 60; ++i)
    for (int j = 0; j < 50; ++j) {
      const double weight = (i ? 2 : 1) * (j ? 1 : 0.5) * step * step;  // both halves in y
      const double y = i * step, z = j * step;
      const double here = rise(kSteel, spot, {x, y, z});
      const double slope = (rise(kSteel, spot, {x + d, y, z}) - rise(kSteel, spot, {x - d, y, z})) / (2 * d);
      flow += weight * kSteel.conductivity * (spot.speed / kSteel.diffusivity * here + slope);
    }
  EXPECT_NEAR(flow, 1, 1e-4);
}

TEST(MovingSpot, SymmetricAcrossAndScalesWithLengthAndConductivity) {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> unit(0.1, 2);
  for (int i = 0; i < 50; ++i) {
    const Spot spot{unit(random) * 4e-5, unit(random) * 4e-5, unit(random)};
    const Point at{-unit(random) * 4e-5, unit(random) * 4e-5, unit(random) * 2e-5};
    const double here = rise(kSteel, spot, at), s = unit(random) * 10;
    EXPECT_DOUBLE_EQ(rise(kSteel, spot, {at.x, -at.y, at.z}), here);
    const Spot larger{s * spot.along, s * spot.across, spot.speed / s};
    EXPECT_NEAR(rise(kSteel, larger, {s * at.x, s * at.y, s * at.z}) * s / here, 1, 1e-8);
    EXPECT_NEAR(rise({3 * kSteel.conductivity, kSteel.diffusivity}, spot, at) * 3 / here, 1, 1e-12);
  }
}

TEST(MovingSpot, PeakIsTheHighestOfAScanAndFallsWithDistance) {
  std::mt19937 random(13);
  std::uniform_real_distribution<double> unit(0, 1);
  for (int i = 0; i < 25; ++i) {
    const double aspect = std::pow(50.0, 2 * unit(random) - 1), peclet = std::pow(10.0, 7 * unit(random) - 3);
    const Spot spot{30 * um * aspect, 30 * um, peclet * 2 * kSteel.diffusivity / (30 * um * aspect)};
    const double y = 8 * unit(random) * spot.across, z = i % 2 ? 0 : unit(random) * spot.across;
    const Peak found = peak(kSteel, spot, y, z);
    EXPECT_LT(found.x, 0);
    double scanned = 0;
    for (double x = 1e-8; x < 30; x *= 1.04) scanned = std::max(scanned, rise(kSteel, spot, {-x, y, z}));
    EXPECT_GE(found.rise, scanned * (1 - 1e-9))
        << "Pe " << peclet << " aspect " << aspect << " y " << y << " z " << z;
    EXPECT_LT(found.rise, scanned * 1.02);
    double last = HUGE_VAL;
    for (double eta = 0; eta < 10; eta += 0.25) {
      const double next = peak(kSteel, spot, eta * spot.across, z).rise;
      EXPECT_LT(next, last);
      last = next;
    }
  }
}

TEST(MovingSpot, RefusesWhatIsNotABody) {
  const Spot spot{4e-5, 4e-5, 0.1};
  EXPECT_THROW(rise({0, 4e-6}, spot, {}), quantity::ValidityError);
  EXPECT_THROW(rise({16, NAN}, spot, {}), quantity::ValidityError);
  EXPECT_THROW(rise(kSteel, {4e-5, -1e-6, 0.1}, {}), quantity::ValidityError);
  EXPECT_THROW(peak(kSteel, {4e-5, 4e-5, -0.1}), quantity::ValidityError);
  EXPECT_THROW(peak(kSteel, spot, 0, -1e-6), quantity::ValidityError);
  try {
    peak(kSteel, {4e-5, 4e-5, -0.1});
  } catch (const quantity::ValidityError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("speed = -100 mm/s"));
  }
}

}  // namespace
}  // namespace circumfluence::heat
