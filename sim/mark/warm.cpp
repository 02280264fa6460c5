#include <algorithm>
#include <cmath>
#include <vector>

#include "mark/mark_file.h"
#include "mark/scene.h"
#include "mark/fill.h"
#include "motion/commands.h"
#include "quantity/bands.h"
#include "quantity/constants.h"
#include "workpiece/material.h"

namespace circumfluence::mark {
namespace {

using motion::Direction;

constexpr double kCell = 1e-3;      // [m] of the shell
constexpr double kSnap = 10e-6;     // [m]
constexpr int kDots = 10;           // a cell along the lines
constexpr int kTones = 32;          // levels between dark and full power
constexpr double kUsualRise = 20;   // [K] of a wall against still air, for the convection alone
constexpr long kMostLines = 200'000, kMostCells = 20'000'000;  // beyond them the warming is left out
constexpr double kWaterHeat = 4.18e6;  // [J/(m^3 K)]

// [W/(m^2 K)] of a horizontal cylinder in still air: Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, 1049, from
// memory; air at 310 K.
double still_air(double diameter, double rise) {
  constexpr double kNu = 1.69e-5, kAlpha = 2.4e-5, kAir = 0.027, kPrandtl = 0.706;
  const double rayleigh = 9.81 / 310 * rise * std::pow(diameter, 3) / (kNu * kAlpha);
  const double bend = std::pow(1 + std::pow(0.559 / kPrandtl, 9.0 / 16), 8.0 / 27);
  const double root = 0.60 + 0.387 * std::pow(rayleigh, 1.0 / 6) / bend;
  return root * root * kAir / diameter;
}

heat::Loss loss_of(const Scene& scene, const heat::Tube& tube) {
  const workpiece::Part& part = scene.job.workpiece;
  const workpiece::Material& skin = scene.coat ? *scene.coat : scene.base;
  const double diameter = tube.circumference / quantity::kPi;
  const double shine = skin.emissivity.known() ? skin.emissivity.value : 0;
  heat::Loss loss{};
  loss.outside = heat::air_transfer(still_air(diameter, kUsualRise), shine, part.temperature);
  if (part.behind == workpiece::Behind::air) loss.inside = still_air(diameter, kUsualRise);
  const double bore = diameter / 2 - part.wall;
  if (part.behind == workpiece::Behind::water && bore > 0)
    loss.water = heat::Water{heat::kStillWater, kWaterHeat * quantity::kPi * bore * bore * tube.length};
  return loss;
}

// The tone of every line, a dot a tenth of a cell, summed to cells: [line][cell], 0 to 1.
std::vector<float> tones(const motion::Commands& art, const motion::Raster& raster, int cells, int threads) {
  const double dot = kCell / kDots;
  std::vector<double> along{raster.along_from}, across;
  for (int i = 1; i <= cells * kDots; ++i) along.push_back(std::min(raster.along_from + i * dot, raster.along_to));
  for (int line = 0; line <= raster.lines; ++line) across.push_back(raster.cross(line) - raster.spacing / 2);
  std::vector<float> out(size_t(raster.lines) * cells, 0.0f);
  if (raster.direction == Direction::axial) {
    while (along.size() > 2 && !(along[along.size() - 2] < along.back())) along.pop_back();
    const motion::Commands commands = art.over(along);
    quantity::for_bands({.count = raster.lines, .band = 64, .threads = threads}, [&](int first, int last, int) {
      motion::Commands::Scratch scratch;
      std::vector<float> dots(along.size() - 1);
      for (int line = first; line < last; ++line) {
        commands.row(across[size_t(line)], across[size_t(line) + 1], dots, scratch);
        for (size_t i = 0; i < dots.size(); ++i) out[size_t(line) * cells + i / kDots] += dots[i] / kDots;
      }
    });
    return out;
  }
  const motion::Commands commands = art.over(across);
  quantity::for_bands({.count = cells, .band = 4, .threads = threads}, [&](int first, int last, int) {
    motion::Commands::Scratch scratch;
    std::vector<float> dots(static_cast<size_t>(raster.lines));
    for (int i = first * kDots; i < last * kDots; ++i) {
      if (!(along[size_t(i)] < along[size_t(i) + 1])) continue;
      commands.row(along[size_t(i)], along[size_t(i) + 1], dots, scratch);
      for (int line = 0; line < raster.lines; ++line) out[size_t(line) * cells + i / kDots] += dots[size_t(line)] / kDots;
    }
  });
  return out;
}

heat::Tube tube_of(const Scene& scene) {
  const double middle = (scene.art.axial_from + scene.art.axial_to) / 2;
  heat::Tube tube{2 * quantity::kPi * scene.profile.radius(middle), scene.profile.length(), 0, 0};
  tube.around = std::max(4, static_cast<int>(std::lround(tube.circumference / kCell)));
  tube.axial = std::max(2, static_cast<int>(std::lround(tube.length / kCell)));
  return tube;
}

// [m] across the tube of a line.
double place(const Scene& scene, const motion::Raster& raster, const heat::Tube& tube, int line) {
  const double cross = raster.cross(line);
  if (raster.direction == Direction::around) return std::clamp(cross, 0.0, tube.length);
  const double radius = tube.circumference / (2 * quantity::kPi);
  const bool turning = scene.job.mount.hold == motion::Hold::turning;
  const double arc = turning ? cross * radius / scene.reference_radius
                             : radius * std::asin(std::clamp(cross / radius, -1.0, 1.0));
  // Across a standing part lines come ever wider; on a grid as fine as this few distances between them differ.
  const double set = turning ? arc : std::round(arc / kSnap) * kSnap;
  return set - std::floor(set / tube.circumference) * tube.circumference;
}

// A wall gets no hotter than it melts at, or chars and is carried off.
void cap(Background& background, const Scene& scene, const response::Model& model) {
  const double most = model.body == response::Body::organic || !scene.base.solidus.known() ? model.limit
                                                                                           : scene.base.solidus.value;
  const float rise = static_cast<float>(most - model.start);
  background.capped = background.warming.greatest > rise;
  if (!background.capped) return;
  background.warming.greatest = rise;
  for (float& value : background.warming.rises) value = std::min(value, rise);
}

struct Heat {
  std::vector<std::vector<double>> shares;  // [pass][tone], of a line's energy
  double full;                              // [J/m] of a line at full tone

