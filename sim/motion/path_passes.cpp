// Straight passes side by side: whether they are closer than a line clears.
#include <algorithm>
#include <cmath>

#include "motion/path_check.h"

namespace circumfluence::motion {
namespace {

constexpr double kStill = 1e-9;     // [m]
constexpr double kOneLine = 2e-6;   // [m] off a pass's line that still belongs to it: rounded words
constexpr double kOneWay = 1e-3;    // [rad] likewise
constexpr double kParallel = 0.02;  // [rad]
constexpr double kRegular = 0.05;   // [1] by which neighbouring spacings of a fill differ at most
constexpr double kNeighbours = 20;  // [1] clear widths: passes farther apart are no fill
constexpr double kShortest = 4;     // [1] clear widths: a shorter one is no pass

}  // namespace

// [m] between them, where they are parallel and half of the shorter lies beside the other.
std::optional<double> Passes::gap(const Pass& pass, const Pass& before) const {
  if (std::abs(pass.x * before.y - pass.y * before.x) > kParallel) return {};
  const double axial = pass.axial - before.axial, around = pass.around - before.around;
  const double same = pass.x * before.x + pass.y * before.y > 0 ? 1 : -1;
  const double along = axial * before.x + around * before.y;
  const double a = along + same * pass.low, b = along + same * pass.high;
  const double beside = std::min(std::max(a, b), before.high) - std::max(std::min(a, b), before.low);
  if (beside < std::min(pass.high - pass.low, before.high - before.low) / 2) return {};
  return std::abs(axial * before.y - around * before.x);
}

std::optional<double> Passes::finish(double clear_width) {
  if (!now_) return {};
  const Pass pass = *now_;
  now_.reset();
  if (!pass.lit || pass.high - pass.low < kShortest * clear_width) return {};
  std::optional<double> nearest;
  for (const Pass& before : recent_)
    if (const auto distance = gap(pass, before); distance && *distance > kOneLine)
      nearest = nearest ? std::min(*nearest, *distance) : *distance;
  if (recent_.size() == static_cast<size_t>(kRecent)) recent_.erase(recent_.begin());
  recent_.push_back(pass);
  if (!nearest) return {};
  const bool regular = std::abs(*nearest - spacing_) <= kRegular * spacing_ + kOneLine;
  spacing_ = *nearest;
  last_line_ = pass.line;
  if (regular && *nearest > clear_width * (1 + 1e-6) && *nearest < kNeighbours * clear_width) return nearest;
  return {};
}

std::optional<double> Passes::take(const Move& move, bool lit, double clear_width) {
  if (move.arc.angle != 0) return finish(clear_width);
  const double axial = move.to.axial - move.from.axial, around = move.to.around - move.from.around;
  const double length = std::hypot(axial, around);
  if (length <= kStill) return {};
  const double x = axial / length, y = around / length;
  std::optional<double> found;
  if (now_) {
    const double off =
        (move.from.axial - now_->axial) * now_->y - (move.from.around - now_->around) * now_->x;
    const bool straight = std::abs(x * now_->y - y * now_->x) < kOneWay && x * now_->x + y * now_->y > 0;
    if (!straight || std::abs(off) > kOneLine) found = finish(clear_width);
  }
  if (!now_) now_ = Pass{.axial = move.from.axial, .around = move.from.around, .x = x, .y = y};
  if (!lit || move.kind != Move::Kind::feed) return found;
  const double low = (move.from.axial - now_->axial) * now_->x + (move.from.around - now_->around) * now_->y;
  if (!now_->lit) {
    now_->low = low;
    now_->line = move.line;
  }
  now_->lit = true;
  now_->high = low + length;
  return found;
}

}  // namespace circumfluence::motion
