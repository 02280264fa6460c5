// Axis words into moves: where each goes, and how fast.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "motion/path_reader.h"

namespace circumfluence::motion {
namespace {

constexpr std::uint32_t kAxes = bit('X') | bit('Y') | bit('Z') | bit('A');
constexpr std::uint32_t kArcWords = bit('I') | bit('J') | bit('R');
constexpr double kSamePlace = 1e-9;  // [m]

int first_of(const LineWords& words, std::uint32_t letters) {
  int column = kMostLineBytes + 1;
  for (const char letter : {'X', 'Y', 'Z', 'A', 'I', 'J', 'R'})
    if (letters & words.letters & bit(letter)) column = std::min(column, words.at(letter));
  return column;
}

}  // namespace

double PathReader::coordinate(const PathLine& line, const LineWords& words, char letter, double now) const {
  const double origin = letter == along_ ? how_.axial : letter == turn_ ? how_.around : 0;
  const double to = (relative_ ? now : origin) + words[letter] * scale_of(letter);
  if (!(std::abs(to) <= kFarthest))
    refuse(line, words.at(letter),
           fmt::format("{} ({:.4g} m from the part's zero; expected at most {:g} m)",
                       shown(line, words.at(letter)), std::abs(to), kFarthest));
  return to;
}

PathPoint PathReader::target(const PathLine& line, const LineWords& words) {
  PathPoint to = now_;
  if (words.has(along_)) to.axial = coordinate(line, words, along_, now_.axial);
  if (words.has(turn_)) to.around = coordinate(line, words, turn_, now_.around);
  if (words.has('Z')) to.height = coordinate(line, words, 'Z', now_.height);
  for (const char letter : {'X', 'Y', 'A'})
    if (letter != along_ && letter != turn_ && words.has(letter)) hold_idle(line, words, letter);
  return to;
}

// An axis that the job has no use for may be put in its place once.
void PathReader::hold_idle(const PathLine& line, const LineWords& words, char letter) {
  double& stands = idle_[static_cast<size_t>(letter - 'A')];
  const double scale = letter == 'A' ? 1e-3 : scale_;
  const double to = words[letter] * scale + (relative_ && !std::isnan(stands) ? stands : 0);
  if (std::isnan(stands) && !(relative_ && to != 0)) stands = to;
  if (!(std::abs(to - stands) <= kSamePlace))
    refuse(line, words.at(letter),
           fmt::format("{} (moves an axis that neither path.along = {} nor path.turn = {} speaks of; "
                       "expected it to stay where it is)",
                       shown(line, words.at(letter)), static_cast<char>(along_ | 0x20),
                       static_cast<char>(turn_ | 0x20)));
  list(letter, 0, line.number);
}

// G92 with the coordinates that the path has there anyway changes nothing.
void PathReader::same_origin(const PathLine& line, const LineWords& words) {
  const int column = words.at(Group::once);
  if (!(words.letters & kAxes)) refuse(line, column, "G92 (no axis word; expected X, Y, Z or A)");
  const auto holds = [&](char letter, double now) {
    if (!words.has(letter) || std::abs(words[letter] * scale_of(letter) - now) <= kSamePlace) return;
    refuse(line, words.at(letter),
           fmt::format("{} (G92 moves the zero; expected the place where the axis stands, {:.6g}). "
                       "Write the path from one zero",
                       shown(line, words.at(letter)), now / scale_of(letter)));
  };
  holds(along_, now_.axial - how_.axial);
  holds(turn_, now_.around - how_.around);
  holds('Z', now_.height);
  for (const char letter : {'X', 'Y', 'A'})
    if (letter != along_ && letter != turn_ && words.has(letter)) hold_idle(line, words, letter);
  list('G', 92, line.number);
}

// RS-274: F is along the straight axes while any of them moves, and in degrees a minute where only the part
// turns; in inverse time the whole move takes 1/F minutes.
double PathReader::speed(const PathLine& line, const LineWords& words, const Move& move) const {
  const int column = first_of(words, kAxes | kArcWords);
  if (inverse_time_) {
    if (!words.has('F') || words['F'] == 0)
      refuse(line, column,
             shown(line, column) + " (no F above 0; in inverse time, G93, every line that moves needs one)");
    return move.length() * words['F'] / 60;
  }
  if (!(feed_ > 0))
    refuse(line, column,
           shown(line, column) + " (a feed without a feed rate; expected an F above 0 before it)");
  if (turn_ != 'A') return feed_;
  const double straight = std::hypot(move.to.axial - move.from.axial, move.to.height - move.from.height);
  return straight > 0 ? feed_ * move.length() / straight : feed_number_ * degree_ / 60;
}

bool PathReader::travel(const PathLine& line, const LineWords& words) {
  const bool moves_zero = words.has(Group::once) && words[Group::once] == 920;
  if (moves_zero && words.has(Group::motion))
    refuse(line, words.at(Group::motion),
           shown(line, words.at(Group::motion)) + " (in one line with G92, which takes the axis words)");
  if (moves_zero) {
    same_origin(line, words);
    return true;
  }
  if (words.has(Group::motion)) motion_ = words[Group::motion];
  const std::uint32_t given = words.letters & (kAxes | kArcWords);
  if (!given) return true;
  if (motion_ == 800) {
    const int column = first_of(words, given);
    refuse(line, column,
           shown(line, column) +
               " (an axis word with no motion in effect; expected G0, G1, G2 or G3 before it)");
  }
  Move move{
      .kind = motion_ == 0 ? Move::Kind::rapid : Move::Kind::feed, .from = now_, .to = target(line, words)};
  if (!(given & (bit(along_) | bit(turn_) | bit('Z') | kArcWords))) return true;
  if (motion_ >= 20) {
    const int column = words.has(Group::motion) ? words.at(Group::motion) : first_of(words, given);
    if (turn_ == 'A')
      refuse(line, column,
             shown(line, column) +
                 " (an arc, while the part turns by degrees: RS-274 has arcs in X and Y only; "
                 "expected straight moves)");
    set_arc(line, words, {scale_, how_.axial, how_.around, absolute_centre_, along_ == 'X', motion_}, move);
  }
  if (move.kind == Move::Kind::feed)
    move.speed = speed(line, words, move);
  else if (how_.rapid_speed > 0)
    move.speed = how_.rapid_speed;
  now_ = move.to;
  return emit(line, move);
}

}  // namespace circumfluence::motion
