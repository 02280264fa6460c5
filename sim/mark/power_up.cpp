// What to look at, in this order, when a rotary takes the place of an axis that has a limit switch, and
// afterwards. Common practice, no source: motors and their drivers die when parted under power, and an axis
// that turns for ever never meets the switch that homing waits for.
#include <fmt/format.h>

#include <cmath>

#include "mark/set_up.h"
#include "quantity/constants.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using quantity::format;

std::string mm(double length) {
  return format(length, "mm", 4);
}

void before_power(const SetUp& sheet, std::vector<std::string>& out) {
  const bool rollers = sheet.job.rotary.drive == motion::Drive::rollers;
  if (sheet.turning)
    out.push_back(
        "Mains off, and wait until the fans stand. Only then unplug the motor of the axis that is replaced "
        "and plug in the "
        "rotary's: a motor parted from its driver under power destroys it.");
  else
    out.push_back(
        "Mains off. Fix the part so that it can neither roll nor slide, its axis level and along the "
        "machine.");
  out.push_back("Empty, open, clean and dry the part; take cells out of torches and lamps.");
  if (!sheet.turning) return;
  out.push_back(rollers ? "Lay it on the rollers, level where the art goes, against a stop so that it cannot "
                          "creep. Turn it by hand, a whole "
                          "turn: nothing may catch, lift or slip."
                        : "Grip it without denting it. Turn it by hand, a whole turn: nothing may catch, the "
                          "cable may not wind up, and "
                          "the surface may not rise and fall under the head.");
  out.push_back(
      "Switch off homing at power-up, at least for this axis: its limit switch never closes, and the part "
      "would turn on and "
      "on. Zero it by hand instead.");
}

bool in_degrees(const SetUp& sheet) {
  return sheet.job.has_path() && sheet.job.path.turn == motion::AxisWord::a;
}

// What the axis is to be set to: steps a millimetre, or a degree where the path's words are degrees.
std::string right_steps(const SetUp& sheet) {
  const auto& right = sheet.turning->steps;
  if (!right) return "the rotary's";
  if (!in_degrees(sheet)) return fmt::format("{:.7g}", quantity::in_unit(right->stored, "1/mm"));
  return fmt::format("{:.7g} a degree", right->exact * quantity::kPi * sheet.turning->jogged / 360);
}

void steps(const SetUp& sheet, std::vector<std::string>& out) {
  std::string words = fmt::format(
      "Power on, beam off, lid shut, a hand at the stop. Write down the steps per mm of the flat bed, set "
      "{}, "
      "and read it back.",
      right_steps(sheet));
  if (set_wrong(sheet))
    words += fmt::format(" The stretch on this sheet is for {:.7g}: see there what changes.",
                         quantity::in_unit(sheet.job.rotary.set_steps, "1/mm"));
  out.push_back(std::move(words));
}

// What slip leaves of the full turn once the steps are right.
std::string short_by(const SetUp& sheet) {
  const double slip = sheet.job.rotary.slip;
  if (!(slip > 0)) return "";
  return fmt::format(", but for {} that slip of {} leaves", mm(quantity::kPi * sheet.turning->here * slip),
                     format(slip, "%", 3));
}

void jogs(const SetUp& sheet, std::vector<std::string>& out) {
  const motion::Toward feed = sheet.job.mount.around_feed;
  constexpr const char* kTop[] = {"", "right", "left", "back", "front"};
  out.push_back(
      fmt::format("Jog {} around: the top {}, else reverse the axis.", in_degrees(sheet) ? "10 deg" : "5 mm",
                  feed == motion::Toward::unstated ? "has to turn the way you want the art to run"
                                                   : fmt::format("has to move to the {}", kTop[int(feed)])));
  out.push_back(fmt::format(
      "Pencil a line under the beam, jog one full turn, {}: it has to come back under the beam{}. "
      "If not, circumfluence "
      "rotary --asked --got says what to set.",
      in_degrees(sheet) ? "360 deg" : format(quantity::kPi * sheet.turning->jogged, "mm", 6),
      short_by(sheet)));
}

// What shows where the beam would fall.
std::string pointer(double wavelength) {
  const bool seen = wavelength > 400e-9 && wavelength < 700e-9;
  return seen ? "the pointer's light, or the beam at its faintest behind the shut lid"
              : "the pointer's light";
}

void before_burning(const SetUp& sheet, std::vector<std::string>& out) {
  const double focus = sheet.stack.focus;
  out.push_back(fmt::format("Set {}, and look at both ends of the art.",
                            std::isnan(focus)
                                ? "the focus"
                                : fmt::format("the head's lower edge {} above the surface", mm(focus))));
  const std::string light = pointer(sheet.job.laser.wavelength);
  out.push_back(
      sheet.start
          ? fmt::format(
                "Go to the start by {}, and zero both axes there. Beam off, go round the frame of the "
                "art: the head has to clear everything from {} to {}.",
                light, place(sheet, sheet.start->head_from), place(sheet, sheet.start->head_to))
          : fmt::format("Go to the path's zero by {}. Run the path once with the beam off.", light));
  out.push_back(sheet.trial.job
                    ? fmt::format("Burn the art on the card tube first: {} at {}. Look at size, place, seam "
                                  "and which way round.",
                                  format(sheet.trial.power, "W", 3), format(sheet.trial.speed, "mm/min", 4))
                : sheet.start
                    ? "Run the art with the beam off first; there are no card settings to give."
                    : "Try it on a spare part or on scrap first; there are no card settings to give.");
  out.push_back(
      "Clamp the part, check zero and height again, extraction on, lid shut, eyewear on, extinguisher at "
      "hand: burn, and stay.");
}

}  // namespace

std::vector<std::string> power_up_checks(const SetUp& sheet) {
  std::vector<std::string> out;
  before_power(sheet, out);
  if (sheet.turning) {
    steps(sheet, out);
    jogs(sheet, out);
  }
  before_burning(sheet, out);
  if (!sheet.turning) return out;
  const double flat = sheet.job.rotary.flat_steps;
  out.push_back(
      fmt::format("Afterwards put back {}, switch homing on again, mains off, and only then swap the motors.",
                  std::isnan(flat) ? "the steps that you wrote down"
                                   : fmt::format("{:.7g} steps/mm", quantity::in_unit(flat, "1/mm"))));
  return out;
}

}  // namespace circumfluence::mark
