// A window of 60 x 60 settings against a plain program: each setting solved by itself, its own heat, then the fill looked
// at with that power, on both cores. The plain one looks at every tenth setting and its time is scaled. Each pair runs side
// by side in one loop; `ratio` is plain over ours, `largest_difference` the share of settings looked at whose outcome is
// another one (those that lie on an edge).
#include <benchmark/benchmark.h>

#include <filesystem>

#include "job/job_file.h"
#include "quantity/bands.h"
#include "report.h"
#include "window/recommend.h"

namespace {

using namespace circumfluence;
using benchmarks::report;
using benchmarks::seconds;

constexpr int kEvery = 10;

mark::Scene scene_of(const char* base) {
  job::Job job = job::read_job((std::filesystem::path(CIRCUMFLUENCE_CASE) / "bottle.toml").string());
  if (*base) {
    job.workpiece.coat.clear();
    job.workpiece.coat_thickness = quantity::kUnset;
    job.workpiece.base = base;
  }
  return mark::prepare(job);
}

mark::Ruling plain(const mark::Scene& scene, double power, double speed) {
  window::Look look(scene, window::place_of(scene, window::fill_of(scene.job)), speed);
  return window::ruling(look.ends(), power);
}

void compare(benchmark::State& state, const char* base) {
  const mark::Scene scene = scene_of(base);
  const window::Axes axes = window::axes_of(scene.job);
  double ours = 0, theirs = 0;
  int other = 0, looked = 0;
  for (auto _ : state) {
    double start = seconds();
    const window::Window made = window::window(scene, axes);
    std::vector<mark::Ruling> rulings;
    for (const double power : axes.power)
      for (const window::Ends& ends : made.ends) rulings.push_back(window::ruling(ends, power));
    ours += seconds() - start;
    start = seconds();
    const int count = static_cast<int>(rulings.size()) / kEvery;
    std::vector<mark::Ruling> each(static_cast<size_t>(count));
    quantity::for_bands({.count = count, .band = 8}, [&](int first, int last, int) {
      for (int i = first; i < last; ++i) {
        const size_t at = size_t(i) * kEvery + size_t(i / 6 % kEvery);
        each[size_t(i)] = plain(scene, axes.power[at / axes.speed.size()], axes.speed[at % axes.speed.size()]);
      }
    });
    theirs += (seconds() - start) * kEvery;
    for (int i = 0; i < count; ++i, ++looked) other += each[size_t(i)] != rulings[size_t(i) * kEvery + size_t(i / 6 % kEvery)];
  }
  report(state, ours, theirs, double(other) / looked);
}

void coated_window(benchmark::State& state) { compare(state, ""); }
void bare_window(benchmark::State& state) { compare(state, "aisi_304"); }
void organic_window(benchmark::State& state) { compare(state, "birch"); }

// What a slider asks for: the ends at 60 speeds.
void ends_for_a_slider(benchmark::State& state) {
  const mark::Scene scene = scene_of("");
  const window::Axes axes = window::axes_of(scene.job);
  const window::Place place = window::place_of(scene, window::fill_of(scene.job));
  for (auto _ : state) benchmark::DoNotOptimize(window::ends(scene, place, axes.speed));
}

void chances_of_a_window(benchmark::State& state) {
  const mark::Scene scene = scene_of("");
  const window::Window made = window::window(scene, window::axes_of(scene.job));
  for (auto _ : state) benchmark::DoNotOptimize(window::outlooks(window::Doubt(scene), made));
}

void recommendation(benchmark::State& state) {
  const mark::Scene scene = scene_of("");
  const window::Window made = window::window(scene, window::axes_of(scene.job));
  for (auto _ : state) {
    const window::Doubt doubt(scene);
    benchmark::DoNotOptimize(window::recommend(doubt, made, window::outlooks(doubt, made)));
  }
}

void ranking(benchmark::State& state) {
  const mark::Scene scene = scene_of("");
  const window::Place place = window::place_of(scene, window::fill_of(scene.job));
  for (auto _ : state) benchmark::DoNotOptimize(window::rank(scene, place));
}

BENCHMARK(coated_window)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(bare_window)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(organic_window)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(ends_for_a_slider)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(chances_of_a_window)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(recommendation)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(ranking)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace

BENCHMARK_MAIN();
