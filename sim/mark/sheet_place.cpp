// The words of the set-up sheet on where things stand: heights, the start, which way.
#include <fmt/format.h>

#include <cmath>

#include "mark/set_up.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using motion::Toward;
using quantity::format;

constexpr const char* kToward[] = {"", "left", "right", "front", "back"};

bool given(double value) {
  return !std::isnan(value);
}

std::string mm(double length) {
  return format(std::abs(length) < 5e-10 ? 0.0 : length, "mm", 4);
}

std::string lacking(const char* key) {
  return fmt::format("not stated: {}", key);
}

std::string stated(double value, const char* key, const std::string& words) {
  return given(value) ? words : lacking(key);
}

Toward opposite(Toward toward) {
  constexpr Toward kOpposite[] = {Toward::unstated, Toward::right, Toward::left, Toward::back, Toward::front};
  return kOpposite[int(toward)];
}

// Of a position around, at which the beam is before or after the top line comes under it.
std::string aside(const SetUp& sheet, double around) {
  const bool falls = int(motion::against(sheet.job.mount)) & 2;
  const double fed = falls ? -around : around;
  if (std::abs(around) < 5e-7) return "on the top line";
  const char* side = fed < 0 ? "before" : "after";
  if (sheet.turning)
    return fmt::format("{} of arc ({}) {} the top line comes under the beam", mm(std::abs(around)),
                       format(2 * std::abs(around) / sheet.turning->driven, "deg", 4), side);
  return fmt::format("{} {} the top line on positive feed", mm(std::abs(around)), side);
}

std::string raise_words(const SetUp& sheet) {
  const double raise = sheet.stack.raise();
  if (!given(raise)) return "cannot be said yet";
  if (std::abs(raise) < 5e-5) return "nothing: it stands right";
  return raise > 0 ? fmt::format("head up by {}, or risers of that height under its frame", mm(raise))
                   : fmt::format("head down by {0}, or {0} under the part", mm(-raise));
}

std::string way_words(const SetUp& sheet) {
  const double length = sheet.job.workpiece.length, before = -sheet.start->head_from,
               after = sheet.start->head_to - length;
  std::string out = fmt::format("head goes from {} to {}", place(sheet, sheet.start->head_from),
                                place(sheet, sheet.start->head_to));
  const motion::End mouth = sheet.job.mount.mouth;
  const auto past = [&](double by, const char* end) {
    if (by > 5e-7) out += fmt::format("; {} past the {}: the mount must leave room", mm(by), end);
  };
  past(before, mouth == motion::End::unstated ? "part's start"
               : mouth == motion::End::start  ? "mouth"
                                              : "base");
  past(after, mouth == motion::End::unstated ? "part's end" : mouth == motion::End::end ? "mouth" : "base");
  return out;
}

}  // namespace

std::string place(const SetUp& sheet, double axial) {
  const motion::End mouth = sheet.job.mount.mouth;
  if (mouth == motion::End::unstated) return fmt::format("axial {}", mm(axial));
  const double base = mouth == motion::End::end ? axial : sheet.job.workpiece.length - axial;
  return fmt::format("{} from the base", mm(base));
}

Block height_block(const SetUp& sheet) {
  const Stack& s = sheet.stack;
  const double offset = sheet.job.scan.focus_offset;
  const bool rollers = sheet.turning && sheet.job.rotary.drive == motion::Drive::rollers;
  Block block{"Height", {}};
  auto& out = block.rows;
  out.push_back({"mount", stated(s.axis, rollers ? "rotary.axle_height, roller_gap" : "rotary.axle_height",
                                 fmt::format("axis of the part {} above the bed", mm(s.axis)))});
  out.push_back(
      {"part",
       fmt::format("{} from there to the surface{}", mm(s.radius),
                   given(s.axis) ? fmt::format(", which lies {} above the bed", mm(s.surface())) : "")});
  out.push_back(
      {"focus distance", stated(s.focus, "laser.focus_distance",
                                fmt::format("{} from the surface to the head's lower edge", mm(s.focus)))});
  out.push_back({"focus offset", std::abs(offset) < 5e-7
                                     ? "none: the focus lies on the surface"
                                     : fmt::format("focus {} {} the surface{}", mm(std::abs(offset)),
                                                   offset > 0 ? "above" : "below",
                                                   given(s.focus) ? ", counted in above" : "")});
  out.push_back({"head now", stated(s.head, "mount.head_height",
                                    fmt::format("lower edge {} above the bed", mm(s.head)))});
  out.push_back({"riser", raise_words(sheet)});
  out.push_back({"set the focus", "at " + place(sheet, sheet.focus_at)});
  if (given(s.clearance))
    out.push_back({"clearance",
                   s.clearance > 0
                       ? fmt::format("{} at least between head and part, on its whole way", mm(s.clearance))
                       : fmt::format("none: the head strikes the part by {}", mm(-s.clearance))});
  return block;
}

Block start_block(const SetUp& sheet) {
  Block block{"Start and direction", {}};
  auto& out = block.rows;
  if (sheet.start) {
    out.push_back(
        {"beam starts", place(sheet, sheet.start->axial) + ", " + aside(sheet, sheet.start->around)});
    const double run_up = sheet.raster->sweep.run_up();
    out.push_back({"run-up", fmt::format("{} before and after each line{}", mm(run_up),
                                         sheet.raster->sweep.steady() ? "" : ", too short for full speed")});
    out.push_back({"way", way_words(sheet)});
  }
  const Toward feed = sheet.job.mount.around_feed;
  out.push_back({"lands", motion::words(sheet.landing)});
  if (sheet.turning)
    out.push_back({"turns", feed == Toward::unstated
                                ? lacking("mount.mouth, mouth_faces, axial_feed, around_feed")
                                : fmt::format("on positive feed its top moves to the {}",
                                              kToward[int(opposite(feed))])});
  return block;
}

}  // namespace circumfluence::mark
