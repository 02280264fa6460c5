// What would keep the wall cool enough, when its own warming is what over-burns.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "mark/traverse.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

constexpr double kTrifle = 5.0;      // [K] a wall's rise that is not worth a second look
constexpr double kSafe = 0.8;         // [1] of the spare rise that a cure may use up
constexpr double kLongestPause = 600;  // [s]

double greatest(const Walk& walk, const motion::Raster& raster, int threads) {
  return warm(walk.scene, raster, walk.exposure, walk.model, threads).warming.greatest;
}

motion::Raster paused(motion::Raster raster, double pause) {
  raster.turn_round += pause;
  return raster;
}

// [s] the shortest pause, within a tenth, that keeps the wall's rise at or below `allowed`.
std::optional<double> pause_for(const Walk& walk, double allowed, int threads) {
  double high = 1;
  while (greatest(walk, paused(walk.raster, high), threads) > allowed)
    if ((high *= 2) > kLongestPause) return std::nullopt;
  double low = high > 1 ? high / 2 : 0;
  while (high - low > 0.1 * high) {
    const double middle = (low + high) / 2;
    (greatest(walk, paused(walk.raster, middle), threads) > allowed ? low : high) = middle;
  }
  const double digit = std::pow(10.0, std::floor(std::log10(high)) - 1);
  return std::ceil(high / digit) * digit;  // as it is printed, never shorter
}

std::optional<int> order_for(const Walk& walk, double allowed, int threads) {
  for (const int interleave : {2, 3, 5, 10, 20, 50}) {
    motion::Raster raster = walk.raster;
    if (interleave <= raster.interleave || interleave >= raster.lines) continue;
    raster.interleave = interleave;
    if (greatest(walk, raster, threads) <= allowed) return interleave;
  }
  return std::nullopt;
}

std::string cures(const Walk& walk, double allowed, int threads) {
  std::string said;
  if (const std::optional<int> order = order_for(walk, allowed, threads))
    said = fmt::format(" scan.interleave = {} would keep it cool enough", *order);
  if (const std::optional<double> pause = pause_for(walk, allowed, threads))
    said += fmt::format("{} scan.pause = \"{}\" (the job then takes {})", said.empty() ? "" : ", so would",
                        quantity::format(*pause, "s", 2),
                        clock(paused(walk.raster, *pause).start(0, walk.raster.passes) - *pause)) +
            (said.empty() ? " would keep it cool enough" : "");
  return said.empty() ? " No pause up to 10 min cures it: use less power, or more speed." : said + ".";
}

}  // namespace

void add_cure(const Walk& walk, const Request& request, Verdict& verdict) {
  if (verdict.ruling != Ruling::over_burns || walk.background.warming.greatest < kTrifle) return;
  const Background cold{};
  const Maps none;
  Request again;
  again.threads = request.threads;
  again.progress = request.progress;
  const Tally tally = traverse({walk.scene, walk.surface, walk.exposure, walk.model, walk.warmth, walk.echo, cold,
                                walk.raster, none, nullptr},
                               again);
  if (judge({walk.scene, walk.surface, walk.raster, walk.model, tally}).ruling == Ruling::over_burns) return;
  const double spare = walk.model.limit_rise() -
                       heat::linear_rise(walk.model.conductivity, tally.hottest - walk.model.start);
  std::string note = "It is the heat of earlier lines that over-burns; on a cold wall these settings would not.";
  if (verdict.greatest_factor < 1)
    note += fmt::format(" At {} they would not either, in the same time.",
                        quantity::format(0.98 * verdict.greatest_factor * verdict.power, "W", 3));
  if (spare > 0 && !walk.scene.path) note += cures(walk, kSafe * heat::true_rise(walk.model.conductivity, spare), request.threads);
  verdict.notes.push_back(note);
}

}  // namespace circumfluence::mark
