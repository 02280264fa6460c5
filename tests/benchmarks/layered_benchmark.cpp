// Layered stacks against a plain program: the difference to the bare base on a full grid of complex waves,
// both axes by fast Fourier transform, the base's own integral added at each point looked at. Each pair runs
// side by side in one loop; `ratio` is plain over ours, `largest_difference` is relative to the peak under
// the line.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <vector>

#include "heat/layered_spot.h"
#include "heat/spot_table.h"
#include "report.h"

namespace {

using namespace circumfluence::heat;
using circumfluence::benchmarks::report;
using circumfluence::benchmarks::seconds;
using Number = std::complex<double>;

constexpr double kRadius = 40e-6;
const Layer kPaint{30e-6, 0.25, 1400.0 * 1500}, kOxide{10e-6, 1.2, 2700.0 * 800};
const Layer kAluminium{INFINITY, 167, 2700.0 * 896}, kSteel{INFINITY, 16.2, 7900.0 * 500};

// In place, n a power of two, from waves to places.
void transform(std::vector<Number>& a) {
  const size_t n = a.size();
  for (size_t i = 1, j = 0; i < n; ++i) {
    size_t bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) std::swap(a[i], a[j]);
  }
  for (size_t length = 2; length <= n; length *= 2)
    for (size_t i = 0; i < n; i += length)
      for (size_t k = 0; k < length / 2; ++k) {
        const Number turn = std::polar(1.0, 2 * M_PI * double(k) / double(length));
        const Number u = a[i + k], v = a[i + k + length / 2] * turn;
        a[i + k] = u + v;
        a[i + k + length / 2] = u - v;
      }
}

// Surface temperature of layers on a base without end; at the base's surface when `deep`.
Number answer(const std::vector<Layer>& layers, Number kx2, double ky2, double speed, bool deep) {
  Number below = 0, passed = 1;
  for (size_t j = layers.size(); j-- > 0;) {
    const Layer& layer = layers[j];
    // kx2 carries kx^2 in its real part and -kx in its imaginary part.
    const Number q =
        std::sqrt(Number(kx2.real() + ky2, kx2.imag() * speed * layer.capacity / layer.conductivity));
    const Number y = layer.conductivity * q;
    if (std::isinf(layer.thickness)) {
      below = y;
      continue;
    }
    const Number e = std::exp(-q * layer.thickness), r = (y - below) / (y + below);
    passed *= (1.0 + r) * e / (1.0 + r * e * e);
    below = y * (1.0 - r * e * e) / (1.0 + r * e * e);
  }
  return (deep ? passed : 1.0) / below;
}

struct Grid {
  int nx = 1024, ny = 1024;
  double dx, dy;
};

// The rise less that of the base alone, [y][x], x from -nx/2.
std::vector<double> difference(const Stack& stack, const Spot& spot, bool deep, const Grid& grid) {
  const int nx = grid.nx, ny = grid.ny;
  const double ax = 2 * M_PI / (nx * grid.dx), ay = 2 * M_PI / (ny * grid.dy);
  std::vector<std::vector<Number>> rows(ny, std::vector<Number>(nx));
  const std::vector<Layer> base{stack.layers.back()};
  for (int j = 0; j < ny; ++j)
    for (int i = 0; i < nx; ++i) {
      const double kx = ax * (i < nx / 2 ? i : i - nx), ky = ay * (j < ny / 2 ? j : j - ny);
      if (i == 0 && j == 0) continue;
      const double gauss =
          std::exp(-(kx * kx * spot.along * spot.along + ky * ky * spot.across * spot.across) / 8);
      const Number waves(kx * kx, -kx);
      rows[j][i] = gauss * (answer(stack.layers, waves, ky * ky, spot.speed, deep) -
                            answer(base, waves, ky * ky, spot.speed, false));
    }
  if (!deep)  // the film's resistance
    for (size_t j = 0; j + 1 < stack.layers.size(); ++j)
      rows[0][0] += stack.layers[j].thickness / stack.layers[j].conductivity;
  for (auto& row : rows) transform(row);
  std::vector<double> out(size_t(nx) * ny);
  std::vector<Number> column(ny);
  for (int i = 0; i < nx; ++i) {
    for (int j = 0; j < ny; ++j) column[j] = rows[j][i];
    transform(column);
    for (int j = 0; j < ny; ++j)
      out[size_t(j) * nx + (i + nx / 2) % nx] = column[j].real() * ax * ay / (4 * M_PI * M_PI);
  }
  return out;
}

// The peak beside the line every `grid.dy`, out to eight radii, by parabolas through the highest of all x.
std::vector<double> plain_profile(const Stack& stack, const Spot& spot, bool deep, const Grid& grid) {
  const std::vector<double> field = difference(stack, spot, deep, grid);
  const Layer& base = stack.layers.back();
  const Solid solid{base.conductivity, base.conductivity / base.capacity};
  std::vector<double> profile;
  for (int j = 0; j * grid.dy <= 8 * spot.across; ++j) {
    std::vector<double> along;
    for (int i = -grid.nx / 4; i <= 2; ++i)
      along.push_back(field[size_t(j) * grid.nx + grid.nx / 2 + i] +
                      rise(solid, spot, {i * grid.dx, j * grid.dy, 0}));
    const size_t top =
        std::clamp<size_t>(std::max_element(along.begin(), along.end()) - along.begin(), 1, along.size() - 2);
    const double a = along[top - 1], b = along[top], c = along[top + 1];
    profile.push_back(b - (c - a) * (c - a) / (8 * (a - 2 * b + c)));
  }
  return profile;
}

