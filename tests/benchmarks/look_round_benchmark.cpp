// The look of the whole bottle, 13.74 million cells: its skin, a picture of it in the round, both with a
// halftone of a photograph's size, and what the page and the file for visualisation take.
#include <benchmark/benchmark.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cstdio>

#include "artwork/halftone.h"
#include "job/job_file.h"
#include "look/round.h"
#include "look/solid_file.h"
#include "report.h"

namespace {

using namespace circumfluence;

const mark::MarkMap& bottle() {
  static const mark::MarkMap map = [] {
    mark::Request request;
    request.keep = true;
    return mark::predict(job::read_job(std::string(CIRCUMFLUENCE_CASE) + "/bottle.toml"), request);
  }();
  return map;
}

// [s] of all threads: on a busy machine the clock says little.
double worked() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  return double(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
         1e-6 * double(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

template <class Work>
void measure(benchmark::State& state, const Work& work) {
  bottle();
  const double from = worked();
  for (auto _ : state) work();
  state.counters["worked_ms"] = 1e3 * (worked() - from) / double(state.iterations());
}

void skin_of_the_bottle(benchmark::State& state) {
  measure(state, [] { benchmark::DoNotOptimize(look::skin(bottle())); });
}

void picture_in_the_round(benchmark::State& state) {
  const look::Skin skin = look::skin(bottle());
  measure(state, [&] { benchmark::DoNotOptimize(look::render(skin, bottle().scene.profile)); });
}

void halftone_skin_and_picture(benchmark::State& state) {
  const mark::Scene& scene = bottle().scene;
  measure(state, [&] {
    benchmark::DoNotOptimize(artwork::screened(scene.image, scene.job.artwork, 0.1e-3));
    const look::Skin skin = look::skin(bottle());
    benchmark::DoNotOptimize(look::render(skin, bottle().scene.profile));
  });
}

std::string scratch(const char* name) {
  return std::string(CIRCUMFLUENCE_CASE) + "/" + std::to_string(getpid()) + name;
}

void turning_page(benchmark::State& state) {
  const look::Skin skin = look::skin(bottle());
  const std::string path = scratch(".html");
  measure(state, [&] { look::write_turning(path, bottle().scene.profile, skin, nullptr); });
  std::remove(path.c_str());
}

void solid_file(benchmark::State& state) {
  const std::string path = scratch(".hdf");
  measure(state, [&] { look::write_solid(path, bottle()); });
  std::remove(path.c_str());
}

BENCHMARK(skin_of_the_bottle)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(picture_in_the_round)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(halftone_skin_and_picture)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(turning_page)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(solid_file)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace

BENCHMARK_MAIN();
