// Findings in words.
#include <fmt/format.h>

#include <cmath>

#include "motion/path_check.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

using Kind = Finding::Kind;

std::string times(std::int64_t count) {
  return count == 1 ? "once" : count == 2 ? "twice" : fmt::format("{} times", count);
}

std::string lines(const Finding& finding) {
  std::string out = finding.lines.size() == 1 ? "line " : "lines ";
  for (size_t i = 0; i < finding.lines.size(); ++i) out += (i ? ", " : "") + std::to_string(finding.lines[i]);
  const bool more = finding.lines.size() == static_cast<size_t>(kMostLinesNamed) &&
                    finding.count > static_cast<std::int64_t>(kMostLinesNamed);
  return more ? out + ", ..." : out;
}

std::string length(double si) {
  return quantity::format(si, "mm", 3);
}

std::string factor(double value) {
  return std::isfinite(value) ? fmt::format("{:.3g} times what it can", value) : "it stops there";
}

// What is said after "..., 3 times (lines 4, 9, 12)"; `worst` has the line of it.
struct Phrase {
  const char* what;
  std::string worst;
  const char* then;
};

Phrase phrase(const Finding& finding) {
  const double worst = finding.worst;
  switch (finding.kind) {
    case Kind::reversal:
      return {"The part turns back and is burnt soon after", length(-worst) + " after it at the soonest",
              "backlash and the slip of rollers displace what is burnt there; fill solid areas in one "
              "turning direction, "
              "coming back with the beam off and past the start"};
    case Kind::lit_rapid:
      return {
          "The beam is on during a rapid, G0", "over " + length(worst) + " at the most",
          "it burns at a speed that the path does not say; put it out with M5 or S0 before, or burn with G1"};
    case Kind::dark_rapid:
      return {"The words leave the beam on during a rapid, G0", "over " + length(worst) + " at the most",
              "it stays dark only if the controller puts the beam out there, as path.rapids_dark says"};
    case Kind::standing:
      return {"The beam is on while nothing moves", "for up to " + quantity::format(worst, "s", 3),
              "all of it falls on one spot; put the beam out before a dwell"};
    case Kind::off_the_part:
      return {"The beam is on beyond the ends of the part, or beside it", "by up to " + length(worst),
              "it burns what lies behind; move the path's zero, path.axial or path.around, or the art"};
    case Kind::second_turn:
      return {
          "The beam is on where an earlier turn of the part was burnt already",
          "the burnt arc being " + length(worst) + " by then",
          "art of more than a full turn overlaps itself; make it narrower, unless a second pass is meant"};
    case Kind::too_fast:
      return {"The feed is more than the axes can do", "by up to " + fmt::format("a factor of {:.3g}", worst),
              "the machine goes slower than the path says"};
    case Kind::slow_bend:
      return {"Arcs at constant power are too narrow for their feed", "at up to " + factor(worst),
              "the machine slows down and burns deeper there; let the power follow the speed, or ask for "
              "less speed"};
    case Kind::slow_corner:
      return {"Corners at constant power are too sharp for their feed",
              std::isfinite(worst) ? "at up to " + factor(worst) : factor(worst),
              "the machine slows down and burns deeper there; let the power follow the speed, or ask for "
              "less speed"};
    case Kind::power:
      return {"S asks for more than the rated power", fmt::format("for up to {:.4g} %", 100 * worst),
              "the laser gives no more than it has; look at path.full_power_word"};
    case Kind::spacing:
      return {"Neighbouring passes lie further apart than a line clears", "by up to " + length(worst),
              "stripes stay between them, unless lines between are burnt later; lay them closer"};
    case Kind::height:
      return {"The beam is on while the height changes", "by up to " + length(worst),
              "the spot changes along the line; put the beam out when Z moves, unless it follows the part's "
              "shape"};
    case Kind::left_on:
      return {"The path ends with the beam on",
              worst > 0 ? "put out by its M2 or M30 alone" : "and nothing puts it out", "end it with M5"};
    case Kind::count:
      break;
  }
  return {"", "", ""};
}

}  // namespace

const char* name(Kind kind) {
  switch (kind) {
    case Kind::reversal:
      return "reversal";
    case Kind::lit_rapid:
      return "lit_rapid";
    case Kind::dark_rapid:
      return "dark_rapid";
    case Kind::standing:
      return "standing";
    case Kind::off_the_part:
      return "off_the_part";
    case Kind::second_turn:
      return "second_turn";
    case Kind::too_fast:
      return "too_fast";
    case Kind::slow_bend:
      return "slow_bend";
    case Kind::slow_corner:
      return "slow_corner";
    case Kind::power:
      return "power";
    case Kind::spacing:
      return "spacing";
    case Kind::height:
      return "height";
    case Kind::left_on:
      return "left_on";
    case Kind::count:
      break;
  }
  return "";
}

std::string words(const Finding& finding) {
  const Phrase say = phrase(finding);
  const bool often = finding.kind != Kind::left_on;
  const bool apart = finding.count > 1 && finding.worst_line > 0 && often;
  return fmt::format("{}{} ({}), {}{}: {}.", say.what, often ? ", " + times(finding.count) : "",
                     lines(finding), say.worst, apart ? fmt::format(" (line {})", finding.worst_line) : "",
                     say.then);
}

}  // namespace circumfluence::motion