Stack stack_of(int layers, bool steel) {
  const Layer base = steel ? kSteel : kAluminium;
  return layers == 2 ? Stack{.layers = {kPaint, base}} : Stack{.layers = {kPaint, kOxide, base}};
}

double compare(const std::vector<float>& ours, const std::vector<double>& plain, int every) {
  double most = 0;
  for (size_t i = 0; i < plain.size(); ++i)
    most = std::max(most, std::abs(ours[i * every] - plain[i]) / plain[0]);
  return most;
}

// One profile of 258 nodes at one depth.
void single_state(benchmark::State& state) {
  const Stack stack = stack_of(int(state.range(0)), state.range(1));
  const bool deep = state.range(2);
  const Spot spot{kRadius, kRadius, 41.667e-3};
  double z = 0;
  if (deep)
    for (size_t i = 0; i + 1 < stack.layers.size(); ++i) z += stack.layers[i].thickness;
  std::vector<float> profile(SpotTable::kNodes);
  double ours = 0, plain = 0, most = 0;
  for (auto _ : state) {
    double start = seconds();
    constexpr int kAgain = 200;
    for (int i = 0; i < kAgain; ++i) {
      LayeredSpot(stack, spot, z).profile(profile);
      benchmark::DoNotOptimize(profile.data());
    }
    ours += (seconds() - start) / kAgain;
    start = seconds();
    const std::vector<double> theirs =
        plain_profile(stack, spot, deep, {.dx = kRadius / 6, .dy = kRadius / 8});
    plain += seconds() - start;
    most = std::max(most, compare(profile, theirs, SpotTable::kStepsPerRadius / 8));
  }
  report(state, ours, plain, most);
}
BENCHMARK(single_state)
    ->ArgNames({"layers", "steel", "deep"})
    ->ArgsProduct({{2, 3}, {0, 1}, {0, 1}})
    ->Iterations(1)
    ->Unit(benchmark::kMillisecond);

// 24 spots at 60 speeds: the plain program computes each of the 1440 (sampled, scaled), the table is built
// once and then read 1440 times.
void range_of_24_spots_and_60_speeds(benchmark::State& state) {
  constexpr int kSpots = 24, kSpeeds = 60, kEvery = 397;
  const Stack stack = stack_of(2, false);
  std::vector<Spot> spots;
  for (int i = 0; i < kSpots; ++i) {
    const double radius = 25e-6 * std::pow(4.0, i / (kSpots - 1.0));
    spots.push_back({radius, radius, 0});
  }
  const auto speed_of = [](int j) { return 0.01 * std::pow(50.0, j / (kSpeeds - 1.0)); };
  std::vector<float> profile(SpotTable::kNodes);
  double ours = 0, plain = 0, most = 0;
  for (auto _ : state) {
    double start = seconds();
    const LayeredTable table(stack, spots, {speed_of(0), speed_of(kSpeeds - 1)});
    for (int n = 0; n < kSpots * kSpeeds; ++n) {
      table.profile(n / kSpeeds, speed_of(n % kSpeeds), profile);
      benchmark::DoNotOptimize(profile.data());
    }
    ours += seconds() - start;
    int sampled = 0;
    for (int n = 17; n < kSpots * kSpeeds; n += kEvery, ++sampled) {
      Spot spot = spots[size_t(n / kSpeeds)];
      spot.speed = speed_of(n % kSpeeds);
      start = seconds();
      const std::vector<double> theirs =
          plain_profile(stack, spot, false, {.dx = spot.along / 6, .dy = spot.across / 8});
      plain += seconds() - start;
      table.profile(n / kSpeeds, spot.speed, profile);
      most = std::max(most, compare(profile, theirs, SpotTable::kStepsPerRadius / 8));
    }
    plain *= double(kSpots * kSpeeds) / sampled;
  }
  report(state, ours, plain, most);
}
BENCHMARK(range_of_24_spots_and_60_speeds)->Iterations(1)->Unit(benchmark::kMillisecond);

// Flat tops and the thermal cycle, for their own time.
void flat_top(benchmark::State& state) {
  const double order = static_cast<double>(state.range(0));
  std::vector<float> profile(SpotTable::kNodes);
  for (auto _ : state) {
    LayeredSpot(stack_of(2, true), {kRadius, kRadius, 41.667e-3}, 0, {order, order}).profile(profile);
    benchmark::DoNotOptimize(profile.data());
  }
}
BENCHMARK(flat_top)->ArgName("order")->Arg(4)->Arg(8)->Arg(20)->Unit(benchmark::kMicrosecond);

void cycle(benchmark::State& state) {
  const LayeredSpot spot(stack_of(2, true), {kRadius, kRadius, 41.667e-3}, 30e-6);
  for (auto _ : state) benchmark::DoNotOptimize(spot.cycle(20e-6).data());
}
BENCHMARK(cycle)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
