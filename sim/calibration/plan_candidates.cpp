// Settings to try: a grid around the wanted ones, and ladders of single lines.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "beam/caustic.h"
#include "calibration/plan.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;

constexpr double kPowerStep = 1.15;  // [1] between candidates, some two of what a patch strays by
constexpr double kDistinct = 1.05;   // [1] from the laser's whole power
constexpr double kWeakest = 0.25, kStrongest = 4.0;  // [1] of the wanted power
constexpr double kSpeeds[] = {0.5, std::numbers::sqrt2 / 2, 1, std::numbers::sqrt2,
                              2};  // [1] of the wanted one
constexpr double kShows = 1.05;    // [1] of the least power that marks: barely shows
constexpr double kOutermost = 3.0, kNear = 1.0, kFar = 2.0;  // [1] Rayleigh lengths
constexpr double kSurely = 1.5;        // [1] power at the outermost height, over what marks there
constexpr double kSlowest = 1.0 / 64;  // [1] of the wanted speed, to make it so
constexpr double kMicrometre = 1e-6;
constexpr double kMinute = 1e-3 / 60;  // [m/s] one mm/min

// As a label and a person say it.
double rounded(double value, int figures) {
  const double step = std::pow(10.0, std::floor(std::log10(value)) - figures + 1);
  return std::round(value / step) * step;
}

double top_speed(const mark::Scene& scene, motion::Direction direction) {
  double out = quantity::kInfinity;
  const motion::Machine& machine = scene.job.machine;
  for (const double most :
       {scene.job.scan.top_speed,
        direction == motion::Direction::axial ? machine.axial_speed : machine.around_speed})
    if (most > 0) out = std::min(out, most);
  return out;
}

std::vector<double> sorted(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end()), values.end());
  return values;
}

void check_lines(int lines, int least, int most) {
  if (lines < least || lines > most)
    throw ValidityError(fmt::format("ladder: {} lines (expected {} to {})", lines, least, most));
}

// [W] from which a line marks, all at their medians.
double marks_from(const mark::Scene& scene, const Patch& line) {
  const std::vector<window::Unknown> unknowns = fitted_unknowns(scene);
  const std::vector<double> medians(unknowns.size(), 0.0);
  return std::exp(Trials(with_threshold(scene), {line}, unknowns).ends(medians).front().marks);
}

Patch single_line(const Patch& wanted, double power) {
  Patch out = wanted;
  out.power = power, out.spacing = 0, out.passes = 1;
  return out;
}

// Half of them within one Rayleigh length, the others beyond two on either side, rising.
std::vector<double> rungs(int lines) {
  std::vector<double> out;
  const int inner = (lines + 1) / 2, below = (lines - inner) / 2, above = lines - inner - below;
  for (int i = 0; i < inner; ++i) out.push_back(kNear * (inner == 1 ? 0 : 2.0 * i / (inner - 1) - 1));
  for (const auto& [count, side] : {std::pair{below, -1.0}, std::pair{above, 1.0}})
    for (int i = 0; i < count; ++i)
      out.push_back(side * (kOutermost - (kOutermost - kFar) * i / std::max(1, count - 1)));
  return sorted(out);
}

}  // namespace

Patch job_setting(const mark::Scene& scene) {
  const window::Fill fill = window::fill_of(scene.job);
  return {.power = scene.power(),
          .speed = scene.job.scan.speed,
          .spacing = fill.spacing,
          .passes = fill.passes,
          .focus_offset = fill.focus_offset,
          .direction = scene.job.scan.direction};
}

Candidates candidates_around(const mark::Scene& scene, const Patch& wanted) {
  const double rated = scene.job.laser.rated_power, top = top_speed(scene, wanted.direction);
  const double least = kWeakest * wanted.power, most = std::min(rated, kStrongest * wanted.power);
  Candidates out{{wanted.power}, {}, {wanted.spacing}, {wanted.focus_offset}, {wanted.passes}};
  for (double power = wanted.power * kPowerStep; power < most * (1 + 1e-9); power *= kPowerStep)
    if (power < rated / kDistinct || most < rated) out.power.push_back(std::min(rounded(power, 2), rated));
  for (double power = wanted.power / kPowerStep; power > least; power /= kPowerStep)
    out.power.push_back(rounded(power, 2));
  if (most == rated) out.power.push_back(rated);
  out.power = sorted(out.power);
  for (const double share : kSpeeds) {
    const double speed = share == 1 ? wanted.speed : rounded(share * wanted.speed / kMinute, 3) * kMinute;
    if (speed <= top * (1 + 1e-9)) out.speed.push_back(speed);
  }
  out.speed = sorted(out.speed);
  return out;
}

std::vector<Patch> power_ladder(const mark::Scene& scene, const Patch& wanted, int lines) {
  check_lines(lines, 3, 100);
  const double rated = scene.job.laser.rated_power;
  const double least = kShows * marks_from(scene, single_line(wanted, rated));
  if (!(least < rated / kShows))
    throw ValidityError(
        fmt::format("ladder of powers: a line at {} marks from {} on (the laser has {}; expected less). Go "
                    "slower, or into focus",
                    quantity::format(wanted.speed, "mm/min", 4),
                    std::isfinite(least) && least < 1e6 ? quantity::format(least, "W", 3) : "no power",
                    quantity::format(rated, "W", 3)));
  std::vector<Patch> out;
  for (int i = 0; i < lines; ++i)
    out.push_back(single_line(
        wanted, std::min(rated, rounded(least * std::pow(rated / least, double(i) / (lines - 1)), 3))));
  return out;
}

std::vector<Patch> height_ladder(const mark::Scene& scene, const Patch& wanted, int lines) {
  check_lines(lines, 4, 100);
  const beam::Caustic caustic = beam::caustic(scene.job.laser);
  // A line's width is that of the beam across it.
  const beam::Waist& waist = wanted.direction == motion::Direction::axial ? caustic.around : caustic.axial;
  Patch line = single_line(wanted, scene.job.laser.rated_power);
  // The focus offset that brings the surface to a height [m] above the waist is the other way.
  const auto offset = [&](double height) {
    return std::round((-waist.height - height) / kMicrometre) * kMicrometre;
  };
  line.focus_offset = offset(kOutermost * waist.rayleigh);
  for (double share = 1; kSurely * marks_from(scene, line) > line.power; share /= 2) {
    if (share < kSlowest)
      throw ValidityError(fmt::format(
          "ladder of heights: {} does not mark a line {} out of focus, even at {} (expected to)",
          quantity::format(line.power, "W", 3), quantity::format(kOutermost * waist.rayleigh, "mm", 3),
          quantity::format(line.speed, "mm/min", 3)));
    line.speed = rounded(0.5 * share * wanted.speed / kMinute, 3) * kMinute;
  }
  std::vector<Patch> out;
  for (const double rung : rungs(lines)) {
    out.push_back(line);
    out.back().focus_offset = offset(-rung * waist.rayleigh);
  }
  return out;
}

}  // namespace circumfluence::calibration