  float of(int pass, float tone) const {
    const double at = std::clamp(double(tone), 0.0, 1.0) * kTones;
    const int i = std::min(static_cast<int>(at), kTones - 1);
    const std::vector<double>& s = shares[size_t(pass)];
    return static_cast<float>(full * tone * (s[size_t(i)] + (at - i) * (s[size_t(i) + 1] - s[size_t(i)])));
  }
};

Heat heat_of(const Scene& scene, const motion::Raster& raster, const response::Model& model) {
  const Line line = line_of(scene);
  Heat heat{{}, line.power / line.speed};
  heat.shares.assign(size_t(raster.passes), {});
  for (int tone = 0; tone <= kTones; ++tone) {
    const std::vector<double> shares = wall_shares({model, raster, line}, std::max(tone, 1) / double(kTones));
    for (size_t pass = 0; pass < shares.size(); ++pass) heat.shares[pass].push_back(shares[pass]);
  }
  return heat;
}

// What is common to lines and paths.
void warm_by(const std::vector<heat::BurntLine>& lines, Direction direction, const Scene& scene, const response::Model& model,
             Background& out) {
  const heat::Solid& solid = model.base.solid;
  out.warming = heat::warm_wall({.wall = {scene.job.workpiece.wall, solid.conductivity,
                                          solid.conductivity / solid.diffusivity},
                                 .loss = loss_of(scene, out.tube),
                                 .tube = out.tube,
                                 .direction = direction,
                                 .beam = line_of(scene).across,
                                 .lines = lines});
  cap(out, scene, model);
}

// Without a distance between lines each is taken to lie alone.
void warm_by_path(const Scene& scene, motion::Raster raster, const response::Model& model, Background& out) {
  if (!(raster.spacing > 0)) raster.spacing = 4 * line_of(scene).across;
  out.runs = runs_of(scene, out.tube);
  PathRuns& runs = out.runs;
  out.cell = runs.axial ? out.tube.length / out.tube.axial : out.tube.circumference / out.tube.around;
  if (runs.runs.size() > size_t(kMostLines) || runs.energies.size() > size_t(kMostCells)) {
    runs = {};
    return;
  }
  const Heat heat = heat_of(scene, raster, model);
  for (float& energy : runs.energies) {
    const double tone = energy / heat.full;
    energy = heat.of(0, static_cast<float>(std::min(tone, 1.0))) * static_cast<float>(std::max(tone, 1.0));
  }
  std::vector<heat::BurntLine> lines;
  for (const PathRuns::Run& run : runs.runs)
    lines.push_back({.across = run.across,
                     .start = run.start,
                     .duration = run.duration,
                     .forth = run.forth,
                     .first = run.first,
                     .energies = {runs.energies.data() + run.energies, size_t(run.cells)}});
  warm_by(lines, runs.axial ? Direction::axial : Direction::around, scene, model, out);
}

}  // namespace

WallMap wall_map(const Scene& scene, const motion::Raster& raster, const Background& b) {
  WallMap map;
  if (b.warming.rises.empty()) return map;
  const bool axial = raster.direction == Direction::axial;
  const double turn = b.tube.circumference, row = turn / b.tube.around, column = b.tube.length / b.tube.axial;
  for (int i = 0; i < b.tube.around; ++i) map.around.push_back((i + 0.5) * row - turn / 2);
  for (int i = 0; i < b.tube.axial; ++i) map.axial.push_back((i + 0.5) * column);
  map.temperature.assign(size_t(b.tube.around) * b.tube.axial, static_cast<float>(scene.job.workpiece.temperature));
  const float start = static_cast<float>(scene.job.workpiece.temperature);
  const auto keep = [&](double around, double along, float rise) {
    const double from_half = around + turn / 2, wrapped = from_half - std::floor(from_half / turn) * turn;
    const int i = std::min(static_cast<int>(wrapped / row), b.tube.around - 1);
    const int j = std::clamp(static_cast<int>(along / column), 0, b.tube.axial - 1);
    float& cell = map.temperature[size_t(i) * b.tube.axial + j];
    cell = std::max(cell, start + rise);
  };
  for (size_t n = 0; n < b.runs.runs.size(); ++n) {
    const PathRuns::Run& run = b.runs.runs[n];
    for (int k = 0; k < run.cells; ++k) {
      const double along = (run.first + k + 0.5) * b.cell;
      const float rise = b.warming.rise(n)[size_t(k)];
      b.runs.axial ? keep(run.across, along, rise) : keep(along, run.across, rise);
    }
  }
  for (int pass = 0; pass < raster.passes && b.runs.runs.empty(); ++pass)
    for (int line = 0; line < raster.lines; ++line) {
      const std::span<const float> rises = b.line(long(pass) * raster.lines + raster.turn(line));
      const double across = place(scene, raster, b.tube, line);
      for (int k = 0; k < b.cells; ++k) {
        const double along = b.from + (k + 0.5) * b.cell;
        axial ? keep(across, along, rises[size_t(k)]) : keep(along, across, rises[size_t(k)]);
      }
    }
  return map;
}

Background warm(const Scene& scene, const motion::Raster& raster, const exposure::Exposure& exposure,
                const response::Model& model, int threads) {
  Background out;
  out.tube = tube_of(scene);
  out.conductivity = model.conductivity;
  if (scene.path) {
    warm_by_path(scene, raster, model, out);
    return out;
  }
  const bool axial = raster.direction == Direction::axial;
  out.cell = axial ? out.tube.length / out.tube.axial : out.tube.circumference / out.tube.around;
  const double length = raster.along_to - raster.along_from;
  out.cells = std::clamp(static_cast<int>(std::ceil(length / kCell - 1e-6)), 1, axial ? out.tube.axial : out.tube.around);
  const int first = axial ? std::clamp(static_cast<int>(std::lround(raster.along_from / out.cell)), 0,
                                       out.tube.axial - out.cells)
                          : 0;
  out.from = axial ? first * out.cell : raster.along_from;
  const long count = long(raster.lines) * raster.passes;
  if (count > kMostLines || count * out.cells > kMostCells) return out;
  const std::vector<float> tone = tones(*exposure.commands(), raster, out.cells, threads);
  const Heat heat = heat_of(scene, raster, model);
  std::vector<float> energies(size_t(count) * out.cells);
  std::vector<heat::BurntLine> lines(static_cast<size_t>(count));
  const double begin = raster.sweep.time_at(raster.sweep.run_up());
  const double end = raster.sweep.time_at(raster.sweep.run_up() + length);
  for (int pass = 0; pass < raster.passes; ++pass)
    for (int line = 0; line < raster.lines; ++line) {
      const size_t turn = size_t(pass) * raster.lines + raster.turn(line);
      float* const row = energies.data() + turn * out.cells;
      for (int i = 0; i < out.cells; ++i) row[i] = heat.of(pass, tone[size_t(line) * out.cells + i]);
      lines[turn] = {.across = place(scene, raster, out.tube, line),
                     .start = raster.start(line, pass) + begin,
                     .duration = end - begin,
                     .forth = !raster.backward(line),
                     .first = first,
                     .energies = {row, size_t(out.cells)}};
    }
  warm_by(lines, raster.direction, scene, model, out);
  return out;
}

}  // namespace circumfluence::mark
