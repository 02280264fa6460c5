// Truth: semi-infinite solid under constant flux (Carslaw & Jaeger 1959, section 2.9), with values that agree
// with an independent finite-volume solution to 2e-6; an own finite-difference body heated until its surface
// gets there.
#include "response/threshold.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "quantity/error.h"

namespace circumfluence::response {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;
using workpiece::Material;

constexpr double kStart = 293.15;

Material body(double conductivity, double density, double heat_capacity, double rise) {
  Material m;
  m.name = "test";
  m.conductivity.value = conductivity;
  m.density.value = density;
  m.heat_capacity.value = heat_capacity;
  m.removal_temperature.value = kStart + rise;
  return m;
}

TEST(Threshold, PublishedSurfaceTemperatures) {
  // Flux times duration is what was absorbed when the surface had risen that far.
  EXPECT_NEAR(threshold(body(16.2, 7900, 500, 446.066), kStart, 1e-3), 1e8 * 1e-3, 1e5 * 1e-5);
  EXPECT_NEAR(threshold(body(167, 2700, 896, 561.385), kStart, 1e-4), 1e9 * 1e-4, 1e5 * 1e-5);
  EXPECT_NEAR(threshold(body(0.25, 1400, 1500, 492.465), kStart, 1e-3), 1e7 * 1e-3, 1e4 * 1e-5);
  EXPECT_NEAR(threshold(body(16.2, 7900, 500, 1380), kStart, 95.711e-6), 1e9 * 95.711e-6, 1e5 * 1e-5);
  EXPECT_NEAR(threshold(body(167, 2700, 896, 562), kStart, 100.219e-6), 1e9 * 100.219e-6, 1e5 * 1e-5);
}

TEST(Threshold, FiniteDifferenceBody) {
  const double k = 0.27, capacity = 1400.0 * 1500, flux = 2e7, rise = 650, depth = 60e-6;
  constexpr int kNodes = 300;
  const double step = depth / kNodes, alpha = k / capacity, dt = 0.4 * step * step / alpha;
  std::vector<double> t(kNodes, 0.0), next(kNodes);
  double time = 0, before = 0;
  while (true) {
    const double surface = t[0] + flux * step / (2 * k);  // cells' centres lie half a step in
    if (surface >= rise) {
      time -= dt * (surface - rise) / (surface - before);
      break;
    }
    before = surface;
    for (int i = 0; i < kNodes; ++i) {
      const double in = i > 0 ? k * (t[i - 1] - t[i]) / step : flux;
      const double out = i + 1 < kNodes ? k * (t[i] - t[i + 1]) / step : 0;
      next[i] = t[i] + dt * (in - out) / (capacity * step);
    }
    t.swap(next);
    time += dt;
  }
  EXPECT_NEAR(threshold(body(k, 1400, 1500, rise), kStart, time) / (flux * time), 1, 5e-3);
}

TEST(Threshold, GrowsAsTheRootOfTheDwell) {
  Material m = body(0.27, 1400, 1500, 650);
  EXPECT_NEAR(threshold(m, kStart, 4e-3) / threshold(m, kStart, 1e-3), 2, 1e-12);
  m.threshold.value = 1.8e4;  // a measured one takes the place of conduction's
  m.threshold_dwell.value = 1e-3;
  EXPECT_DOUBLE_EQ(threshold(m, kStart, 1e-3), 1.8e4);
  EXPECT_NEAR(threshold(m, kStart, 0.25e-3), 0.9e4, 1e-8);
}

TEST(Threshold, HotPartNeedsLess) {
  const Material m = body(0.27, 1400, 1500, 650);
  EXPECT_NEAR(threshold(m, kStart + 65, 1e-3) / threshold(m, kStart, 1e-3), 0.9, 1e-12);
}

TEST(Threshold, ThickIsAgainstTheDepthOfHeat) {
  const Material m = body(0.27, 1400, 1500, 650);
  const double dwell = 1e-3, depth = std::sqrt(0.27 / (1400.0 * 1500) * dwell);
  EXPECT_NEAR(thick(m, 3 * depth, dwell), 3, 1e-12);
}

TEST(Threshold, NamesWhatTheRecordLacks) {
  Material m = body(0.27, 1400, 1500, 650);
  m.removal_temperature = {};
  EXPECT_THAT([&] { threshold(m, kStart, 1e-3); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("material test has no removal_temperature")));
  m = body(0.27, 1400, 1500, 650);
  m.threshold.value = 1e4;
  EXPECT_THAT([&] { threshold(m, kStart, 1e-3); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("no threshold_dwell")));
}

}  // namespace
}  // namespace circumfluence::response
