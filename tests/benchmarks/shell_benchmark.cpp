// The wall's warming over a whole job, against a plain program: every mode of a 1 mm grid in double, moved on
// from line to line by its own exponential, written and read at the middle of each line (the young ones too:
// it is simple, but a long way off where the head turns). `ratio` is plain over ours, one thread each.
//
// largest_difference is what counts: ours against the sum over all pairs of cells and lines (closed form, in
// double) at sampled cells, relative to the greatest rise; plain_difference the same of the plain program.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "heat/shell.h"
#include "report.h"

namespace {

using namespace circumfluence;
using namespace circumfluence::heat;
using circumfluence::benchmarks::seconds;

constexpr int kAround = 229, kAxial = 150;
constexpr double kCell = 1e-3, kPitch = 0.1e-3, kSpeed = 41.667e-3;

struct Plan {
  std::vector<std::vector<float>> rows;
  std::vector<BurntLine> lines;
  ShellJob job;
};

enum class Kind { even, uneven };

// A picture of blobs: absorbed energies from nothing to 120 J/m.
std::vector<float> row(int line, int first, int cells) {
  std::vector<float> out(cells);
  for (int j = 0; j < cells; ++j) {
    const double u = (first + j) * kCell, s = line * kPitch;
    const double tone = std::sin(190 * u) * std::cos(140 * s) + std::sin(63 * u + 88 * s);
    out[j] = static_cast<float>(120 * std::clamp(0.5 + tone, 0.0, 1.0));
  }
  return out;
}

// Even: every line over the whole length. Uneven: lines of their own length, pauses, every third line first.
Plan plan(const Wall& wall, int lines, Kind kind) {
  Plan p;
  std::mt19937 random(1);
  double time = 0;
  const double turn = 3.6 - kAxial * kCell / 41.8e-3;
  for (int n = 0; n < lines; ++n) {
    const int third = (lines + 2) / 3, place = kind == Kind::even ? n : n % third * 3 + n / third;
    const int cut = kind == Kind::even ? 0 : static_cast<int>(random() % 20);
    p.rows.push_back(row(place, cut, kAxial - 2 * cut));
    const double duration = (kAxial - 2 * cut) * kCell / (kind == Kind::even ? 41.8e-3 : kSpeed);
    p.lines.push_back({place * kPitch, time, duration, n % 2 == 0, cut, {}});
    time += duration + turn + (kind == Kind::uneven ? 1e-3 * double(random() % 100) : 0);
  }
  for (int n = 0; n < lines; ++n) p.lines[n].energies = p.rows[n];
  p.job = {.wall = wall,
           .loss = {14, 5, {}},
           .tube = {kAround * kCell, kAxial * kCell, kAround, kAxial},
           .direction = motion::Direction::axial,
           .beam = 50e-6,
           .lines = p.lines};
  return p;
}

double theta(double fourier) {
  double sum = 1;
  for (int p = 1; p * p * fourier < 4; ++p) sum += 2 * std::exp(-p * p * M_PI * M_PI * fourier);
  return sum;
}

double moment(const BurntLine& line, double cells) {
  const double n = static_cast<double>(line.energies.size());
  return line.start + line.duration * (line.forth ? cells : n - cells) / n;
}

// What one joule per metre in [from, to] becomes at x along and at a distance across after t.
double spread(const ShellJob& job, double from, double to, double x, double distance, double t) {
  const double a = job.wall.diffusivity(), r = std::sqrt(4 * a * t), size = job.beam * job.beam + 8 * a * t;
  double along = 0, across = 0;
  for (int j = -2; j <= 2; ++j) {
    const double shift = 2 * j * job.tube.length, d = distance + j * job.tube.circumference;
    along += std::erf((to + shift - x) / r) - std::erf((from + shift - x) / r) +
             std::erf((shift - from - x) / r) - std::erf((shift - to - x) / r);
    across += std::exp(-2 * d * d / size);
  }
  return along / 2 * across * std::sqrt(2 / (M_PI * size)) * theta(a * t / std::pow(job.wall.thickness, 2)) *
         std::exp(-(job.loss.outside + job.loss.inside) * t / job.wall.areal()) / job.wall.areal();
}

double direct(const ShellJob& job, std::size_t n, int cell) {
  const BurntLine& now = job.lines[n];
  const double x = (now.first + cell + 0.5) * kCell, time = moment(now, cell + 0.5);
  double sum = 0;
  for (std::size_t m = 0; m < n; ++m) {
    const BurntLine& old = job.lines[m];
    const int pieces = n - m < 4 ? 8 : 1;
    for (int j = 0; j < int(old.energies.size()) * pieces; ++j) {
      const double from = old.first * kCell + j * kCell / pieces;
      const double t = time - moment(old, (j + 0.5) / pieces);
      if (std::abs(from - x) < kCell + 14 * std::sqrt(job.wall.diffusivity() * t) || x < 2e-2 || x > 13e-2)
        sum += old.energies[j / pieces] *
               spread(job, from, from + kCell / pieces, x, old.across - now.across, t);
    }
  }
  return sum;
}

// As one would write it with arrays: [mode around][mode along], cosines and sines around, cosines along.
class Plain {
 public:
  explicit Plain(const ShellJob& job) : job_(job), state_(std::size_t(kAround) * kAxial, 0.0) {
    for (int n = 0; n < kAxial; ++n)
      for (int j = 0; j < kAxial; ++j) cosines_.push_back(std::cos(M_PI * n * (j + 0.5) / kAxial));
  }
  std::vector<std::vector<double>> run() {
    std::vector<std::vector<double>> out;
    double time = 0;
    for (const BurntLine& line : job_.lines) {
      move(line.start + line.duration / 2 - time);
      time = line.start + line.duration / 2;
      out.push_back(read(line));
      write(line);
    }
    return out;
  }

