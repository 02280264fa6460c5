#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "motion/rotary.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/figure.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

using quantity::format;
using quantity::kPi;
using quantity::ValidityError;

double zero_or(double value) {
  return std::isnan(value) ? 0.0 : value;
}

// The chance that a normal figure lies at or below a bound; without spread it does or does not.
double chance_below(const Measure& figure, double bound) {
  if (!(figure.spread > 0)) return figure.value <= bound ? 1.0 : 0.0;
  return quantity::normal_below((bound - figure.value) / figure.spread);
}

void hold(bool holds, const char* what, double value, const char* unit, const char* expected) {
  if (!holds || !std::isfinite(value))
    throw ValidityError(fmt::format("rotary: {} = {} (expected {})", what, format(value, unit), expected));
}

// The mean of readings, and their standard deviation, which is no less than that of one reading.
Measure of_readings(std::span<const double> readings, double reading) {
  if (readings.empty()) throw ValidityError("rotary: a trial of no readings (expected one or more)");
  hold(reading >= 0, "error of a reading", reading, "mm", "0 mm or more");
  for (const double one : readings) hold(true, "reading", one, "mm", "a finite length");
  const double count = double(readings.size());
  const double mean = std::accumulate(readings.begin(), readings.end(), 0.0) / count;
  double squares = 0;
  for (const double one : readings) squares += (one - mean) * (one - mean);
  const double own = readings.size() > 1 ? std::sqrt(squares / (count - 1)) : 0.0;
  return {mean, std::max(own, reading)};
}

// The arc as whole steps, with the surface's travel that one of them is meant to make and does make.
struct Fed {
  double arc, steps, count;  // [m] asked, [1] not rounded, [1] rounded
  double as_set, as_made;    // [m] a step
};

Fed feed(const Rotary& rotary, const FullTurn& turn, double diameter) {
  const Steps right = steps(rotary, turn.entered, turn.decimals);
  const double set = std::isnan(rotary.set_steps) ? right.stored : rotary.set_steps;
  const double arc = kPi * turn.entered;
  return {.arc = arc,
          .steps = arc * set,
          .count = std::round(arc * set),
          .as_set = 1 / set,
          .as_made = steps(rotary, diameter, turn.decimals).smallest};
}

void add_up(Closure& out) {
  double variance = 0;
  for (const Measure* part : {&out.diameter, &out.whole_steps, &out.set_steps, &out.slip, &out.backlash}) {
    out.sum.value += part->value;
    variance += part->spread * part->spread;
  }
  out.sum.spread = std::sqrt(variance);
}

}  // namespace

double Closure::chance(double most) const {
  hold(most >= 0, "gap at the seam", most, "mm", "0 mm or more");
  if (!(sum.spread > 0)) return std::abs(sum.value) <= most ? 1.0 : 0.0;
  return chance_below(sum, most) - chance_below(sum, -most);
}

Closure closure(const Rotary& rotary, const FullTurn& turn) {
  const double diameter = std::isnan(turn.diameter) ? turn.entered : turn.diameter;
  hold(turn.entered > 0, "diameter of a full turn", turn.entered, "mm", "one above 0 mm");
  hold(diameter > 0, "diameter of a full turn", diameter, "mm", "one above 0 mm");
  hold(turn.diameter_spread >= 0, "spread of a diameter", turn.diameter_spread, "mm", "0 mm or more");
  const Fed fed = feed(rotary, turn, diameter);
  const double slip = zero_or(rotary.slip), travel = fed.count * fed.as_made;
  Closure out{};
  if (rotary.drive == Drive::rollers) {
    out.diameter = {kPi * (diameter - turn.entered), kPi * turn.diameter_spread};
    out.whole_steps = {(fed.steps - fed.count) * fed.as_set, 0};
    out.set_steps = {fed.count * (fed.as_set - fed.as_made), 0};
    out.slip = {travel * slip, travel * zero_or(rotary.slip_spread)};
  } else {
    out.whole_steps = {(fed.steps - fed.count) * fed.as_made, 0};
    out.set_steps = {kPi * diameter - fed.steps * fed.as_made, 0};
  }
  out.backlash = {zero_or(rotary.backlash), zero_or(rotary.backlash_spread)};
  add_up(out);
  return out;
}

