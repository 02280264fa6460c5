// A raster plan written out as the moves of a tool path, dot by dot, as a person would who has no raster
// mode: run-up, the lit and dark parts of the line, run-out, step to the next line.
#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

#include "exposure/expose.h"
#include "exposure/path_lines.h"
#include "quantity/constants.h"

namespace circumfluence::exposure::slow {

class RasterPath {
 public:
  explicit RasterPath(const Arrangement& job)
      : job_(job), axial_(job.raster.direction == motion::Direction::axial) {
    const workpiece::Surface& s = job.surface;
    const double origin = axial_ ? s.axial_from : s.around_from;
    cell_ = axial_ ? s.cell_axial : s.cell_around;
    const long first = std::lround(std::floor((job.raster.along_from - origin) / cell_ + 1e-9));
    const long last = std::lround(std::ceil((job.raster.along_to - origin) / cell_ - 1e-9));
    begin_ = origin + double(first) * cell_;
    dots_ = static_cast<int>(last - first);
    read_tones();
  }

  // Calls take(travel) for every move, lit or dark, in the order of time.
  template <class Take>
  void moves(const Take& take) const {
    const motion::Raster& raster = job_.raster;
    for (int pass = 0; pass < raster.passes; ++pass)
      for (int turn = 0; turn < raster.lines; ++turn) line(line_of_turn(turn), pass, take);
  }

  Path path(double energy_step = 1e-4) const {
    const bool turning = job_.mount.hold == motion::Hold::turning;
    Path path({.light = job_.light,
               .power = job_.power,
               .turn = turning ? 2 * quantity::kPi * job_.surface.reference_radius : 0.0,
               .energy_step = energy_step});
    moves([&path](const motion::Travel& travel) { path.take(travel); });
    return path;
  }
  PathGround ground() const { return {job_.surface, job_.mount, job_.laser, job_.light, job_.angle_factor}; }
  std::unique_ptr<Exposure> exposure() const { return std::make_unique<PathLines>(ground(), path()); }

 private:
  void read_tones() {
    const motion::Raster& raster = job_.raster;
    std::vector<double> along, across;
    for (int i = 0; i <= dots_; ++i) along.push_back(begin_ + i * cell_);
    for (int i = 0; i <= raster.lines; ++i) across.push_back(raster.cross(i) - raster.spacing / 2);
    motion::Commands::Scratch scratch;
    const motion::Commands commands(job_.image, job_.placement, axial_ ? along : across);
    tones_.assign(size_t(raster.lines), std::vector<float>(size_t(dots_)));
    std::vector<float> column(size_t(raster.lines));
    for (int i = 0; i < (axial_ ? raster.lines : dots_); ++i) {
      if (axial_) {
        commands.row(across[size_t(i)], across[size_t(i) + 1], tones_[size_t(i)], scratch);
        continue;
      }
      commands.row(along[size_t(i)], along[size_t(i) + 1], column, scratch);
      for (int line = 0; line < raster.lines; ++line) tones_[size_t(line)][size_t(i)] = column[size_t(line)];
    }
  }

  int line_of_turn(int turn) const {
    for (int line = 0; line < job_.raster.lines; ++line)
      if (job_.raster.interleave == 1 ? line == turn : job_.raster.turn(line) == turn) return line;
    return -1;
  }

  motion::PathPoint point(int line, double along) const {
    return axial_ ? motion::PathPoint{along, job_.raster.cross(line), 0}
                  : motion::PathPoint{job_.raster.cross(line), along, 0};
  }

  template <class Take>
  void line(int line, int pass, const Take& take) const {
    const motion::Raster& raster = job_.raster;
    const bool back = raster.backward(line);
    const std::vector<float>& tones = tones_[size_t(line)];
    const double up = raster.sweep.run_up();
    const double from = raster.along_from - up, to = raster.along_to + up;
    std::vector<std::pair<double, float>> stops{{begin_, 0.0f}};  // where a part ends, and its tone
    for (int i = 0; i < dots_;) {
      int next = i + 1;
      while (next < dots_ && tones[size_t(next)] == tones[size_t(i)]) ++next;
      stops.push_back({begin_ + next * cell_, tones[size_t(i)]});
      i = next;
    }
    if (stops.front().first < from) stops.front().first = from;
    stops.push_back({std::max(to, stops.back().first), 0.0f});
    if (back) {  // the same parts from the other end
      std::vector<std::pair<double, float>> other;
      for (size_t i = stops.size(); i-- > 0;)
        other.push_back({i > 0 ? stops[i - 1].first : from, stops[i].second});
      stops = other;
    }
    double at = back ? std::max(to, stops.empty() ? to : begin_ + dots_ * cell_) : from;
    for (const auto& [stop, tone] : stops) {
      if (stop != at) take(travel(line, at, stop, {tone, raster.start(line, pass)}));
      at = stop;
    }
    if (line + 1 < raster.lines) {
      motion::Travel step{};
      step.move.from = point(line, at);
      step.move.to = point(line + 1, at);
      step.entry = step.top = step.leave = job_.speed;
      step.acceleration = 1;
      step.duration = raster.spacing / job_.speed;
      take(step);
    }
  }

  struct Lit {
    float tone;
    double start;  // [s] of the line
  };
  motion::Travel travel(int line, double from, double to, const Lit& lit) const {
    const motion::Raster& raster = job_.raster;
    const double begin = raster.along_from - raster.sweep.run_up(), way = raster.sweep.distance();
    motion::Travel t{};
    t.move.follows_speed = job_.power_habit == motion::PowerHabit::follows_speed;
    t.move.power = lit.tone;
    t.move.from = point(line, from);
    t.move.to = point(line, to);
    t.move.speed = job_.speed;
    t.acceleration = acceleration;
    t.run = {way, from < to ? from - begin : begin + way - from, 0,
             std::min(job_.speed, std::sqrt(acceleration * way)), 0};
    t.entry = t.run.entry, t.top = t.run.top, t.leave = t.run.leave;
    t.duration = std::abs(raster.sweep.time_at(to - begin) - raster.sweep.time_at(from - begin));
    t.start = lit.start + raster.sweep.time_at(t.run.before);
    return t;
  }

  const Arrangement& job_;
  bool axial_;
  double cell_ = 0, begin_ = 0;  // [m]
  int dots_ = 0;
  std::vector<std::vector<float>> tones_;

 public:
  double acceleration = 1;  // [m/s^2] of the raster's sweep
};

}  // namespace circumfluence::exposure::slow
