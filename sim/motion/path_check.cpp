#include "motion/path_check.h"

#include <algorithm>
#include <cmath>

namespace circumfluence::motion {
namespace {

constexpr double kSame = 1e-9;      // [m]
constexpr double kRounding = 1e-6;  // [1] of speeds and powers
constexpr double kEnough = 1e12;    // [m/s^2] that no arc asks for

using Kind = Finding::Kind;

double beyond(double position, double length) {
  return std::max(-position, position - length);
}

}  // namespace

PathCheck::PathCheck(const PathSetting& setting) : setting_(setting), speeds_only_(setting.machine) {
  has_machine_ = setting.machine.axial_acceleration > 0 && setting.machine.around_acceleration > 0;
  speeds_only_.axial_acceleration = speeds_only_.around_acceleration = kEnough;
  for (size_t i = 0; i < findings_.size(); ++i) findings_[i].kind = static_cast<Kind>(i);
}

void PathCheck::find(Kind kind, std::int64_t line, double worst) {
  Finding& finding = findings_[static_cast<size_t>(kind)];
  if (++finding.count == 1 || worst > finding.worst) {
    finding.worst = worst;
    finding.worst_line = line;
  }
  const bool named = !finding.lines.empty() && finding.lines.back() == line;
  if (!named && finding.lines.size() < static_cast<size_t>(kMostLinesNamed)) finding.lines.push_back(line);
}

void PathCheck::take(const Move& move) {
  const bool lit = move.power > 0;
  check_words(move, lit);
  check_speeds(move, lit);
  if (move.kind == Move::Kind::dwell) return;
  chords(move, kArcTolerance,
         [&](const PathPoint& from, const PathPoint& to) { check_place(move, from, to, lit); });
  if (!std::isnan(setting_.clear_width))
    if (const auto gap = passes_.take(move, lit, setting_.clear_width))
      find(Kind::spacing, passes_.line(), *gap);
}

// What needs no more than the move's own words.
void PathCheck::check_words(const Move& move, bool lit) {
  if (move.darkened && move.length() > kSame) find(Kind::dark_rapid, move.line, move.length());
  if (!lit) return;
  if (move.power > 1 + kRounding) find(Kind::power, move.line, static_cast<double>(move.power));
  if (move.kind == Move::Kind::rapid && move.length() > kSame)
    find(Kind::lit_rapid, move.line, move.length());
  const bool stands = move.kind == Move::Kind::dwell
                          ? move.pause > 0
                          : move.kind == Move::Kind::feed && move.length() <= kSame;
  if (stands && !move.follows_speed) find(Kind::standing, move.line, move.pause);
  const double rise = std::abs(move.to.height - move.from.height);
  if (rise > kSame) find(Kind::height, move.line, rise);
}

// Bends and corners matter where the power does not follow the speed: there they are burnt deeper.
void PathCheck::check_speeds(const Move& move, bool lit) {
  if (!has_machine_) return;
  const Course way = course(move);
  if (move.kind == Move::Kind::feed && way.length <= kSame) return;
  if (move.kind != Move::Kind::feed) {
    before_.reset();
    return;
  }
  const bool deeper = lit && !move.follows_speed;
  const double axes = limits(speeds_only_, move, way).speed;
  const double bend = limits(setting_.machine, move, way).speed;
  if (lit && axes < move.speed * (1 - kRounding)) {
    find(Kind::too_fast, move.line, move.speed / axes);
  } else if (deeper && bend < move.speed * (1 - kRounding)) {
    find(Kind::slow_bend, move.line, move.speed / bend);
  }
  if (before_ && before_->lit && deeper) {
    const double wanted = std::min(before_->speed, move.speed);
    const double corner = corner_speed(setting_.machine, before_->end, way.begin);
    if (corner < wanted * (1 - kRounding)) find(Kind::slow_corner, move.line, wanted / corner);
  }
  before_ = Before{way.end, move.speed, deeper};
}

// [m] how far beyond an end or beside the part; not above 0 on it.
double PathCheck::off_the_part(const PathPoint& at) const {
  double off = std::isnan(setting_.length) ? 0 : beyond(at.axial, setting_.length);
  if (setting_.standing)
    off = std::max(off, std::abs(at.around + setting_.beam_offset) - setting_.standing->radius(at.axial));
  return off;
}

void PathCheck::check_place(const Move& move, const PathPoint& from, const PathPoint& to, bool lit) {
  if (!std::isnan(setting_.turn) && reversals_.take(to.around - from.around, lit, setting_.slack))
    find(Kind::reversal, move.line, -reversals_.way);
  if (!lit) return;
  const double off = std::max(off_the_part(from), off_the_part(to));
  if (off > kSame) find(Kind::off_the_part, move.line, off);
  // What misses the part burns no place of it twice; an arc of kilometres would be looked at for nothing.
  const bool misses = std::max(from.axial, to.axial) < 0 || std::min(from.axial, to.axial) > setting_.length;
  if (std::isnan(setting_.turn) || misses) return;
  if (!burnt_) first_ = last_ = from.around;
  burnt_ = true;
  first_ = std::min({first_, from.around, to.around});
  last_ = std::max({last_, from.around, to.around});
  if (boxes_.take(from, to, setting_.turn)) find(Kind::second_turn, move.line, last_ - first_);
}

std::vector<Finding> PathCheck::finish(const PathNotes& notes) {
  if (!std::isnan(setting_.clear_width))
    if (const auto gap = passes_.finish(setting_.clear_width)) find(Kind::spacing, passes_.line(), *gap);
  if (notes.beam_on) find(Kind::left_on, notes.beam_on, notes.ended ? 1 : 0);
  std::vector<Finding> out;
  for (Finding& finding : findings_)
    if (finding.count) out.push_back(std::move(finding));
  return out;
}

}  // namespace circumfluence::motion
