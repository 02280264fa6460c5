// How long tone curves, lettering and the smallest dots take, on a coat and on bare steel.
#include "job/job_file.h"
#include "look/lettering.h"
#include "look/tones.h"
#include "report.h"

namespace circumfluence::benchmarks {
namespace {

// The bottle of the whole-mark benchmark; bare: the same in steel.
mark::Scene scene(bool bare) {
  job::Job job = job::read_job(CIRCUMFLUENCE_CASE "/bottle.toml");
  if (bare) {
    job.workpiece.coat.clear();
    job.workpiece.coat_thickness = quantity::kUnset;
    job = job::replaced(job, "workpiece.base", "aisi_304");
  }
  return mark::prepare(job);
}

struct Ready {
  explicit Ready(bool bare, double cell)
      : scene(benchmarks::scene(bare)), swatches(scene, cell), finish(scene, swatches.model()) {}
  mark::Scene scene;
  look::Swatches swatches;
  look::Finish finish;
};

constexpr double kCell = 0;  // as it is chosen: 9.9 um

void prepare(benchmark::State& state) {
  const mark::Scene scene = benchmarks::scene(state.range(0) != 0);
  for (auto _ : state) benchmark::DoNotOptimize(look::Swatches(scene, kCell));
}

void curve(benchmark::State& state, std::optional<artwork::Screen> screen) {
  const Ready ready(state.range(0) != 0, kCell);
  for (auto _ : state) {
    const look::ToneCurve curve = look::tone_curve(ready.swatches, ready.finish, {.screen = screen});
    state.counters["tones"] = double(curve.tones.size());
    state.counters["steps"] = curve.steps;
    state.counters["gain"] = curve.gain;
  }
}

void letters(benchmark::State& state) {
  const Ready ready(state.range(0) != 0, kCell);
  for (auto _ : state) benchmark::DoNotOptimize(look::lettering(ready.swatches, ready.finish));
}

void dots(benchmark::State& state) {
  const Ready ready(state.range(0) != 0, kCell);
  for (auto _ : state) benchmark::DoNotOptimize(look::smallest(ready.swatches));
}

void correct(benchmark::State& state) {
  const Ready ready(false, kCell);
  const look::ToneCurve curve = look::tone_curve(ready.swatches, ready.finish);
  const artwork::Image art{4000, 3000, std::vector<std::uint16_t>(12'000'000, 30000), {}};
  for (auto _ : state) benchmark::DoNotOptimize(look::corrected(art, artwork::Burns::dark, curve));
}

BENCHMARK(prepare)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(curve, power, std::nullopt)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(curve, bayer, artwork::Screen::bayer)
    ->Arg(0)
    ->Arg(1)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(curve, floyd_steinberg, artwork::Screen::floyd_steinberg)
    ->Arg(0)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(curve, blue_noise, artwork::Screen::blue_noise)
    ->Arg(0)
    ->Arg(1)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK(letters)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(dots)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(correct)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace circumfluence::benchmarks

BENCHMARK_MAIN();
