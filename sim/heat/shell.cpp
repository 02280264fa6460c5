#include "heat/shell.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "heat/shell_parts.h"
#include "quantity/constants.h"

namespace circumfluence::heat {
namespace {

constexpr double kStefanBoltzmann = 5.670374419e-8;  // [W/(m^2 K^4)] CODATA 2018
constexpr double kMostModes = 1 << 16;               // more would cost more than a few lines one by one
constexpr double kFinest = 3;                        // waves along: at most three a pair of cells

// The integral of exp(rate s) over s from 0 to t.
double gathered(double rate, double time) {
  return rate == 0 ? time : std::expm1(rate * time) / rate;
}

// The wall's mean and the water behind it: M' = -g M + b V, V' = d (M - V); exact.
class WallMean {
 public:
  WallMean(const ShellJob& job, double area);
  void advance(double time);                // [s] by
  void add(double rise) { wall_ += rise; }  // [K]
  double at(double later) const { return apply(later)[0]; }
  double wall() const { return wall_; }
  double water() const { return water_; }
  // [K s] the integral of the wall's rise; times (outside + inside) area it is what the air got.
  double lost() const { return lost_; }

 private:
  std::array<double, 2> apply(double time) const;
  double g_, b_, d_, slow_, fast_, apart_;  // [1/s] the last three: both rates, and their difference
  double wall_ = 0, water_ = 0, lost_ = 0;
};

WallMean::WallMean(const ShellJob& job, double area) {
  const double areal = job.wall.areal();
  const double to_water = job.loss.water ? job.loss.water->transfer : 0;
  g_ = (job.loss.outside + job.loss.inside + to_water) / areal;
  b_ = to_water / areal;
  d_ = job.loss.water ? to_water * area / job.loss.water->capacity : 0;
  apart_ = std::sqrt((g_ - d_) * (g_ - d_) + 4 * b_ * d_);
  fast_ = -(g_ + d_ + apart_) / 2;
  slow_ = fast_ == 0 ? 0 : d_ * (g_ - b_) / fast_;
}

// exp(M t) = exp(fast t) I + (exp(slow t) - exp(fast t)) / (slow - fast) (M - fast I)
std::array<double, 2> WallMean::apply(double time) const {
  const double fast = std::exp(fast_ * time);
  const double rest = fast * gathered(apart_, time);
  return {fast * wall_ + rest * ((-g_ - fast_) * wall_ + b_ * water_),
          fast * water_ + rest * (d_ * wall_ + (-d_ - fast_) * water_)};
}

void WallMean::advance(double time) {
  if (time == 0) return;
  const double fast = gathered(fast_, time);
  const double rest = apart_ == 0 ? 0 : (gathered(slow_, time) - fast) / apart_;
  lost_ += fast * wall_ + rest * ((-g_ - fast_) * wall_ + b_ * water_);
  const std::array<double, 2> next = apply(time);
  wall_ = next[0];
  water_ = next[1];
}

double end_of(const BurntLine& line) {
  return line.start + line.duration;
}

// Which lines have passed into the shell when line n begins: all before this one.
struct Passing {
  std::vector<std::size_t> into;  // [line]; and at the time of the field
  double lag;                     // [s] shortest time between such a line's end and its first reading
};

// [s] from which lag on the modes do: none is finer than the cells can tell, nor are there too many.
double resolved_lag(const ShellFrame& frame) {
  const double pi = quantity::kPi;
  double wave = kFinest * pi / frame.along.cell();
  const auto modes = [&] {
    const double deep = 1 + 2 * wave * frame.wall.thickness / (3 * pi);
    return pi / 4 * frame.area() * wave * wave / (pi * pi) * deep;
  };
  while (modes() > kMostModes) wave *= 0.9;
  return ShellModes::kCut / (frame.wall.diffusivity() * wave * wave);
}

Passing passing(const ShellJob& job, const ShellFrame& frame, double end) {
  const double resolved = resolved_lag(frame);
  Passing out{{}, 0};
  double shortest = 1e300;
  std::size_t into = 0;
  for (std::size_t n = 0; n <= job.lines.size(); ++n) {
    const double now = n < job.lines.size() ? job.lines[n].start : end;
    const double duration = n < job.lines.size() ? job.lines[n].duration : 0;
    const auto old = [&](const BurntLine& line) {
      return now - end_of(line) >= std::max(job.window * std::max(duration, line.duration), resolved);
    };
    while (into < n && old(job.lines[into])) ++into;
    out.into.push_back(into);
    if (into > 0) shortest = std::min(shortest, now - end_of(job.lines[into - 1]));
  }
  out.lag = shortest < 1e300 ? shortest : resolved;
  return out;
}

// [J] Deposits a line into the mean at its four moments.
double burn(const BurntLine& line, const ShellFrame& frame, LineMoments& moments, WallMean& mean) {
  const float* const shares = moments.shares(line);
  const std::size_t n = line.energies.size();
  std::array<double, LineMoments::kCount> energies{};
  for (std::size_t j = 0; j < n; ++j)
    for (std::size_t q = 0; q < energies.size(); ++q)
      energies[q] += double(line.energies[j] * shares[q * n + j]);
  double past = 0, sum = 0;
  for (int q = 0; q < LineMoments::kCount; ++q) {
    const double moment = LineMoments::time(line, q), energy = energies[q] * frame.along.cell();
    mean.advance(moment - past);
    mean.add(energy / (frame.wall.areal() * frame.area()));
    sum += energy;
    past = moment;
  }
  mean.advance(line.duration - past);
  return sum;
}

struct Parts {
  Parts(const ShellJob& job, const ShellFrame& frame, double lag)
      : modes(frame, lag), near(frame), mean(job, frame.area()) {}
  ShellModes modes;
  NearLines near;
  WallMean mean;
  LineMoments moments;
};

// From line to line.
void run(const ShellJob& job, const ShellFrame& frame, const Passing& passing, Parts& parts,
         WallWarming& out) {
  double now = job.lines.empty() ? 0 : job.lines[0].start;
  std::vector<float> row(std::size_t(frame.along.cells) + 16);
  std::size_t into = 0;
  for (std::size_t n = 0; n < job.lines.size(); ++n) {
    const BurntLine& line = job.lines[n];
    std::fill(row.begin(), row.end(), 0.0f);
    for (; into < passing.into[n]; ++into) parts.modes.take(job.lines[into]);
    for (std::size_t m = into; m < n; ++m) parts.near.add(job.lines[m], line, row.data());
    out.near = std::max(out.near, static_cast<int>(n - into));
    parts.mean.advance(line.start - now);
    double means[LineMoments::kCount];
    for (int q = 0; q < LineMoments::kCount; ++q) means[q] = parts.mean.at(LineMoments::time(line, q));
    parts.modes.rise(line, means, row.data());
    out.deposited += burn(line, frame, parts.moments, parts.mean);
    std::copy_n(row.begin(), line.energies.size(), out.rises.begin() + std::ptrdiff_t(out.begins[n]));
    now = end_of(line);
  }
  out.after_job = parts.mean.wall();
  parts.mean.advance(out.end - now);
}

std::vector<float> final_field(const ShellJob& job, const ShellFrame& frame, const Passing& passing,
                               Parts& parts) {
  std::vector<double> sum(std::size_t(frame.across.cells) * frame.along.cells, parts.mean.wall());
  const double end = job.lines.empty() ? 0 : end_of(job.lines.back()) + job.wait;
  const std::size_t before = job.lines.empty() ? 0 : passing.into[job.lines.size() - 1];
  for (std::size_t m = before; m < passing.into.back(); ++m) parts.modes.take(job.lines[m]);
  parts.modes.settle(end);
  parts.modes.field(sum);
  for (std::size_t m = passing.into.back(); m < job.lines.size(); ++m) leave(frame, job.lines[m], end, sum);
  std::vector<float> out(sum.begin(), sum.end());
  if (frame.across.closed) return out;
  for (int y = 0; y < frame.across.cells; ++y)
    for (int x = 0; x < frame.along.cells; ++x)
      out[std::size_t(x) * frame.across.cells + y] =
          static_cast<float>(sum[std::size_t(y) * frame.along.cells + x]);
  return out;
}

}  // namespace

double air_transfer(double convection, double emissivity, double temperature) {
  return convection + 4 * emissivity * kStefanBoltzmann * temperature * temperature * temperature;
}

ShellFrame::ShellFrame(const ShellJob& job)
    : wall(job.wall),
      beam(job.beam),
      loss((job.loss.outside + job.loss.inside + (job.loss.water ? job.loss.water->transfer : 0)) /
           job.wall.areal()) {
  const ShellAxis around{job.tube.circumference, job.tube.around, true},
      axial{job.tube.length, job.tube.axial, false};
  across = job.direction == motion::Direction::axial ? around : axial;
  along = job.direction == motion::Direction::axial ? axial : around;
}

WallWarming warm_wall(const ShellJob& job) {
  const ShellFrame frame(job);
  check(job, frame);
  WallWarming out;
  out.begins.push_back(0);
  for (const BurntLine& line : job.lines) out.begins.push_back(out.begins.back() + line.energies.size());
  out.rises.assign(out.begins.back(), 0);
  out.end = job.lines.empty() ? 0 : end_of(job.lines.back()) + job.wait;
  const Passing way = passing(job, frame, out.end);
  Parts parts(job, frame, way.lag);
  run(job, frame, way, parts, out);
  for (const float rise : out.rises) out.greatest = std::max(out.greatest, rise);
  out.field = final_field(job, frame, way, parts);
  out.mean = parts.mean.wall();
  out.water = parts.mean.water();
  out.lost = parts.mean.lost() * (job.loss.outside + job.loss.inside) * frame.area();
  out.modes = parts.modes.count();
  return out;
}

}  // namespace circumfluence::heat
