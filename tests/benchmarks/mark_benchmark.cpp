// The whole bottle, 13.74 million cells, against the plain program of plain_mark.h on the same input. `ratio`
// is plain over ours; differences are the largest of each layer, as a share of its scale; classes are
// counted.
//
// --tables prints what the twins in Python need beside the picture, as JSON; --repeat N the seconds of N
// predictions.
#include <benchmark/benchmark.h>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <map>
#include <string>

#include "heat/kirchhoff.h"
#include "job/job_file.h"
#include "mark/predict.h"
#include "plain_mark.h"
#include "report.h"

namespace {

using namespace circumfluence;
using circumfluence::benchmarks::seconds;

// which: a folder of the case's varieties, or "".
job::Job read_case(const std::string& which = "", const std::string& name = "bottle") {
  return job::read_job(std::string(CIRCUMFLUENCE_CASE) + "/" + which + "/" + name + ".toml");
}

std::string scratch_file() {
  const char* folder = std::getenv("CIRCUMFLUENCE_SCRATCH");
  return std::string(folder ? folder : CIRCUMFLUENCE_CASE) + "/measured.mark.h5";
}

mark::Request asked(bool keep, int threads) {
  mark::Request request;
  request.keep = keep;
  request.threads = threads;
  return request;
}

// A share of the rows of the bottle.
job::Job part_of(const job::Job& job, double share) {
  job::Job part = job;
  part.grid.around_from = -0.1145;
  part.grid.around_to = -0.1145 + 0.229 * share;
  return part;
}

job::Job region(const job::Job& job) {
  job::Job part = job;
  part.grid.axial_from = 0.060;
  part.grid.axial_to = 0.080;
  part.grid.around_from = -0.010;
  part.grid.around_to = 0.010;
  return part;
}

// The plain program runs once a case; it takes seconds.
struct Plain {
  benchmarks::PlainMaps maps;
  double time;
};
const Plain& plain(const std::string& name, const job::Job& job) {
  static std::map<std::string, Plain> known;
  const auto found = known.find(name);
  if (found != known.end()) return found->second;
  const double start = seconds();
  benchmarks::PlainMaps maps = benchmarks::plain_mark(mark::prepare(job));
  return known.emplace(name, Plain{std::move(maps), seconds() - start}).first->second;
}

double difference(const std::vector<float>& theirs, const quantity::Map<float>& ours, double scale) {
  double most = 0;
  for (size_t i = 0; i < theirs.size(); ++i)
    most = std::max(most, std::abs(double(theirs[i]) - ours.data()[i]) / scale);
  return most;
}

// Relative, of the factors on power that any laser could reach: beyond, the last digits of the beam's tail
// decide.
double margin_difference(const std::vector<float>& theirs, const quantity::Map<float>& ours) {
  double most = 0;
  for (size_t i = 0; i < theirs.size(); ++i)
    if (theirs[i] < 100) most = std::max(most, std::abs(ours.data()[i] / double(theirs[i]) - 1));
  return most;
}

double unlike(const std::vector<std::uint8_t>& theirs, const quantity::Map<std::uint8_t>& ours) {
  double count = 0;
  for (size_t i = 0; i < theirs.size(); ++i) count += theirs[i] != ours.data()[i];
  return count;
}

void compare(benchmark::State& state, const mark::MarkMap& map, const Plain& plain, double ours) {
  const benchmarks::PlainMaps& p = plain.maps;
  const double start = map.scene.job.workpiece.temperature;
  const double peak = *std::max_element(p.peak_temperature.begin(), p.peak_temperature.end()) - start;
  state.counters["plain_s"] = plain.time;
  state.counters["ratio"] = plain.time / ours;
  state.counters["d_fluence"] =
      difference(p.fluence, map.maps.fluence, *std::max_element(p.fluence.begin(), p.fluence.end()));
  state.counters["d_changed"] =
      difference(p.removed, map.maps.changed, map.scene.job.workpiece.coat_thickness);
  state.counters["d_peak"] = difference(p.peak_temperature, map.maps.peak_temperature, peak);
  state.counters["d_margin"] = margin_difference(p.margin, map.maps.margin);
  state.counters["n_outcome"] = unlike(p.outcome, map.maps.outcome);
  state.counters["n_wanted"] = unlike(p.wanted, map.maps.wanted);
}

void percentiles(benchmark::State& state, std::vector<double> times) {
  std::sort(times.begin(), times.end());
  state.counters["min_ms"] = 1e3 * times.front();
  state.counters["median_ms"] = 1e3 * times[times.size() / 2];
  state.counters["p95_ms"] = 1e3 * times[std::min(times.size() - 1, times.size() * 95 / 100)];
}

double median(std::vector<double> times) {
  std::sort(times.begin(), times.end());
  return times[times.size() / 2];
}

// Predicts in a loop; returns the median.
double measure(benchmark::State& state, const job::Job& job, const mark::Request& request) {
  std::vector<double> times;
  for (auto _ : state) {
    const double start = seconds();
    benchmark::DoNotOptimize(mark::predict(job, request).verdict.hottest);
    times.push_back(seconds() - start);
  }
  percentiles(state, times);
  return median(times);
}

void arrays_kept(benchmark::State& state, const std::string& which) {
  const job::Job job = read_case(which);
  const mark::Request request = asked(true, 0);
  const double ours = measure(state, job, request);
  const mark::MarkMap map = mark::predict(job, request);
  state.counters["cells"] = double(map.maps.fluence.size());
  state.counters["ns_a_cell"] = 1e9 * ours / double(map.maps.fluence.size());
  compare(state, map, plain(which, job), ours);
}
BENCHMARK_CAPTURE(arrays_kept, straight, "")->Iterations(9)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(arrays_kept, taper, "taper")->Iterations(3)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(arrays_kept, standing, "standing")->Iterations(3)->Unit(benchmark::kMillisecond);

void file_streamed(benchmark::State& state, bool compact, bool fresh) {
  const job::Job job = read_case();
  mark::Request request;
  request.file = scratch_file();
  request.compact = compact;
  std::filesystem::remove(request.file);
  if (!fresh) mark::predict(job, request);
  std::vector<double> times;
  for (auto _ : state) {
    if (fresh) std::filesystem::remove(request.file);
    const double start = seconds();
    mark::predict(job, request);
    times.push_back(seconds() - start);
  }
  percentiles(state, times);
  state.counters["file_MB"] = 1e-6 * double(std::filesystem::file_size(request.file));
  state.counters["plain_s"] = plain("", job).time;
  state.counters["ratio"] = plain("", job).time / median(times);
  std::filesystem::remove(request.file);
}
BENCHMARK_CAPTURE(file_streamed, contiguous_new, false, true)->Iterations(7)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(file_streamed, contiguous_over, false, false)->Iterations(7)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(file_streamed, compact_new, true, true)->Iterations(3)->Unit(benchmark::kMillisecond);

// As a slider would: the setting changed, 20 mm x 20 mm predicted anew on a cold wall, the picture made.
void region_and_picture(benchmark::State& state, const std::string& name) {
  job::Job job = region(read_case("", name));
  mark::Request request = asked(true, 0);
  request.warming = false;
  std::vector<double> times;
  for (auto _ : state) {
    const double start = seconds();
    job.scan.power_share = 0.5 + 0.001 * double(times.size() % 100);
    const mark::MarkMap map = mark::predict(job, request);
    const auto png = appearance::encode_png(appearance::view_pixels(map.overview, mark::palette(map.scene)));
    benchmark::DoNotOptimize(png.data());
    times.push_back(seconds() - start);
  }
  percentiles(state, times);
  compare(state, mark::predict(job, request), plain("region of " + name, job), median(times));
}
BENCHMARK_CAPTURE(region_and_picture, of_whole_art, "bottle")->Iterations(100)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(region_and_picture, of_small_art, "small")->Iterations(100)->Unit(benchmark::kMillisecond);

// Each pair side by side, so that the machine's drift falls on both.
void one_thread_against_two(benchmark::State& state) {
  const job::Job job = read_case();
  std::vector<double> one, two, gain;
  for (auto _ : state) {
    double start = seconds();
    mark::predict(job, asked(false, 1));
    one.push_back(seconds() - start);
    start = seconds();
    mark::predict(job, asked(false, 2));
    two.push_back(seconds() - start);
    gain.push_back(one.back() / two.back());
  }
  state.counters["one_ms"] = 1e3 * median(one);
  state.counters["two_ms"] = 1e3 * median(two);
  state.counters["gain"] = median(gain);
  state.counters["gain_of_minima"] =
      *std::min_element(one.begin(), one.end()) / *std::min_element(two.begin(), two.end());
}
BENCHMARK(one_thread_against_two)->Iterations(9)->Unit(benchmark::kMillisecond);

// Quarters of the bottle, one thread, no arrays kept.
void share_of_cells(benchmark::State& state) {
  const job::Job job = part_of(read_case(), 0.25 * double(state.range(0)));
  const double ours = measure(state, job, asked(false, 1));
  state.counters["ns_a_cell"] = 1e9 * ours / (13.74e6 * 0.25 * double(state.range(0)));
}
BENCHMARK(share_of_cells)
    ->ArgName("quarters")
    ->Arg(1)
    ->Arg(2)
    ->Arg(4)
    ->Iterations(5)
    ->Unit(benchmark::kMillisecond);

// Events a cell: lines within four radii of the cell, 0.37 mm, times the passes.
void events_a_cell(benchmark::State& state) {
  job::Job job = part_of(read_case(), 0.25);
  job.scan.passes = int(state.range(0));
  const double ours = measure(state, job, asked(false, 1));
  state.counters["events"] = 3.7 * double(state.range(0));
  state.counters["ns_a_cell"] = 1e9 * ours / (13.74e6 * 0.25);
}
BENCHMARK(events_a_cell)
    ->ArgName("passes")
    ->Arg(1)
    ->Arg(2)
    ->Arg(4)
    ->Arg(8)
    ->Iterations(5)
    ->Unit(benchmark::kMillisecond);

// As the twins do: reads the job and predicts, the first time uncounted.
void repeat(int times) {
  for (int i = 0; i <= times; ++i) {
    const double start = seconds();
    const mark::MarkMap map = mark::predict(read_case(), asked(true, 0));
    benchmark::DoNotOptimize(map.verdict.hottest);
    if (i > 0) fmt::print("{}{}", i == 1 ? "[" : ", ", seconds() - start);
  }
  fmt::print("]\n");
}

std::string tables() {
  const mark::Scene scene = mark::prepare(read_case());
  const workpiece::Surface s = mark::develop(scene);
  const motion::Raster raster = mark::plan(scene);
  const auto exposure = mark::expose(scene, s, raster);
  const response::Model model = mark::respond(scene, *exposure);
  const heat::Warmth warmth(model.base, exposure->states());
  std::string profile;
  for (int i = 0; i < heat::SpotTable::kNodes - 1; ++i) {
    exposure::EventRow event{};
    event.eta = float(i) / heat::SpotTable::kStepsPerRadius;
    event.angle = 1;
    profile += fmt::format("{}{:.9g}", i ? ", " : "", warmth.at(event, heat::Warmth::Within::centre));
  }
  const exposure::Echo echo = mark::remember(scene, s, model.base, *exposure);
  std::string moments;
  for (const exposure::Echo::Moment& m : echo.moments)
    moments += fmt::format("{}[{}, [{}], [{}]]", moments.empty() ? "" : ", ", m.ahead, fmt::join(m.near, ", "),
                           fmt::join(m.far, ", "));
  const exposure::SpotState& spot = exposure->states().front();
  const response::Film& film = *model.film;
  return fmt::format(
      "{{\"rows\": {}, \"columns\": {}, \"cell\": {}, \"around_from\": {}, \"axial_from\": {}, \"radius\": "
      "{},\n"
      "\"art\": [{}, {}, {}, {}], \"first_line\": {}, \"spacing\": {}, \"lines\": {},\n"
      "\"along\": {}, \"across\": {}, \"full_energy\": {}, \"absorptivity\": {}, \"thickness\": {}, "
      "\"removal_energy\": {},\n"
      "\"need\": {}, \"threshold\": {}, \"start\": {}, \"bend\": {}, \"limit_rise\": {}, \"coat_left\": {},\n"
      "\"wall_share\": {}, \"wall_areal\": {}, \"wall_diffusivity\": {}, \"wall_loss\": 10, \"line_time\": {},\n"
      "\"two_way\": {}, \"echo_near\": {}, \"echo\": [{}],\n"
      "\"nodes_a_radius\": {}, \"warmth\": [{}]}}\n",
      s.around, s.axial, s.cell_axial, s.around_from, s.axial_from, s.reference_radius, scene.art.axial_from,
      scene.art.axial_to, scene.art.around_from, scene.art.around_to, raster.first, raster.spacing,
      raster.lines, spot.along, spot.across, scene.power() / scene.job.scan.speed, film.absorptivity,
      film.thickness, film.energy, film.need, model.thresholds.front(), model.start,
      2 * model.conductivity.slope / model.conductivity.at_start, model.limit_rise(),
      scene.job.outcome.coat_left, mark::wall_shares({model, raster, mark::line_of(scene)}, 1.0).front(),
      model.base.solid.conductivity / model.base.solid.diffusivity * model.base.wall, model.base.solid.diffusivity,
      raster.start(1, 0), raster.two_way, echo.near, moments, int(heat::SpotTable::kStepsPerRadius), profile);
}

}  // namespace

int main(int argc, char** argv) {
  setenv("CIRCUMFLUENCE_MATERIALS", CIRCUMFLUENCE_SOURCE "/sim/workpiece/materials", 0);
  if (argc > 1 && std::strcmp(argv[1], "--tables") == 0) {
    fmt::print("{}", tables());
    return 0;
  }
  if (argc > 2 && std::strcmp(argv[1], "--repeat") == 0) {
    repeat(std::atoi(argv[2]));
    return 0;
  }
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
}