double chance_in_step(const Rotary& rotary, double spacing) {
  hold(spacing > 0, "spacing", spacing, "mm", "one above 0 mm");
  if (std::isnan(rotary.backlash))
    throw quantity::JobError(
        "rotary.backlash is missing (how far lines of both ways lie apart depends on it)");
  return chance_below({rotary.backlash, zero_or(rotary.backlash_spread)}, spacing / 2);
}

Correction correction(double set_steps, const Trial& trial) {
  hold(set_steps > 0, "steps", set_steps, "1/mm", "a number above 0 1/mm");
  hold(trial.asked > 0, "travel asked for", trial.asked, "mm", "one above 0 mm");
  hold(trial.got > 0, "travel got", trial.got, "mm", "one above 0 mm");
  hold(trial.reading >= 0, "error of a reading", trial.reading, "mm", "0 mm or more");
  const double factor = trial.asked / trial.got, left = trial.reading / trial.got;
  return {{set_steps * factor, set_steps * factor * left}, {factor, factor * left}, left};
}

Measure slip(std::span<const double> shifts, const SeamTrial& trial) {
  hold(trial.turns > 0, "turns of a trial", trial.turns, "1", "one or more");
  hold(trial.diameter.value > 0, "diameter", trial.diameter.value, "mm", "one above 0 mm");
  hold(trial.diameter.spread >= 0, "spread of a diameter", trial.diameter.spread, "mm", "0 mm or more");
  hold(trial.steps > 0, "steps of a trial over the right ones", trial.steps, "1", "above 0");
  const Measure shift = of_readings(shifts, trial.reading);
  const double way = trial.turns * kPi * trial.diameter.value;
  return {1 - (1 - shift.value / way) / trial.steps,
          std::hypot(shift.spread / way, trial.diameter.spread / trial.diameter.value) / trial.steps};
}

Measure backlash(std::span<const double> distances, double reading) {
  return of_readings(distances, reading);
}

Measure diameter(const Wrapped& wrapped) {
  hold(wrapped.length > 0, "circumference", wrapped.length, "mm", "one above 0 mm");
  hold(wrapped.reading >= 0, "error of a reading", wrapped.reading, "mm", "0 mm or more");
  hold(wrapped.thickness >= 0, "thickness of the strip", wrapped.thickness, "mm", "0 mm or more");
  hold(std::abs(wrapped.askew) < kPi / 2, "angle of the strip", wrapped.askew, "deg", "below 90 deg");
  hold(wrapped.askew_spread >= 0, "spread of the strip's angle", wrapped.askew_spread, "deg",
       "0 deg or more");
  // Of a normal angle, the means of its cosine and of that squared.
  const double spread = wrapped.askew_spread * wrapped.askew_spread;
  const double mean = std::cos(wrapped.askew) * std::exp(-spread / 2);
  const double square = (1 + std::cos(2 * wrapped.askew) * std::exp(-2 * spread)) / 2;
  const double value = wrapped.length * mean / kPi - wrapped.thickness;
  hold(value > 0, "diameter inside the strip", value, "mm", "one above 0 mm");
  const double variance = wrapped.reading * wrapped.reading * square +
                          wrapped.length * wrapped.length * std::max(0.0, square - mean * mean);
  return {value, std::sqrt(variance) / kPi};
}

Measure diameter(std::span<const double> across, double reading) {
  const Measure readings = of_readings(across, reading);
  return {readings.value, readings.spread / std::sqrt(double(across.size()))};
}

}  // namespace circumfluence::motion
