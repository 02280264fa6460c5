// Truth: published coat and plate values (three independent methods: Fourier, Hankel with Talbot inversion,
// finite volumes), the half-space integral, closed forms of Lax (1977), an insulated plate by images,
// superposition in time for flat tops, energy, and reciprocity of source and point.
#include "heat/layered_spot.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>

#include "beam/spot_profile.h"
#include "heat/spot_table.h"

namespace circumfluence::heat {
namespace {

constexpr double kEndless = INFINITY, kSpeed = 41.667e-3, kRadius = 40e-6;
const Layer kAluminium{kEndless, 167, 2700.0 * 896}, kSteel{kEndless, 16.2, 7900.0 * 500};
const Layer kPolymer{kEndless, 0.25, 1400.0 * 1500};
const Spot kSpot{kRadius, kRadius, kSpeed};

Layer thick(Layer layer, double thickness) {
  layer.thickness = thickness;
  return layer;
}
Stack coat_on(const Layer& base, double depth = 0) {
  return {.layers = {thick(kPolymer, 30e-6), base}, .depth = depth};
}

// By the midpoint rule in `n` pieces.
double integral(double from, double to, int n, const std::function<double(double)>& f) {
  double sum = 0;
  for (int i = 0; i < n; ++i) sum += f(from + (to - from) * (i + 0.5) / n);
  return sum * (to - from) / n;
}

TEST(LayeredSpot, PublishedCoatOnMetal) {
  const struct {
    Stack stack;
    double z, rise, x;
  } rows[] = {{coat_on(kAluminium), 0, 15795.6785, -12.08e-6},
              {coat_on(kAluminium), 15e-6, 4819.9124, -42.72e-6},
              {coat_on(kAluminium), 30e-6, 21.3777, -71.07e-6},
              {coat_on(kSteel), 0, 15802.4753, -12.09e-6},
              {coat_on(kSteel), 15e-6, 4857.7854, -43.02e-6},
              {coat_on(kSteel), 30e-6, 173.8785, -79.19e-6},
              {coat_on(kAluminium, 5e-6), 0, 54937.618 / 5, NAN},
              {coat_on(kAluminium, 5e-6), 15e-6, 24696.673 / 5, NAN},
              {coat_on(kAluminium, 5e-6), 30e-6, 108.1018 / 5, NAN},
              {coat_on(kAluminium, 10e-6), 0, 41640.963 / 5, NAN},
              {coat_on(kAluminium, 10e-6), 15e-6, 23460.166 / 5, NAN},
              {coat_on(kAluminium, 10e-6), 30e-6, 112.4239 / 5, NAN},
              {coat_on(kAluminium, 20e-6), 0, 27757.914 / 5, NAN},
              {coat_on(kAluminium, 20e-6), 15e-6, 18655.279 / 5, NAN},
              {coat_on(kAluminium, 20e-6), 30e-6, 149.0339 / 5, NAN}};
  for (const auto& row : rows) {
    const Peak peak = LayeredSpot(row.stack, kSpot, row.z).peak();
    EXPECT_NEAR(peak.rise / row.rise, 1, 2e-5) << row.z << " " << row.stack.depth;
    if (!std::isnan(row.x)) {
      EXPECT_NEAR(peak.x, row.x, 0.02e-6);
    }
  }
}

TEST(LayeredSpot, PublishedPlates) {
  EXPECT_NEAR(LayeredSpot({.layers = {thick(kSteel, 0.5e-3)}}, kSpot).peak().rise / 571.4130, 1, 2e-5);
  EXPECT_NEAR(LayeredSpot({.layers = {thick(kSteel, 0.2e-3)}}, kSpot).peak().rise / 578.2384, 1, 2e-5);
  EXPECT_NEAR(LayeredSpot({.layers = {thick(kAluminium, 0.4e-3)}}, kSpot).peak().rise / 63.1027, 1, 2e-5);
  EXPECT_NEAR(LayeredSpot({.layers = {thick(kAluminium, 0.1e-3)}}, kSpot).peak().rise / 86.3688, 1, 2e-5);
}

TEST(LayeredSpot, PublishedEllipses) {
  const Stack steel{.layers = {kSteel}};
  EXPECT_NEAR(LayeredSpot(steel, {60e-6, 20e-6, 0}).peak().rise / 660.70629, 1, 2e-5);
  EXPECT_NEAR(LayeredSpot(steel, {100e-6, 25e-6, 0}).peak().rise / 439.15743, 1, 2e-5);
  EXPECT_NEAR(LayeredSpot(steel, {60e-6, 20e-6, kSpeed}).peak().rise / 617.46652, 1, 2e-5);
  EXPECT_NEAR(LayeredSpot(steel, {20e-6, 60e-6, kSpeed}).peak().rise / 615.17969, 1, 2e-5);
}

TEST(LayeredSpot, VolumeAbsorptionInOneBody) {
  for (const auto& [depth, expected] : {std::pair{5e-6, 33744.159}, {20e-6, 24529.786}, {50e-6, 17024.490}})
    EXPECT_NEAR(
        LayeredSpot({.layers = {kPolymer}, .depth = depth}, {kRadius, kRadius, 0}).rise(0, 0) / expected, 1,
        3e-5);
}

// The same body cut into one to three layers: peak, rise and profile of the half-space integral.
TEST(LayeredSpot, LayersAllAlikeAreOneBody) {
  std::mt19937 random(3);
  const auto between = [&](double low, double high) {
    return low * std::pow(high / low, std::uniform_real_distribution<double>(0, 1)(random));
  };
  for (int i = 0; i < 150; ++i) {
    const double aspect = between(0.1, 10), peclet = i % 7 ? between(1e-3, 300) : 0;
    const Spot spot{std::sqrt(aspect), 1 / std::sqrt(aspect), 2 * peclet / std::sqrt(aspect)};
    Stack stack;
    for (int n = 0; n < i % 3; ++n) stack.layers.push_back({between(0.01, 3), 1, 1});
    stack.layers.push_back({kEndless, 1, 1});
    const double z = i % 2 ? 0 : between(0.02, 2), top = peak({1, 1}, spot, 0, z).rise;
    const LayeredSpot layered(stack, spot, z);
    EXPECT_NEAR(layered.peak().rise / top, 1, 4e-5) << peclet << " " << aspect << " " << z;
    for (int n = 0; n < 6; ++n) {
      const double x = (n % 2 ? -1 : 1) * between(0.01, n < 4 ? 5 : 50) * spot.along;
      const double y = n == 0 ? 0 : between(0.01, n < 5 ? 7.9 : 30) * spot.across;
      EXPECT_NEAR(layered.rise(x, y) / top, rise({1, 1}, spot, {x, y, z}) / top, 1e-4)
          << peclet << " " << aspect << " " << x << " " << y << " " << z;
    }
    std::vector<float> profile(SpotTable::kNodes);
    layered.profile(profile);
    for (int n = 0; n < SpotTable::kNodes; n += 7) {
      const double y = n * spot.across / SpotTable::kStepsPerRadius;
      EXPECT_NEAR(profile[size_t(n)] / top, peak({1, 1}, spot, y, z).rise / top, 3e-4)
          << peclet << " " << aspect << " " << n << " " << z;
    }
  }
}

TEST(LayeredSpot, SameOnBothSidesAndContinuousUnderTheSpot) {
  for (const Orders& orders : {Orders{2, 2}, Orders{6, 4}}) {
    const LayeredSpot spot(coat_on(kSteel), kSpot, 15e-6, orders);
    const double top = spot.peak().rise;
    for (const double x : {-100e-6, -20e-6, 30e-6})
      EXPECT_DOUBLE_EQ(spot.rise(x, 25e-6), spot.rise(x, -25e-6));
    EXPECT_NEAR(spot.rise(-1e-13, 10e-6) / top, spot.rise(1e-13, 10e-6) / top, 2e-5);
    for (const double side : {-1.0, 1.0})  // where a flat top's waves change over
      EXPECT_NEAR(spot.rise(side * 119.999e-6, 0) / top, spot.rise(side * 120.001e-6, 0) / top, 1e-4);
  }
}

// Walls down to a twentieth of the spot, both faces: mirror images of the half-space at depths 2 n h.
TEST(LayeredSpot, InsulatedWallByImages) {
  for (const double wall : {2e-6, 20e-6, 150e-6})
    for (const double speed : {0.02, 0.4})
      for (const bool behind : {false, true}) {
        const Spot spot{kRadius, 30e-6, speed};
        const LayeredSpot layered({.layers = {thick(kSteel, wall)}}, spot, behind ? wall : 0);
        for (const auto& [x, y] : {std::pair{-15e-6, 0.0}, {30e-6, 10e-6}, {-400e-6, 90e-6}}) {
          const Solid steel{kSteel.conductivity, kSteel.conductivity / kSteel.capacity};
          double sum = behind ? 0 : rise(steel, spot, {x, y, 0});
          for (int n = 1; n < 20000; ++n) {
            const double image = 2 * rise(steel, spot, {x, y, (behind ? 2 * n - 1 : 2 * n) * wall});
            sum += image;
            if (image < 1e-9 * sum) break;
          }
          EXPECT_NEAR(layered.rise(x, y) / layered.peak().rise, sum / layered.peak().rise, 1e-4)
              << wall << " " << speed << " " << x << " " << behind;
        }
      }
}

// Heat laid down at each moment, spread along each axis by itself: one integral over time of two over the
// spot.
double flat_top(const Spot& spot, const Orders& orders, double x, double y, double z) {
  const beam::SpotProfile along(orders.along), across(orders.across);
  const auto spread = [](const beam::SpotProfile& profile, double w, double at, double width) {
    return integral(-2.6, 2.6, 650,
                    [&](double t) {
                      const double d = (at - t * w) / width;
                      return profile.density(t) * std::exp(-d * d);
                    }) /
           (width * std::sqrt(M_PI));
  };
  // Solid with k = rho c = 1; time t = e^s.
  return integral(-14, 12, 520, [&](double s) {
    const double t = std::exp(s), width = std::sqrt(4 * t);
    if (width < 0.012) return 0.0;  // e^(-z^2/4t) is nothing
    return t / std::sqrt(M_PI * t) * std::exp(-z * z / (4 * t)) *
           spread(along, spot.along, x + spot.speed * t, width) * spread(across, spot.across, y, width);
  });
}

TEST(LayeredSpot, FlatTopsBySuperposition) {
  for (const Orders& orders : {Orders{4, 4}, Orders{10, 2}, Orders{2.5, 20}})
    for (const double speed : {0.3, 6.0}) {
      const Spot spot{1, 0.7, speed};
      const LayeredSpot layered({.layers = {{0.4, 1, 1}, {kEndless, 1, 1}}}, spot, 0.1, orders);
      const double top = layered.peak().rise;
      for (const auto& [x, y] :
           {std::pair{0.0, 0.0}, {-0.7, 0.3}, {0.8, 0.5}, {-2.9, 0.1}, {-7.0, 1.0}, {-1.0, 4.0}, {4.0, 0.0}})
        EXPECT_NEAR(layered.rise(x, y) / top, flat_top(spot, orders, x, y, 0.1) / top, 1e-4)
            << orders.along << " " << speed << " " << x << " " << y;
    }
}

// The rise at the surface for power absorbed on the way is that at depth for power absorbed at the surface,
// by parts.
TEST(LayeredSpot, SourceAndPointMayChangePlaces) {
  const double depth = 12e-6, coat = 30e-6;
  for (const Layer& base : {kSteel, thick(kAluminium, 100e-6)}) {
    const LayeredSpot volume(coat_on(base, depth), kSpot);
    for (const auto& [x, y] : {std::pair{-10e-6, 0.0}, {-60e-6, 30e-6}, {25e-6, 5e-6}}) {
      const auto from = [&, px = x, py = y](double z) {
        return LayeredSpot(coat_on(base), kSpot, z).rise(px, py);
      };
      const double sum = std::exp(-coat / depth) * from(coat) + integral(0, coat, 200, [&](double z) {
                           return std::exp(-z / depth) / depth * from(z);
                         });
      EXPECT_NEAR(volume.rise(x, y) / sum, 1, 1e-4) << x;
    }
  }
}

// Over any plane behind the spot: int (C v T + k dT/dx) dy dz = 1 W, in a coated wall that loses nothing.
TEST(LayeredSpot, WallCarriesThePowerAway) {
  const Stack stack{.layers = {thick(kPolymer, 20e-6), thick(kSteel, 60e-6)}, .depth = 8e-6};
  double carried = 0;
  const double x = -0.3e-3, step = 2e-6, far = 1.6e-3;
  for (int n = 0; n < 16; ++n) {
    const Layer& layer = stack.layers[n < 8 ? 0 : 1];
    const double dz = layer.thickness / 8, z = n < 8 ? (n + 0.5) * dz : 20e-6 + (n - 7.5) * dz;
    const LayeredSpot spot(stack, kSpot, z);
    carried += dz * 2 * integral(0, far, 60, [&](double y) {
                 const double slope = (spot.rise(x + step, y) - spot.rise(x - step, y)) / (2 * step);
                 return layer.capacity * kSpeed * spot.rise(x, y) + layer.conductivity * slope;
               });
  }
  EXPECT_NEAR(carried, 1, 2e-3);
}

// At rest all the power leaves through the cooled back: H int T dA = 1 W.
TEST(LayeredSpot, CooledWallLosesThePower) {
  for (const double transfer : {500.0, 20000.0}) {
    const double wall = 0.4e-3, reach = std::sqrt(kAluminium.conductivity * wall / transfer);
    const Stack stack{{thick(kPolymer, 30e-6), thick(kAluminium, wall)}, Back::wetted, transfer, 0};
    const LayeredSpot back(stack, {kRadius, kRadius, 0}, wall + 30e-6);
    const double lost = integral(std::log(1e-6), std::log(10 * reach), 300, [&](double s) {
      const double r = std::exp(s);
      return 2 * M_PI * r * r * back.rise(-r, 0);
    });
    EXPECT_NEAR(lost * transfer, 1, 1e-3) << transfer;
  }
}

// Far away in a thin wall: a line source in a plate that cools, P / (2 pi k h) e^(-b x) K0(r sqrt(b^2 + H/(k
// h))), with b = v / 2a. Straight ahead the width of the spot still counts: waves e^(-2 b x) make it e^((2 b
// w)^2 / 8) stronger.
TEST(LayeredSpot, ThinWallFarAwayIsRosenthalsPlate) {
  const double wall = 0.1e-3, transfer = 100, k = kSteel.conductivity, b = kSpeed * kSteel.capacity / (2 * k);
  const Stack stack{{thick(kSteel, wall)}, Back::ambient, transfer, 0};
  const LayeredSpot spot(stack, kSpot);
  const double width = std::exp(0.5 * b * b * kRadius * kRadius);
  for (const auto& [x, y, ahead] :
       {std::tuple{-2e-3, 0.0, 1.0}, {-2e-3, 0.5e-3, 1.0}, {-20e-3, 0.0, 1.0}, {0.4e-3, 0.0, width}}) {
    const double r = std::hypot(x, y), root = std::sqrt(b * b + transfer / (k * wall));
    const double plate = std::exp(-b * x) * std::cyl_bessel_k(0.0, r * root) / (2 * M_PI * k * wall);
    EXPECT_NEAR(spot.rise(x, y) / plate, ahead, 4e-3) << x << " " << y;
  }
}

TEST(LayeredSpot, MoreHeatBackMeansHotter) {
  const auto top = [](Back back, double transfer) {
    return LayeredSpot({{thick(kSteel, 60e-6)}, back, transfer, 0}, kSpot).peak().rise;
  };
  EXPECT_GT(top(Back::insulated, 0), top(Back::ambient, 20));
  EXPECT_GT(top(Back::ambient, 20), top(Back::wetted, 5000));
  EXPECT_NEAR(top(Back::ambient, 1e-6) / top(Back::insulated, 0), 1, 1e-5);
}

}  // namespace
}  // namespace circumfluence::heat
