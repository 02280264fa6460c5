// Reading a tool path: bytes and moves a second on one core, from memory and from disk, against a plain
// program that takes lines from a stream and numbers by strtod, and knows G0, G1, X, Y, S and F only.
#include <benchmark/benchmark.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <sstream>
#include <string>

#include "motion/tool_path.h"

namespace {

using namespace circumfluence::motion;

constexpr int kMoves = 1'000'000;

// A fill: short lines with power; a contour: X, Y, S; a program with numbers, comments and long words; arcs.
std::string text(int kind) {
  std::mt19937 random(7);
  const auto draw = [&](int most) { return static_cast<int>(random() % static_cast<unsigned>(most)); };
  std::string out = "G21 G90 M4 S0\nG1 F3000\n";
  for (int i = 0; i < kMoves; ++i) {
    const double x = draw(100000) * 1e-3, y = draw(100000) * 1e-3;
    auto to = std::back_inserter(out);
    if (kind == 0) fmt::format_to(to, "X{:.2f}S{}\n", x, draw(1000));
    if (kind == 1) fmt::format_to(to, "G1 X{:.3f} Y{:.3f} S{}\n", x, y, draw(1000));
    if (kind == 2) fmt::format_to(to, "N{} G01 X{:.5f} Y{:.5f} Z-0.0500 F1200.0 (lap {})\r\n", i, x, y, i);
    if (kind == 3) fmt::format_to(to, "G2 X{:.3f} Y{:.3f} I5 J5 P{}\nG1 X0Y0\n", 10.0, 10.0, 1 + draw(3));
  }
  return out;
}

PathFile how() {
  PathFile file;
  file.axial = 0;
  file.full_power_word = 1000;
  return file;
}

double plain(const std::string& all) {
  std::istringstream in(all);
  double now[128] = {}, sum = 0;
  for (std::string line; std::getline(in, line);) {
    bool moved = false;
    for (const char* at = line.c_str(); *at;) {
      if (*at == '(' || *at == ';') break;
      if (*at < 'A' || *at > 'Z') {
        ++at;
        continue;
      }
      const char letter = *at++;
      char* end = nullptr;
      now[static_cast<int>(letter)] = std::strtod(at, &end);
      at = end;
      moved |= letter == 'X' || letter == 'Y';
    }
    if (moved) sum += now['X'] + now['Y'] + now['S'];
  }
  return sum;
}

void count(benchmark::State& state, const PathNotes& notes, size_t bytes) {
  state.SetBytesProcessed(static_cast<std::int64_t>(bytes) * state.iterations());
  state.counters["moves"] =
      benchmark::Counter(static_cast<double>(notes.moves * state.iterations()), benchmark::Counter::kIsRate);
}

void from_memory(benchmark::State& state) {
  const std::string all = text(static_cast<int>(state.range(0)));
  PathNotes notes;
  double sum = 0;
  for (auto _ : state)
    notes = parse_path(all, "path.nc", how(), [&](const Move& move) {
      sum += move.to.axial + move.power;
      return true;
    });
  benchmark::DoNotOptimize(sum);
  count(state, notes, all.size());
}
BENCHMARK(from_memory)->ArgName("kind")->DenseRange(0, 3)->Unit(benchmark::kMillisecond);

void by_the_plain_program(benchmark::State& state) {
  const std::string all = text(static_cast<int>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(plain(all));
  state.SetBytesProcessed(static_cast<std::int64_t>(all.size()) * state.iterations());
}
BENCHMARK(by_the_plain_program)->ArgName("kind")->DenseRange(0, 2)->Unit(benchmark::kMillisecond);

void from_disk(benchmark::State& state) {
  const auto path = std::filesystem::temp_directory_path() / fmt::format("path_{}.nc", ::getpid());
  const std::string all = text(1);
  std::ofstream(path, std::ios::binary) << all << all << all << all;
  PathNotes notes;
  for (auto _ : state) notes = read_path(path.string(), how(), [](const Move&) { return true; });
  count(state, notes, 4 * all.size());
  std::filesystem::remove(path);
}
BENCHMARK(from_disk)->Unit(benchmark::kMillisecond);

void chords_of_an_arc(benchmark::State& state) {
  Move move{.from = {10e-3, 0, 0}, .to = {-10e-3, 0, 0}};
  move.arc.angle = 3.14159265358979;
  double sum = 0;
  for (auto _ : state) chords(move, 1e-6, [&](const PathPoint&, const PathPoint& to) { sum += to.axial; });
  benchmark::DoNotOptimize(sum);
}
BENCHMARK(chords_of_an_arc);

}  // namespace

BENCHMARK_MAIN();
