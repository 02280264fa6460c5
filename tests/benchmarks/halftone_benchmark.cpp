// Greys as dots over a picture of 13.7 million of them: matrices against a plain loop over dots with a
// threshold looked up for each, error diffusion against a plain one that pushes its errors, in double; both
// sides in the same run, and how many dots come out otherwise. By itself: art brought to dots, and the making
// of the blue noise.
#include <cmath>
#include <random>

#include "artwork/halftone.h"
#include "report.h"

namespace {

using namespace circumfluence::artwork;
using circumfluence::benchmarks::seconds;

constexpr int kWidth = 4000, kHeight = 3425;

const Image& photograph() {
  static const Image picture = [] {
    Image out{kWidth, kHeight, {}, {}};
    std::mt19937 random(1);
    for (int y = 0; y < kHeight; ++y)
      for (int x = 0; x < kWidth; ++x)
        out.tone.push_back(static_cast<std::uint16_t>(
            32768 + 24000 * std::sin(x * 0.01) * std::cos(y * 0.013) + double(random() % 8000)));
    return out;
  }();
  return picture;
}

Image plain_matrix(const Image& asked, Screen screen) {
  const auto rank = ranks(screen);
  const int side = screen == Screen::bayer ? kBayerSide : kBlueNoiseSide;
  Image out = asked;
  for (int y = 0; y < asked.height; ++y)
    for (int x = 0; x < asked.width; ++x) {
      std::uint16_t& tone = out.tone[size_t(y) * size_t(asked.width) + size_t(x)];
      const double threshold = (rank[size_t(y % side * side + x % side)] + 0.5) / double(rank.size());
      tone = 1 - tone / 65535.0 > threshold ? 0 : 65535;
    }
  return out;
}

struct Push {
  int ahead, down;
  double weight;
};

std::vector<Push> pushes(Screen screen) {
  if (screen == Screen::floyd_steinberg)
    return {{1, 0, 7 / 16.0}, {-1, 1, 3 / 16.0}, {0, 1, 5 / 16.0}, {1, 1, 1 / 16.0}};
  const bool jarvis = screen == Screen::jarvis_judice_ninke;
  std::vector<Push> out;
  for (int down = 0; down < 3; ++down)
    for (int ahead = down == 0 ? 1 : -2; ahead <= 2; ++ahead) {
      const int far = down + std::abs(ahead);  // 1 to 4
      out.push_back({ahead, down, jarvis ? (9 - 2 * far) / 48.0 : std::exp2(4 - far) / 42});
    }
  return out;
}

Image plain_diffusion(const Image& asked, Screen screen) {
  const std::vector<Push> push = pushes(screen);
  Image out = asked;
  std::vector<double> got(asked.tone.size(), 0.0);
  for (int y = 0; y < asked.height; ++y)
    for (int i = 0; i < asked.width; ++i) {
      const int way = y % 2 == 0 ? 1 : -1, x = way > 0 ? i : asked.width - 1 - i;
      const size_t at = size_t(y) * size_t(asked.width) + size_t(x);
      const double share = 1 - asked.tone[at] / 65535.0 + got[at];
      out.tone[at] = share > 0.5 ? 0 : 65535;
      for (const Push& p : push) {
        const int to = x + way * p.ahead, row = y + p.down;
        if (to >= 0 && to < asked.width && row < asked.height)
          got[size_t(row) * size_t(asked.width) + size_t(to)] += (share - (share > 0.5)) * p.weight;
      }
    }
  return out;
}

double differing(const Image& one, const Image& other) {
  size_t count = 0;
  for (size_t i = 0; i < one.tone.size(); ++i) count += one.tone[i] != other.tone[i];
  return double(count) / double(one.tone.size());
}

double mean(const Image& image) {
  double sum = 0;
  for (const std::uint16_t tone : image.tone) sum += 1 - tone / 65535.0;
  return sum / double(image.tone.size());
}

// The sides of error diffusion are not the plain one's, so that dots differ there and below; its mean is told
// instead.
void dots(benchmark::State& state) {
  const auto screen = static_cast<Screen>(state.range(0));
  const bool matrix = !ranks(screen).empty();
  double ours = 0, plain = 0, difference = 0;
  benchmark::DoNotOptimize(halftone(photograph(), screen));
  for (auto _ : state) {
    const double start = seconds();
    const Image out = halftone(photograph(), screen);
    const double between = seconds();
    const Image twin = matrix ? plain_matrix(photograph(), screen) : plain_diffusion(photograph(), screen);
    plain += seconds() - between;
    ours += between - start;
    difference = matrix ? differing(out, twin) : std::abs(mean(out) - mean(photograph()));
  }
  circumfluence::benchmarks::report(state, ours, plain, difference);
  state.counters["ns_a_dot"] = 1e9 * ours / double(state.iterations()) / kWidth / kHeight;
}
BENCHMARK(dots)->ArgName("screen")->DenseRange(0, 4)->Unit(benchmark::kMillisecond)->Iterations(5);

void screening(benchmark::State& state) {  // with the art's means over dots that do not lie on its pixels
  const Placement place{
      .size_axial = 0.2, .size_around = 0.2 * kHeight / kWidth, .axial = 0.1, .screen = Screen::stucki};
  for (auto _ : state) benchmark::DoNotOptimize(screened(photograph(), place, 0.2 / 3990));
}
BENCHMARK(screening)->Unit(benchmark::kMillisecond)->Iterations(5);

void blue_noise(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(void_and_cluster());
}
BENCHMARK(blue_noise)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
