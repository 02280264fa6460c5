// Any bytes are a path or a JobError with a place; its moves hang together, stay within bounds and are all
// finite. The last byte says which words the axes have, and whether to look for findings: sentences, whatever
// the path.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "motion/path_check.h"
#include "motion/tool_path.h"
#include "quantity/error.h"

namespace {

using namespace circumfluence::motion;

bool same(const PathPoint& a, const PathPoint& b) {
  return a.axial == b.axial && a.around == b.around && a.height == b.height;
}

bool within(const PathPoint& point) {
  return std::abs(point.axial) <= kFarthest && std::abs(point.around) <= kFarthest &&
         std::abs(point.height) <= kFarthest;
}

void require(bool holds) {
  if (!holds) std::abort();
}

void check(const Move& move, const PathPoint& from) {
  require(same(move.from, from) && within(move.to));
  require(std::isfinite(move.length()) && move.length() >= 0);
  require(std::isfinite(move.speed) && move.speed >= 0 &&
          (move.kind != Move::Kind::rapid || move.speed == 0));
  require(std::isfinite(move.power) && move.power >= 0 && !(move.darkened && move.power > 0));
  require(move.pause >= 0 && move.pause <= 1e6 && move.line >= 1 && move.offset >= 0);
  require(same(move.at(1), move.to));
  const PathPoint middle = move.at(0.5);
  require(std::isfinite(middle.axial) && std::isfinite(middle.around) && std::isfinite(middle.height));
  PathPoint at = move.from;
  int pieces = 0;
  chords(move, 1e-3, [&](const PathPoint& first, const PathPoint& last) {
    require(same(first, at) && ++pieces <= kMostChords);
    at = last;
  });
  require(same(at, move.to));
}

PathFile how(std::uint8_t choice) {
  PathFile file;
  file.axial = 0.1;
  file.full_power_word = 1000;
  file.driven_diameter = 70e-3;
  if (choice & 1) file.turn = AxisWord::a;
  if (choice & 2) file.along = AxisWord::y;
  if (choice & 2 && !(choice & 1)) file.turn = AxisWord::x;
  file.rapids_dark = choice & 4;
  return file;
}

PathSetting setting() {
  PathSetting out{.length = 0.2, .turn = 0.22, .clear_width = 0.1e-3};
  out.machine = {.axial_speed = 0.5, .around_speed = 0.1, .axial_acceleration = 2, .around_acceleration = 1};
  out.machine.corner_deviation = 1e-5;
  return out;
}

void check(const std::vector<Finding>& findings, std::int64_t moves) {
  for (const Finding& finding : findings) {
    require(finding.count >= 1 && finding.count <= 20'000'000 + moves && !std::isnan(finding.worst));
    require(!finding.lines.empty() && finding.lines.size() <= std::size_t(kMostLinesNamed));
    require(words(finding).back() == '.' && *name(finding.kind) != '\0');
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data), size - 1);
  PathPoint now{0.1, 0, 0};
  std::int64_t moves = 0;
  PathCheck checks(setting());
  try {
    const PathNotes notes = parse_path(text, "path.nc", how(data[size - 1]), [&](const Move& move) {
      check(move, now);
      if (data[size - 1] & 8) checks.take(move);
      now = move.to;
      return ++moves < 1000;
    });
    require(notes.moves == moves && notes.ignored.size() <= std::size_t(kMostIgnored));
    require(notes.bytes <= std::int64_t(text.size()));
    check(checks.finish(notes), moves);
  } catch (const circumfluence::quantity::JobError& error) {
    require(error.place().line >= 1 && error.place().column >= 1 && error.problem().size() < 1000);
  }
  return 0;
}
