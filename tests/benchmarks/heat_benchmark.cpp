// The peak beside the line, alone and as a table, against a plain program: a fine trapezoid in sqrt(time) at
// each of a scan of points along the track. Each pair runs side by side in one loop; `ratio` is plain over
// ours, `largest_difference` is relative to the peak.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "heat/moving_spot.h"
#include "heat/spot_table.h"
#include "report.h"

namespace {

using namespace circumfluence::heat;
using circumfluence::benchmarks::report;
using circumfluence::benchmarks::seconds;

const Solid kSteel{16.2, 16.2 / (7900.0 * 500.0)};
constexpr double kRadius = 40e-6;

double plain_rise(const Solid& solid, const Spot& spot, double x, double y, int steps) {
  // Heat older than `back` no longer shows: its factor is below exp(-v^2 t / 4a) = exp(-25).
  const double a = solid.diffusivity;
  const double back = (std::abs(x) + 12 * spot.along) / spot.speed + 100 * a / (spot.speed * spot.speed);
  const double step = std::sqrt(back) / steps;
  double sum = 0;
  for (int i = 0; i <= steps; ++i) {
    const double t = i * step * i * step, sx = spot.along * spot.along + 8 * a * t;
    const double sy = spot.across * spot.across + 8 * a * t, d = x + spot.speed * t;
    sum += (i == 0 ? 0.5 : 1) * std::exp(-2 * d * d / sx - 2 * y * y / sy) / std::sqrt(sx * sy);
  }
  return sum * step * 4 * a / (solid.conductivity * M_PI * std::sqrt(M_PI * a));
}

double plain_peak(const Solid& solid, const Spot& spot, double y) {
  double best = 0;
  const double far = 4 * spot.along + spot.speed * y * y / solid.diffusivity;
  for (int i = 0; i < 200; ++i) {
    const double x = -0.002 * spot.along * std::pow(far / (0.002 * spot.along), i / 199.0);
    best = std::max(best, plain_rise(solid, spot, x, y, 1000));
  }
  return best;
}

void peak_beside_the_line(benchmark::State& state) {
  const Spot spot{kRadius, kRadius, 1e-3 * static_cast<double>(state.range(0))};
  const double y = 0.1 * static_cast<double>(state.range(1)) * kRadius;
  const double top = peak(kSteel, spot).rise;
  double ours = 0, plain = 0, difference = 0;
  for (auto _ : state) {
    const double start = seconds();
    const double mine = peak(kSteel, spot, y).rise;
    const double middle = seconds();
    const double theirs = plain_peak(kSteel, spot, y);
    plain += seconds() - middle;
    ours += middle - start;
    difference = std::max(difference, std::abs(mine - theirs) / top);
  }
  report(state, ours, plain, difference);
}
BENCHMARK(peak_beside_the_line)
    ->ArgNames({"mm_per_s", "tenths_of_w"})
    ->ArgsProduct({{10, 42, 1000}, {0, 10, 40}});

// A profile of 258 nodes; the plain program fills every node.
void single_state(benchmark::State& state) {
  const Spot spot{kRadius, kRadius, 1e-3 * static_cast<double>(state.range(0))};
  const double peclet = spot.speed * spot.along / (2 * kSteel.diffusivity);
  const double scale = kSteel.conductivity * kRadius;
  std::array<float, SpotTable::kNodes> profile;
  double ours = 0, plain = 0, difference = 0;
  for (auto _ : state) {
    const double start = seconds();
    SpotTable({peclet, peclet}, {1, 1}).profile(peclet, 1, profile);
    const double middle = seconds();
    ours += middle - start;
    for (int i = 0; i < SpotTable::kNodes; ++i) {
      const double theirs = scale * plain_peak(kSteel, spot, i * kRadius / SpotTable::kStepsPerRadius);
      difference = std::max(difference, std::abs(profile[size_t(i)] - theirs) / profile[0]);
    }
    plain += seconds() - middle;
  }
  report(state, ours, plain, difference);
}
BENCHMARK(single_state)
    ->ArgName("mm_per_s")
    ->Arg(42)
    ->Arg(1000)
    ->Iterations(1)
    ->Unit(benchmark::kMillisecond);

// 24 spots and 60 speeds: the plain program needs a profile for each of the 1440 (sampled, scaled), the table
// is built once and then read 1440 times.
void range_of_24_spots_and_60_speeds(benchmark::State& state) {
  constexpr int kSpots = 24, kSpeeds = 60, kEvery = 97;
  std::array<float, SpotTable::kNodes> profile;
  const auto spot_of = [](int i, int j) {
    const double aspect = std::pow(2.0, 2.0 * i / (kSpots - 1) - 1);
    return Spot{kRadius * std::sqrt(aspect), kRadius / std::sqrt(aspect),
                0.01 * std::pow(100.0, j / (kSpeeds - 1.0))};
  };
  const double half = 0.5 / kSteel.diffusivity;
  const double low = 0.01 * spot_of(0, 0).along * half, high = 1.0001 * spot_of(kSpots - 1, 0).along * half;
  double ours = 0, plain = 0, difference = 0;
  for (auto _ : state) {
    double start = seconds();
    const SpotTable table({low, high}, {0.5, 2});
    for (int n = 0; n < kSpots * kSpeeds; ++n) {
      const Spot spot = spot_of(n / kSpeeds, n % kSpeeds);
      table.profile(spot.speed * spot.along * half, spot.along / spot.across, profile);
      benchmark::DoNotOptimize(profile);
    }
    ours += seconds() - start;
    int sampled = 0;
    start = seconds();
    for (int n = 0; n < kSpots * kSpeeds; n += kEvery, ++sampled) {
      const Spot spot = spot_of(n / kSpeeds, n % kSpeeds);
      table.profile(spot.speed * spot.along * half, spot.along / spot.across, profile);
      for (int i = 0; i < SpotTable::kNodes; i += 4) {
        const double theirs = kSteel.conductivity * kRadius *
                              plain_peak(kSteel, spot, i * spot.across / SpotTable::kStepsPerRadius);
        difference = std::max(difference, std::abs(profile[size_t(i)] - theirs) / profile[0]);
      }
    }
    plain += (seconds() - start) * 4 * kSpots * kSpeeds / sampled;
  }
  report(state, ours, plain, difference);
}
BENCHMARK(range_of_24_spots_and_60_speeds)->Iterations(1)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
