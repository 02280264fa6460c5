// The verdict as words for a person and as JSON for a script.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "mark/verdict.h"
#include "quantity/unit.h"
#include "response/outcome.h"

namespace circumfluence::mark {
namespace {

using quantity::format;

// "12.3 %", and for what is there but rounds away: "under 0.1 %", "over 99.9 %".
std::string percent(double share, int digits) {
  const double step = std::pow(10.0, -digits), value = 100 * share;
  if (value > 0 && value < step) return fmt::format("under {:.{}f} %", step, digits);
  if (value < 100 && value > 100 - step) return fmt::format("over {:.{}f} %", 100 - step, digits);
  return fmt::format("{:.{}f} %", value, digits);
}

std::string shares(const std::array<double, 4>& share, double area) {
  if (!(area > 0)) return "nothing";
  std::string out = fmt::format("{:.4g} cm^2: ", area * 1e4);
  const char* comma = "";
  for (const int state : {2, 1, 0, 3}) {  // marked first, over-burned last
    out += fmt::format("{}{} {}", comma, response::kOutcomeNames[state], percent(share[size_t(state)], 1));
    comma = ", ";
  }
  return out;
}

// The power that a factor stands for, and whether this laser has it.
std::string power(const Verdict& v, double factor) {
  const bool beyond = factor * v.power > v.rated_power * (1 + 1e-9);
  return fmt::format("{} ({:.3g} times){}", format(factor * v.power, "W", 3), factor,
                     beyond ? ", more than this laser gives" : "");
}

std::string down(const Verdict& v) {
  if (std::isnan(v.least_factor)) return "nothing is wanted here";
  if (std::isinf(v.least_factor)) return "no power marks enough of what is wanted";
  return (v.least_factor <= 1 ? "still marks at " : "marks only from ") + power(v, v.least_factor);
}

std::string up(const Verdict& v) {
  if (std::isinf(v.greatest_factor)) return "no power over-burns";
  return (v.ruling == Ruling::over_burns ? "over-burns down to " : "over-burns from ") +
         power(v, v.greatest_factor);
}

std::string window(const Verdict& v) {
  const double most = v.rated_power / v.power;
  if (std::isnan(v.least_factor) || std::isinf(v.least_factor)) return "";
  if (v.least_factor >= v.greatest_factor)
    return "window     none: at this speed and spacing every power that marks enough also over-burns\n";
  if (v.least_factor > most)
    return "window     none for this laser: move slower, set lines closer or add passes\n";
  return fmt::format("window     {} to {} at this speed and spacing\n",
                     format(v.least_factor * v.power, "W", 3),
                     format(std::min(v.greatest_factor, most) * v.power, "W", 3));
}

std::string chances(const Verdict& v) {
  if (std::isnan(v.chance_marks)) return "";
  return fmt::format("chance     {} to mark as set, {} to spare the base, {}\n", chance_text(v.chance_marks),
                     chance_text(v.chance_spares), v.chances_from);
}

std::string limit(const Verdict& v) {
  std::string out = fmt::format("hottest    base up to {}\n", format(v.hottest, "degC", 4));
  if (v.over_limits ? std::isinf(v.greatest_factor) : std::isnan(v.least_factor)) return out;
  return fmt::format("limit      {} at {} along, {} around\n", v.over_limits ? "burns first" : "marks last",
                     format(v.limiting.axial, "mm", 4), format(v.limiting.around, "mm", 4)) +
         out;
}

std::string states(const std::array<double, 4>& share) {
  return fmt::format(R"({{"untouched": {}, "under_marked": {}, "marked": {}, "over_burned": {}}})",
                     json_number(share[0]), json_number(share[1]), json_number(share[2]), json_number(share[3]));
}

}  // namespace

std::string json_number(double value) {
  return std::isfinite(value) ? fmt::format("{:.9g}", value) : "null";
}

std::string json_text(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) < 0x20)
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
    else
      out += c;
  }
  return out + "\"";
}

std::string json_list(const std::vector<std::string>& texts) {
  std::string out = "[";
  for (const std::string& text : texts) out += (out.size() > 1 ? ", " : "") + json_text(text);
  return out + "]";
}

std::string chance_text(double chance) {
  return percent(std::clamp(chance, 0.001, 0.999), 0);
}

std::string clock(double seconds) {
  if (seconds < 9.995) return format(seconds, "s", 3);
  const long s = std::lround(seconds);
  return s < 60     ? fmt::format("{} s", s)
         : s < 3600 ? fmt::format("{} min {:02} s", s / 60, s % 60)
                    : fmt::format("{} h {:02} min", s / 3600, s % 3600 / 60);
}

std::string text(const Verdict& v) {
  std::string out = fmt::format("verdict    {}\n", kRulingNames[int(v.ruling)]);
  out += fmt::format("wanted     {}\n", shares(v.wanted, v.wanted_area));
  out += fmt::format("elsewhere  {}\n", shares(v.unwanted, v.unwanted_area));
  out += fmt::format("power      {} set; {}; {}\n", format(v.power, "W", 4), down(v), up(v));
  out += window(v) + chances(v) + limit(v);
  out += fmt::format("time       {} for {} lines\n", clock(v.duration), v.lines);
  for (const std::string& note : v.notes) out += "note       " + note + "\n";
  for (const std::string& caution : v.cautions) out += "caution    " + caution + "\n";
  return out;
}

std::string json(const Verdict& v) {
  std::string out = fmt::format("{{\"verdict\": {}", json_text(kRulingNames[int(v.ruling)]));
  out += fmt::format(", \"wanted\": {}, \"unwanted\": {}", states(v.wanted), states(v.unwanted));
  out += fmt::format(", \"wanted_area\": {}, \"unwanted_area\": {}", json_number(v.wanted_area),
                     json_number(v.unwanted_area));
  out += fmt::format(", \"power\": {}, \"rated_power\": {}", json_number(v.power), json_number(v.rated_power));
  out += fmt::format(", \"least_factor\": {}, \"greatest_factor\": {}", json_number(v.least_factor),
                     json_number(v.greatest_factor));
  out += fmt::format(", \"chance_marks\": {}, \"chance_spares\": {}", json_number(v.chance_marks),
                     json_number(v.chance_spares));
  out += fmt::format(", \"limiting\": {{\"margin\": {}, \"axial\": {}, \"around\": {}}}",
                     json_text(v.over_limits ? "over-burn" : "mark"), json_number(v.limiting.axial),
                     json_number(v.limiting.around));
  out += fmt::format(", \"hottest\": {}, \"warmest_wall\": {}", json_number(v.hottest), json_number(v.warmest_wall));
  out += fmt::format(", \"melted_depth\": {}, \"melted_width\": {}, \"softened\": {}", json_number(v.melt.depth),
                     json_number(v.melt.width), json_number(v.softened));
  out += fmt::format(", \"duration\": {}, \"lines\": {}", json_number(v.duration), v.lines);
  return out + fmt::format(", \"notes\": {}, \"cautions\": {}}}\n", json_list(v.notes), json_list(v.cautions));
}

}  // namespace circumfluence::mark
