// The verdict as words for a person and as JSON for a script.
#include <fmt/format.h>

#include <cmath>

#include "mark/verdict.h"
#include "quantity/unit.h"
#include "response/outcome.h"

namespace circumfluence::mark {
namespace {

using quantity::format;

std::string shares(const std::array<double, 4>& share) {
  std::string out;
  for (int i = 3; i >= 0; --i) {
    const int state = i == 3 ? 2 : i == 2 ? 1 : i == 1 ? 0 : 3;  // marked first, over-burned last
    out += fmt::format("{}{} {:.1f} %", out.empty() ? "" : ", ", response::kOutcomeNames[state],
                       100 * share[state]);
  }
  return out;
}

std::string time(double seconds) {
  const long s = std::lround(seconds);
  return s < 60     ? fmt::format("{} s", s)
         : s < 3600 ? fmt::format("{} min {:02} s", s / 60, s % 60)
                    : fmt::format("{} h {:02} min", s / 3600, s % 3600 / 60);
}

std::string down(const Verdict& v) {
  if (std::isinf(v.least_factor)) return "no power marks the wanted area";
  return v.least_factor <= 1 ? fmt::format("still marks at {:.0f} % of this power", 100 * v.least_factor)
                             : fmt::format("needs {:.2f} times this power to mark", v.least_factor);
}

std::string up(const Verdict& v) {
  if (std::isinf(v.greatest_factor)) return "no power over-burns";
  return v.greatest_factor >= 1
             ? fmt::format("over-burns from {:.3g} times this power", v.greatest_factor)
             : fmt::format("stops over-burning at {:.0f} % of this power", 100 * v.greatest_factor);
}

// JSON has no infinity and wants its strings escaped.
std::string number(double value) {
  return std::isfinite(value) ? fmt::format("{:.9g}", value) : "null";
}

std::string quoted(const std::string& text) {
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

std::string list(const std::vector<std::string>& texts) {
  std::string out = "[";
  for (const std::string& text : texts) out += (out.size() > 1 ? ", " : "") + quoted(text);
  return out + "]";
}

std::string states(const std::array<double, 4>& share) {
  return fmt::format(R"({{"untouched": {}, "under_marked": {}, "marked": {}, "over_burned": {}}})",
                     number(share[0]), number(share[1]), number(share[2]), number(share[3]));
}

}  // namespace

std::string text(const Verdict& v) {
  std::string out = fmt::format("verdict    {}\n", kRulingNames[int(v.ruling)]);
  out += fmt::format("wanted     {} of {:.4g} cm^2\n", shares(v.wanted), v.wanted_area * 1e4);
  out += fmt::format("elsewhere  {} of {:.4g} cm^2\n", shares(v.unwanted), v.unwanted_area * 1e4);
  out += fmt::format("power      {} ({:.0f} % sure), {} ({:.0f} % sure)\n", down(v), 100 * v.chance_marks,
                     up(v), 100 * v.chance_spares);
  out += fmt::format("limit      {} at {} along, {} around; base up to {}\n",
                     v.over_limits ? "hottest" : "weakest", format(v.limiting.axial, "mm", 4),
                     format(v.limiting.around, "mm", 4), format(v.hottest, "degC", 4));
  out += fmt::format("time       {} for {} lines\n", time(v.duration), v.lines);
  for (const std::string& note : v.notes) out += "note       " + note + "\n";
  for (const std::string& caution : v.cautions) out += "caution    " + caution + "\n";
  return out;
}

std::string json(const Verdict& v) {
  std::string out = fmt::format("{{\"verdict\": {}", quoted(kRulingNames[int(v.ruling)]));
  out += fmt::format(", \"wanted\": {}, \"unwanted\": {}", states(v.wanted), states(v.unwanted));
  out += fmt::format(", \"wanted_area\": {}, \"unwanted_area\": {}", number(v.wanted_area),
                     number(v.unwanted_area));
  out += fmt::format(", \"least_factor\": {}, \"greatest_factor\": {}", number(v.least_factor),
                     number(v.greatest_factor));
  out += fmt::format(", \"chance_marks\": {}, \"chance_spares\": {}", number(v.chance_marks),
                     number(v.chance_spares));
  out += fmt::format(", \"limiting\": {{\"margin\": {}, \"axial\": {}, \"around\": {}}}",
                     quoted(v.over_limits ? "over-burn" : "mark"), number(v.limiting.axial),
                     number(v.limiting.around));
  out += fmt::format(", \"hottest\": {}, \"duration\": {}, \"lines\": {}", number(v.hottest),
                     number(v.duration), v.lines);
  return out + fmt::format(", \"notes\": {}, \"cautions\": {}}}\n", list(v.notes), list(v.cautions));
}

}  // namespace circumfluence::mark
