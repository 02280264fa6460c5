// Truth: pulses worked out by another program (differential equation and quadrature agree), quadrature here
// in double precision with many more points, closed forms and limits.
#include "response/kinetics.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <vector>

#include "heat/layered_spot.h"
#include "quantity/error.h"

namespace circumfluence::response {
namespace {

constexpr double kGas = 8.314462618;
constexpr heat::Conductivity kLevel{16.2, 0}, kSteel{12.86, 0.01618}, kMild{51.7, -0.022};
constexpr Reaction kSteelOxide{1.15e-9, 15670}, kTitaniumOxide{3.33e-8, 18640}, kDye{4.3e11, 18040},
    kBirch{4.4e9, 16980}, kLeather{4.2e14, 22920};

// Samples of a pulse as a LayeredSpot gives them.
Shape sampled(const std::function<double(double)>& share, double from, double to, int count) {
  Shape shape;
  for (int i = 0; i < count; ++i) {
    shape.times.push_back(from + (to - from) * i / (count - 1));
    shape.shares.push_back(share(shape.times.back()));
  }
  return shape;
}

Shape gaussian(double tau, int count = 81) {
  return sampled([&](double t) { return std::exp(-(t / tau) * (t / tau)); }, -3 * tau, 3 * tau, count);
}

// The same integral by the trapezoidal rule over a curve known everywhere.
double direct(const Reaction& reaction, const Ground& ground, double peak, double background,
              const std::function<double(double)>& share, double from, double to) {
  constexpr int kCount = 40000;
  double sum = 0;
  for (int i = 0; i <= kCount; ++i) {
    const double rise = background + peak * share(from + (to - from) * i / kCount);
    const double now = ground.start + heat::true_rise(ground.conductivity, rise);
    const double rest = ground.start + heat::true_rise(ground.conductivity, background);
    sum += std::exp(-reaction.activation / now) - std::exp(-reaction.activation / rest);
  }
  return reaction.rate * sum * (to - from) / kCount;
}

// What steel under a moving spot goes through; the curve between the samples is the direct truth too.
Shape passage(const heat::Spot& spot) {
  const heat::Stack stack{{{1.0, 16.2, 7900.0 * 500}}};
  Shape shape;
  double top = 0;
  const auto cycle = heat::LayeredSpot(stack, spot).cycle();
  for (const auto& sample : cycle) top = std::max(top, sample.rise);
  for (const auto& sample : cycle) {
    shape.times.push_back(sample.time);
    shape.shares.push_back(std::max(0.0, sample.rise / top));
  }
  return shape;
}

TEST(Reactions, OfGaussianPulses) {
  const auto converted = [](double rate, double energy, double rise) {
    return bleached(Dose({rate, energy / kGas}, gaussian(1e-3), {kLevel, 293}, 2000).of(rise));
  };
  EXPECT_NEAR(converted(8.5e12, 188e3, 600), 0.035902, 2e-4);
  EXPECT_NEAR(converted(8.5e12, 188e3, 650), 0.132285, 7e-4);
  EXPECT_NEAR(converted(4.5e18, 281e3, 650), 0.352548, 2e-3);
  EXPECT_NEAR(converted(2.0e11, 160e3, 700), 0.305117, 2e-3);
  const auto grown = [](double top, double tau) {
    return oxide(0, Dose({1e-6, 200e3 / kGas}, gaussian(tau), {kLevel, 293}, 2000).of(top - 293));
  };
  EXPECT_NEAR(grown(1200, 1e-3) / 0.94151e-9, 1, 3e-3);
  EXPECT_NEAR(grown(1500, 1e-3) / 7.25807e-9, 1, 3e-3);
  EXPECT_NEAR(grown(1600, 1e-4) / 3.83280e-9, 1, 3e-3);
}

// Published holds of 1 ms and 0.1 ms: half converted at a dose of ln 2.
TEST(Reactions, OfHolds) {
  const auto half = [](double rate, double energy, double dwell) {
    return temperature_of({rate / std::log(2.0), energy / kGas}, dwell);
  };
  EXPECT_NEAR(half(8.5e12, 188e3, 1e-3), 973.37, 0.01);
  EXPECT_NEAR(half(4.5e18, 281e3, 1e-4), 990.90, 0.01);
  EXPECT_NEAR(half(7.95e9, 130e3, 1e-3), 961.87, 0.01);
  EXPECT_NEAR(half(2.0e11, 160e3, 1e-4), 1120.26, 0.01);
  EXPECT_THROW(temperature_of({10, 1e4}, 0.05), quantity::ValidityError);
}

TEST(Reactions, AddUp) {
  EXPECT_DOUBLE_EQ(oxide(3e-9, 0), 3e-9);
  EXPECT_NEAR(oxide(0, 4 * 1e-18), 2 * oxide(0, 1e-18), 1e-20);
  EXPECT_DOUBLE_EQ(bleached(0), 0);
  EXPECT_NEAR(bleached(1e-9), 1e-9, 1e-17);
  EXPECT_NEAR(1 - bleached(0.3 + 0.5), (1 - bleached(0.3)) * (1 - bleached(0.5)), 1e-15);
}

TEST(Dose, IsThatOfTheQuadratureAtEveryRise) {
  const auto share = [](double t) { return std::exp(-(t / 1e-3) * (t / 1e-3)); };
  double worst = 0;
  for (const Reaction& reaction : {kSteelOxide, kTitaniumOxide, kDye, kBirch, kLeather, Reaction{1, 4000}})
    for (const heat::Conductivity& k : {kLevel, kSteel, kMild}) {
      const Ground ground{k, 293};
      const double most = k.slope < 0 ? 1000 : 3500;
      const Dose dose(reaction, gaussian(1e-3), ground, most);
      for (double rise = 200; rise < most; rise *= 1.037) {
        const double truth = direct(reaction, ground, rise, 0, share, -4e-3, 4e-3);
        worst = std::max(worst, std::abs(dose.of(rise) / truth - 1));
      }
    }
  EXPECT_LT(worst, 0.005);
}

// The samples of a moving spot are as far apart as chords allow; more of them change nothing.
TEST(Dose, OfAMovingSpotDoesNotHangOnTheSamples) {
  for (const heat::Spot& spot : {heat::Spot{40e-6, 40e-6, 0.0417}, heat::Spot{40e-6, 40e-6, 1.0}}) {
    const Shape all = passage(spot);
    const heat::Stack stack{{{1.0, 16.2, 7900.0 * 500}}};
    const heat::LayeredSpot truth(stack, spot);
    const double top = truth.peak().rise;
    const auto share = [&](double t) { return std::max(0.0, truth.rise(-spot.speed * t, 0) / top); };
    const Dose dose(kSteelOxide, all, {kSteel, 293}, 3500);
    // Trapezoidal rule over the solution itself.
    for (const double rise : {500.0, 1000.0, 2000.0}) {
      const double half = 3 * spot.along / spot.speed;
      double sum = 0;
      const int n = 1500;
      for (int i = 0; i <= n; ++i) {
        const double now = 293 + heat::true_rise(kSteel, rise * share(-half + 4 * half * i / n));
        sum += std::exp(-kSteelOxide.activation / now) * 4 * half / n;
      }
      EXPECT_NEAR(dose.of(rise) / (kSteelOxide.rate * sum), 1, 0.005);
    }
  }
}

TEST(Dose, OfAWarmWall) {
  const auto share = [](double t) { return std::exp(-(t / 1e-3) * (t / 1e-3)); };
  const Ground ground{kSteel, 293};
  double worst = 0, plain_worst = 0;
  for (const Reaction& reaction : {kSteelOxide, kDye, kBirch})
    for (const float background : {50.0f, 100.0f, 200.0f})
      for (float rise = 500; rise < 3000; rise *= 1.2f) {
        const Dose dose(reaction, gaussian(1e-3), ground, 3500);
        const double truth = direct(reaction, ground, rise, background, share, -4e-3, 4e-3);
        const float both = rise + background;
        float warm = 0, plain = 0;
        dose.add({&both, 1}, {&background, 1}, {&warm, 1});
        dose.add({&both, 1}, {&plain, 1});
        worst = std::max(worst, std::abs(warm / truth - 1));
        plain_worst = std::max(plain_worst, std::abs(plain / truth - 1));
      }
  EXPECT_LT(worst, 0.02);
  EXPECT_NEAR(plain_worst, 0.17, 0.01);
}

TEST(Dose, AddsNothingWithoutARise) {
  const Dose dose(kSteelOxide, gaussian(1e-3), {kSteel, 293}, 3000);
  const float infinity = std::numeric_limits<float>::infinity(), not_a_number = std::nanf("");
  const std::vector<float> rises = {0, -5, 1000, 1000, 3000, 1e6f, infinity, not_a_number};
  std::vector<float> doses(rises.size(), 0.0f), warm(rises.size(), 0.0f);
  doses[3] = 1e-18f;
  dose.add(rises, doses);
  EXPECT_EQ(doses[0], 0);
  EXPECT_EQ(doses[1], 0);
  EXPECT_FLOAT_EQ(doses[3], doses[2] + 1e-18f);
  EXPECT_GT(doses[2], 0);
  EXPECT_EQ(doses[5], doses[4]);
  EXPECT_EQ(doses[6], doses[4]);
  EXPECT_EQ(doses[7], 0);
  const std::vector<float> backgrounds = {0, 0, 0, 0, 0, 0, 0, 0};
  dose.add(rises, backgrounds, warm);
  EXPECT_EQ(warm[0], 0);
  EXPECT_FLOAT_EQ(warm[2], doses[2]);
  EXPECT_TRUE(warm[6] > 0 && std::isfinite(warm[6])) << warm[6];
  EXPECT_EQ(warm[7], 0);
}

TEST(Dose, RefusesWhatIsNoCycle) {
  const Ground ground{kSteel, 293};
  EXPECT_THROW(Dose(kDye, {{0, 1}, {0, 0.5}}, ground, 1000), quantity::ValidityError);
  EXPECT_THROW(Dose(kDye, {{1, 0}, {0, 1}}, ground, 1000), quantity::ValidityError);
  EXPECT_THROW(Dose(kDye, {{0, 1, 2}, {0, 1}}, ground, 1000), quantity::ValidityError);
  EXPECT_THROW(Dose({0, 1000}, gaussian(1), ground, 1000), quantity::ValidityError);
  EXPECT_THROW(Dose(kDye, gaussian(1), ground, -1), quantity::ValidityError);
}

// A standing spot, closed forms of Lax 1977: depth exp(2 u^2) erfc(sqrt(2) u), width exp(-u^2) I0(u^2), u in
// radii.
TEST(MeltReach, FindsTheIsotherm) {
  const double w = 40e-6;
  const auto down = [&](double z) { return std::exp(2 * z * z / w / w) * std::erfc(std::sqrt(2.0) * z / w); };
  const auto aside = [&](double y) { return std::exp(-y * y / w / w) * std::cyl_bessel_i(0, y * y / w / w); };
  const std::vector<std::function<double(double)>> profiles = {down, aside};
  for (const auto& profile : profiles) {
    std::vector<double> distances, shares;
    for (int i = 0; i <= 60; ++i) {
      distances.push_back(w * 4.0 * i / 60 * (0.5 + 0.5 * i / 60));
      shares.push_back(profile(distances.back()));
    }
    const MeltReach reach(distances, shares);
    EXPECT_EQ(reach.of(0.5), 0);
    EXPECT_EQ(reach.of(1), 0);
    for (int i = 1; i < 50; ++i) {
      const double distance = w * 3.9 * i * i / 2500;
      EXPECT_NEAR(reach.of(1 / profile(distance)), distance, 0.003 * distance + 0.001 * w);
    }
    EXPECT_NEAR(reach.of(1e9), 4 * w, 1e-9);
  }
  EXPECT_THROW(MeltReach(std::vector<double>{0, 1}, std::vector<double>{1, 1.1}), quantity::ValidityError);
  EXPECT_THROW(MeltReach(std::vector<double>{0.1, 1}, std::vector<double>{1, 0.5}), quantity::ValidityError);
}

TEST(MeltReach, KeepsTheDeepest) {
  const MeltReach reach(std::vector<double>{0, 1e-5, 3e-5}, std::vector<double>{1, 0.6, 0.2});
  std::vector<float> depths = {0, 2e-5f, 0, 0};
  reach.raise(std::vector<float>{2000, 2000, 500, std::numeric_limits<float>::infinity()}, 1000, depths);
  EXPECT_FLOAT_EQ(depths[0], static_cast<float>(reach.of(2)));
  EXPECT_EQ(depths[1], 2e-5f);
  EXPECT_EQ(depths[2], 0);
  EXPECT_FLOAT_EQ(depths[3], 3e-5f);
}

}  // namespace
}  // namespace circumfluence::response