 private:
  double wave(int row) const { return 2 * M_PI * ((row + 1) / 2) / job_.tube.circumference; }
  double value(int row, double s) const {
    return row % 2 ? std::sin(wave(row) * s) : std::cos(wave(row) * s);
  }
  void move(double time) {
    const double a = job_.wall.diffusivity(),
                 loss = (job_.loss.outside + job_.loss.inside) / job_.wall.areal();
    std::vector<double> rows(kAround), columns(kAxial);
    for (int m = 0; m < kAround; ++m) rows[m] = std::exp(-(a * wave(m) * wave(m) + loss) * time);
    for (int n = 0; n < kAxial; ++n)
      columns[n] = std::exp(-a * std::pow(M_PI * n / job_.tube.length, 2) * time);
    for (int m = 0; m < kAround; ++m)
      for (int n = 0; n < kAxial; ++n) state_[std::size_t(m) * kAxial + n] *= rows[m] * columns[n];
  }
  std::vector<double> read(const BurntLine& line) const {
    std::vector<double> sums(kAxial), out(line.energies.size());
    for (int m = 0; m < kAround; ++m) {
      const double v = value(m, line.across);
      for (int n = 0; n < kAxial; ++n) sums[n] += v * state_[std::size_t(m) * kAxial + n];
    }
    for (int n = 0; n < kAxial; ++n)
      for (std::size_t j = 0; j < out.size(); ++j)
        out[j] += sums[n] * cosines_[std::size_t(n) * kAxial + line.first + j];
    return out;
  }
  void write(const BurntLine& line) {
    std::vector<double> spectrum(kAxial);
    for (int n = 0; n < kAxial; ++n)
      for (std::size_t j = 0; j < line.energies.size(); ++j)
        spectrum[n] +=
            line.energies[j] * cosines_[std::size_t(n) * kAxial + line.first + j] * (n ? 2.0 : 1.0) / kAxial;
    for (int m = 0; m < kAround; ++m) {
      const double v = value(m, line.across) * (m ? 2 : 1) / job_.tube.circumference / job_.wall.areal();
      for (int n = 0; n < kAxial; ++n) state_[std::size_t(m) * kAxial + n] += v * spectrum[n];
    }
  }

  ShellJob job_;
  std::vector<double> state_, cosines_;
};

void compare(benchmark::State& state, const Plan& p, const WallWarming& ours,
             const std::vector<std::vector<double>>& plain) {
  double difference = 0, plain_difference = 0, most = 0;
  const std::size_t step = std::max<std::size_t>(1, p.lines.size() / 12);
  for (std::size_t n = p.lines.size() - 1; n > step; n -= step)
    for (const int cell : {0, 1, 5, int(p.rows[n].size()) / 2, int(p.rows[n].size()) - 1}) {
      const double truth = direct(p.job, n, cell);
      most = std::max(most, truth);
      difference = std::max(difference, std::abs(ours.rise(n)[cell] - truth));
      plain_difference = std::max(plain_difference, std::abs(plain[n][cell] - truth));
    }
  state.counters["largest_difference"] = difference / most;
  state.counters["plain_difference"] = plain_difference / most;
  state.counters["greatest_K"] = ours.greatest;
  state.counters["modes"] = ours.modes;
  state.counters["near"] = ours.near;
}

const Wall kWalls[] = {
    {0.5e-3, 16.2, 7900.0 * 500}, {0.4e-3, 167, 2700.0 * 896}, {1.5e-3, 0.1, 520.0 * 1800}};

// Both programs in every turn of the loop; medians.
void wall_of_a_job(benchmark::State& state, Kind kind) {
  const Plan p = plan(kWalls[state.range(0)], static_cast<int>(state.range(1)), kind);
  std::vector<double> ours, plain;
  WallWarming mine;
  std::vector<std::vector<double>> theirs;
  for (auto _ : state) {
    double start = seconds();
    mine = warm_wall(p.job);
    ours.push_back(seconds() - start);
    start = seconds();
    theirs = Plain(p.job).run();
    plain.push_back(seconds() - start);
  }
  const auto median = [](std::vector<double> v) {
    std::nth_element(v.begin(), v.begin() + std::ptrdiff_t(v.size() / 2), v.end());
    return v[v.size() / 2];
  };
  state.counters["ours_ms"] = 1e3 * median(ours);
  state.counters["plain_ms"] = 1e3 * median(plain);
  state.counters["ratio"] = median(plain) / median(ours);
  compare(state, p, mine, theirs);
}

// Materials 304, aluminium, card; 2290 lines are the 2.3 hours around a bottle of 73 mm.
BENCHMARK_CAPTURE(wall_of_a_job, even, Kind::even)
    ->ArgNames({"material", "lines"})
    ->ArgsProduct({{0, 1, 2}, {2290}})
    ->Args({0, 4580})
    ->Iterations(7)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(wall_of_a_job, uneven, Kind::uneven)
    ->ArgNames({"material", "lines"})
    ->ArgsProduct({{0, 1, 2}, {2290}})
    ->Iterations(3)
    ->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
