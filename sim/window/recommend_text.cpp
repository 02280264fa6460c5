// The recommendation as words for a person and as JSON for a script.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/unit.h"
#include "window/recommend.h"

namespace circumfluence::window {
namespace {

constexpr double kProspect = 0.2;  // [1] chance of coming out good that is worth a row

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

// Never with an exponent.
std::string speed_text(double speed) {
  const double shown = quantity::in_unit(speed, "mm/min");
  return shown < 1000 ? format(speed, "mm/min", 4) : fmt::format("{:.0f} mm/min", shown);
}

std::string focus_words(double offset) {
  if (offset == 0) return "focus on the surface";
  return fmt::format("focus {} {} the surface", format(std::abs(offset), "mm", 3), offset > 0 ? "above" : "below");
}

std::string powers(const Setting& s) {
  if (!(s.power_low <= s.power_high)) return "powers     none at this speed has both chances\n";
  return fmt::format("powers     {} to {} have both chances at this speed\n", format(s.power_low, "W", 3),
                     format(s.power_high, "W", 3));
}

std::string described(const mark::Scene& scene, const Setting& s) {
  std::string out =
      fmt::format("power      {}\nspeed      {}\n", percent_set(scene, s.power), speed_text(s.speed));
  out += fmt::format("fill       {}\n", text(s.fill));
  out += fmt::format("time       {}\n", mark::clock(s.duration));
  out += fmt::format("chance     {} to mark, {} to over-burn, {} to come out good\n", chance_text(s.chances.marks),
                     chance_text(1 - s.chances.spares), chance_text(s.chances.good));
  out += fmt::format("marks      from {}\n", words(s.least_factor, s.power));
  out += fmt::format("over-burns from {}\n", words(s.greatest_factor, s.power));
  return out + powers(s);
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

std::string text(const mark::Scene& scene, const Setting& setting) {
  return described(scene, setting);
}

std::string json(const Setting& setting) {
  return json_of(setting);
}

std::string text(const Fill& fill) {
  return fmt::format("lines {} apart, {} pass{}, {}", format(fill.spacing, "mm", 3), fill.passes,
                     fill.passes == 1 ? "" : "es", focus_words(fill.focus_offset));
}

std::string trade_text(const Recommendation& r, int rows) {
  const auto worth = [](const Setting& s) { return s.chances.good >= kProspect; };
  const auto first = std::find_if(r.trade.begin(), r.trade.end(), worth);
  const auto count = static_cast<int>(r.trade.end() - first);
  if (count < 2) return "";
  const auto other = [&](const Setting& s) { return text(s.fill) != text(first->fill); };
  const bool fills = std::any_of(first, r.trade.end(), other);
  constexpr const char* kRow = "{:10} {:>13} {:>9} {:>13} {:>10} {:>10} {:>10}{}\n";
  std::string out = fmt::format(fmt::runtime(kRow), "trade", "time", "power", "speed", "marks", "over-burns", "good",
                                fills ? "  fill" : "");
  for (int i = 0; i < std::min(rows, count); ++i) {
    const Setting& s = *(first + (count <= rows ? i : i * (count - 1) / (rows - 1)));
    out += fmt::format(fmt::runtime(kRow), "", mark::clock(s.duration), format(s.power, "W", 3), speed_text(s.speed),
                       chance_text(s.chances.marks), chance_text(1 - s.chances.spares), chance_text(s.chances.good),
                       fills ? "  " + text(s.fill) : "");
  }
  return out;
}

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
