// The recommendation as words for a person and as JSON for a script.
#include <fmt/format.h>

#include <cmath>

#include "quantity/unit.h"
#include "window/recommend.h"

namespace circumfluence::window {
namespace {

using mark::chance_text;
using quantity::format;
using mark::json_number;
using mark::json_text;

std::string percent_set(const mark::Scene& scene, double power) {
  return fmt::format("{} ({} of the rated power)", format(power, "W", 3), format(power / scene.job.laser.rated_power, "%", 3));
}

std::string words(const Interval& factor, double power) {
  const auto watts = [&](double f) { return std::isfinite(f) ? format(f * power, "W", 3) : std::string("no power"); };
  return fmt::format("{} (90 % between {} and {})", watts(factor.middle), watts(factor.low), watts(factor.high));
}

std::string described(const mark::Scene& scene, const Setting& s) {
  std::string out = fmt::format("power      {}\nspeed      {}\n", percent_set(scene, s.power), format(s.speed, "mm/min", 4));
  out += fmt::format("fill       lines {} apart, {} pass{}, focus {} above the surface\n", format(s.fill.spacing, "mm", 3), s.fill.passes,
                     s.fill.passes == 1 ? "" : "es", format(s.fill.focus_offset, "mm", 3));
  out += fmt::format("time       {}\n", mark::clock(s.duration));
  out += fmt::format("chance     {} to mark, {} to over-burn, {} to come out good\n", chance_text(s.chances.marks),
                     chance_text(1 - s.chances.spares), chance_text(s.chances.good));
  out += fmt::format("marks      from {}\n", words(s.least_factor, s.power));
  out += fmt::format("over-burns from {}\n", words(s.greatest_factor, s.power));
  out += fmt::format("powers     {} to {} will do at this speed\n", format(s.power_low, "W", 3), format(s.power_high, "W", 3));
  return out;
}

std::string json_of(const Interval& i) {
  return fmt::format("[{}, {}, {}]", json_number(i.low), json_number(i.middle), json_number(i.high));
}

std::string json_of(const Setting& s) {
  return fmt::format(
      "{{\"power\": {}, \"speed\": {}, \"spacing\": {}, \"focus_offset\": {}, \"passes\": {}, \"duration\": {}, \"chance_marks\": {}, "
      "\"chance_spares\": {}, \"chance_good\": {}, \"power_low\": {}, \"power_high\": {}, \"least_factor\": {}, \"greatest_factor\": {}}}",
      json_number(s.power), json_number(s.speed), json_number(s.fill.spacing), json_number(s.fill.focus_offset), s.fill.passes,
      json_number(s.duration), json_number(s.chances.marks), json_number(s.chances.spares), json_number(s.chances.good),
      json_number(s.power_low), json_number(s.power_high), json_of(s.least_factor), json_of(s.greatest_factor));
}

}  // namespace

std::string text(const mark::Scene& scene, const Recommendation& r, const Wish& wish) {
  const std::string asked = fmt::format("{} to mark and at most {} to over-burn", format(wish.marks, "%", 3), format(wish.burns, "%", 3));
  std::string out;
  if (r.fastest) {
    out = "settings   the fastest with a chance of at least " + asked + "\n" + described(scene, *r.fastest);
  } else {
    out = "settings   none within the limits has a chance of at least " + asked + "\n";
    if (r.relaxations.empty()) out += "relax      no single limit alone is enough\n";
    for (const Relaxation& relax : r.relaxations)
      out += fmt::format("relax      {}: {} instead of {}\n", relax.what, format(relax.to, relax.unit, 3), format(relax.from, relax.unit, 3));
    if (!r.trade.empty()) out += "the safest there is\n" + described(scene, r.trade.back());
  }
  for (const std::string& note : r.notes) out += "note       " + note + "\n";
  return out;
}

std::string json(const Recommendation& r, const Wish& wish) {
  std::string out = fmt::format("{{\"asked\": {{\"marks\": {}, \"burns\": {}}}, \"fastest\": {}, \"trade\": [", json_number(wish.marks),
                                json_number(wish.burns), r.fastest ? json_of(*r.fastest) : "null");
  for (size_t i = 0; i < r.trade.size(); ++i) out += (i > 0 ? ", " : "") + json_of(r.trade[i]);
  out += "], \"relaxations\": [";
  for (size_t i = 0; i < r.relaxations.size(); ++i) {
    const Relaxation& relax = r.relaxations[i];
    out += fmt::format("{}{{\"what\": {}, \"from\": {}, \"to\": {}}}", i > 0 ? ", " : "", json_text(relax.what), json_number(relax.from),
                       json_number(relax.to));
  }
  return out + fmt::format("], \"notes\": {}}}\n", mark::json_list(r.notes));
}

}  // namespace circumfluence::window
