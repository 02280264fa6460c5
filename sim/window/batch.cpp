// Blanks, time and energy for a number of good parts.
#include <fmt/format.h>

#include <algorithm>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>
#include <cstdint>

#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/chance.h"

namespace circumfluence::window {
namespace {

using quantity::format;
using quantity::ValidityError;

constexpr int kMostBlanks = 1'000'000'000;

// P(binomial(blanks, p) >= parts), by the incomplete beta function.
double chance_enough(int parts, int blanks, double p) {
  return p < 1 ? boost::math::ibeta(double(parts), double(blanks) - parts + 1, p) : 1.0;
}

void hold(bool holds, const char* key, double value, const char* unit, const char* expected) {
  if (!holds || !std::isfinite(value))
    throw ValidityError(fmt::format("batch.{} = {} ({})", key, format(value, unit), expected));
}

void check(const Batch& batch) {
  hold(batch.parts > 0, "parts", batch.parts, "1", "expected one or more");
  hold(batch.chance_good > 0, "chance_good", batch.chance_good, "%",
       "no blank comes out good, however many; expected above 0 %");
  hold(batch.chance_good <= 1, "chance_good", batch.chance_good, "%", "expected at most 100 %");
  hold(batch.confidence > 0, "confidence", batch.confidence, "%", "expected above 0 %");
  hold(batch.confidence < 1 || batch.chance_good == 1, "confidence", batch.confidence, "%",
       "no number of blanks makes it certain; expected below 100 %");
  hold(batch.duration >= 0, "duration", batch.duration, "s", "expected 0 s or more");
  hold(batch.energy >= 0, "energy", batch.energy, "J", "expected 0 J or more");
  hold(batch.handling >= 0, "handling", batch.handling, "s", "expected 0 s or more");
  hold(batch.mains_power >= 0, "mains_power", batch.mains_power, "W", "expected 0 W or more");
}

int blanks_for(const Batch& batch) {
  const auto enough = [&batch](int blanks) {
    return chance_enough(batch.parts, blanks, batch.chance_good) >= batch.confidence;
  };
  if (enough(batch.parts)) return batch.parts;
  std::int64_t low = batch.parts, high = low;  // too few; enough
  do {
    low = high;
    high = std::min<std::int64_t>(2 * high, kMostBlanks);
    if (low == high)
      throw ValidityError(fmt::format("batch.chance_good = {} (so small that {} blanks do not make {} parts; expected more)",
                                      format(batch.chance_good, "%"), kMostBlanks, batch.parts));
  } while (!enough(static_cast<int>(high)));
  while (high - low > 1) (enough(static_cast<int>((low + high) / 2)) ? high : low) = (low + high) / 2;
  return static_cast<int>(high);
}

// Along the lines, one dot a cell of the grid.
std::vector<double> dots(const motion::Raster& raster, double cell) {
  const double length = raster.along_to - raster.along_from;
  const int count = std::max(1, static_cast<int>(std::ceil(length / cell - 1e-6)));
  std::vector<double> edges;
  for (int i = 0; i < count; ++i) edges.push_back(raster.along_from + i * cell);
  edges.push_back(raster.along_to);
  return edges;
}

std::vector<double> lines(const motion::Raster& raster) {
  std::vector<double> edges;
  for (int line = 0; line <= raster.lines; ++line) edges.push_back(raster.cross(line) - raster.spacing / 2);
  return edges;
}

// What a pass burns: seconds with the beam on, and seconds at the set speed and full power.
struct Burnt {
  double on = 0, full = 0;
};

Burnt one_pass(const mark::Scene& scene, const motion::Raster& raster) {
  const bool axial = raster.direction == motion::Direction::axial;
  const bool constant = scene.job.scan.power_habit == motion::PowerHabit::constant;
  const std::vector<double> along = dots(raster, scene.job.grid.cell), across = lines(raster);
  const std::vector<double>&columns = axial ? along : across, &rows = axial ? across : along;
  const motion::Commands commands(scene.image, mark::fed(scene), columns);
  motion::Commands::Scratch scratch;
  std::vector<float> share(columns.size() - 1);
  std::vector<double> on, full;  // [s] of each dot, and what its power is in proportion to
  for (size_t i = 0; i + 1 < along.size(); ++i) {
    const double length = along[i + 1] - along[i];
    on.push_back(length * raster.slowness(along[i], length));
    full.push_back(constant ? on.back() : length / scene.job.scan.speed);
  }
  Burnt out;
  for (size_t row = 0; row + 1 < rows.size(); ++row) {
    commands.row(rows[row], rows[row + 1], share, scratch);
    for (size_t i = 0; i < share.size(); ++i) {
      const size_t dot = axial ? i : row;
      out.on += share[i] > 0 ? on[dot] : 0.0;
      out.full += double(share[i]) * full[dot];
    }
  }
  return out;
}

}  // namespace

Effort effort(const mark::Scene& scene) {
  if (scene.job.has_path())
    throw ValidityError("effort: path.file is given (a tool path; expected a fill of lines). Take the time of its plan");
  const motion::Raster raster = mark::plan(scene);
  const Burnt pass = one_pass(scene, raster);
  return {.duration = raster.duration, .beam_on = raster.passes * pass.on, .energy = raster.passes * pass.full * scene.power()};
}

Supply supply(const Batch& batch) {
  check(batch);
  const int blanks = blanks_for(batch);
  const double tries = batch.parts / batch.chance_good, time = tries * (batch.duration + batch.handling);
  return {.blanks = blanks,
          .spares = blanks - batch.parts,
          .tries = tries,
          .expected_good = batch.parts * batch.chance_good,
          .time = time,
          .energy = tries * batch.energy,
          .mains_energy = time * batch.mains_power};
}

}  // namespace circumfluence::window
