// Arcs: from the words of G2 and G3 to a centre and an angle, and along them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "motion/path_reader.h"
#include "quantity/constants.h"

namespace circumfluence::motion {
namespace {

constexpr double kSamePlace = 1e-9;     // [m] ends this near are one point: a full turn
constexpr double kLargestRadius = 1e4;  // [m]
constexpr double kMostTurns = 1000;

// [m] by which rounded words may make the radii of an arc's ends differ: NIST IR 6556 has 0.002 mm or 0.0002
// in.
double slack(double radius) {
  return std::clamp(1e-3 * radius, 5e-6, 0.5e-3);
}

double height_over(double chord, double radius) {
  return std::sqrt(std::max(0.0, (radius - chord / 2) * (radius + chord / 2)));
}

int column_of(const LineWords& words, std::initializer_list<char> letters) {
  for (const char letter : letters)
    if (words.has(letter)) return words.at(letter);
  return 1;
}

void centre_from_radius(const PathLine& line, const LineWords& words, const ArcFrame& frame, double sense,
                        Move& move) {
  const double radius = words['R'] * frame.scale, size = std::abs(radius);
  const double axial = move.to.axial - move.from.axial, around = move.to.around - move.from.around;
  const double chord = std::hypot(axial, around);
  const auto named = [&] { return shown(line, words.at('R')); };
  if (!(size > kSamePlace && size <= kLargestRadius))
    refuse(line, words.at('R'),
           fmt::format("{} (expected a radius above 0, at most {:g} m)", named(), kLargestRadius));
  if (chord <= kSamePlace)
    refuse(line, words.at('R'), named() + " (an arc back to where it starts; expected its centre, I and J)");
  if (chord / 2 > size + slack(size))
    refuse(line, words.at('R'),
           fmt::format("{} (too small: the ends are {:.6g} apart; expected at least {:.6g})", named(),
                       chord / frame.scale, chord / 2 / frame.scale));
  const double side = (radius > 0 ? sense : -sense) * height_over(chord, size) / chord;
  move.arc.axial = move.from.axial + axial / 2 - side * around;
  move.arc.around = move.from.around + around / 2 + side * axial;
}

void centre_from_words(const PathLine& line, const LineWords& words, const ArcFrame& frame, Move& move) {
  if (frame.absolute && !(words.has('I') && words.has('J')))
    refuse(line, column_of(words, {'I', 'J'}), "an arc in G90.1 without both I and J (where its centre is)");
  const double i = words.has('I') ? words['I'] * frame.scale : 0,
               j = words.has('J') ? words['J'] * frame.scale : 0;
  move.arc.axial = (frame.absolute ? frame.axial : move.from.axial) + (frame.along_x ? i : j);
  move.arc.around = (frame.absolute ? frame.around : move.from.around) + (frame.along_x ? j : i);
  const double first = std::hypot(move.from.axial - move.arc.axial, move.from.around - move.arc.around);
  const double last = std::hypot(move.to.axial - move.arc.axial, move.to.around - move.arc.around);
  const int column = column_of(words, {'I', 'J'});
  if (!(first > kSamePlace && first <= kLargestRadius))
    refuse(line, column,
           fmt::format("{} (an arc of radius {:.6g}; expected above 0, at most {:g} m)", shown(line, column),
                       first / frame.scale, kLargestRadius));
  if (!(std::abs(last - first) <= slack(first)))
    refuse(line, column,
           fmt::format(
               "{} (an arc that starts {:.6g} from its centre and ends {:.6g} from it; expected the same "
               "within {:.2g})",
               shown(line, column), first / frame.scale, last / frame.scale, slack(first) / frame.scale));
}

double turns(const PathLine& line, const LineWords& words) {
  const bool waits = words.has(Group::once) && words[Group::once] == 40;
  if (!words.has('P') || waits || words.has(Group::path_control)) return 1;
  if (!(words['P'] >= 1 && words['P'] <= kMostTurns && words['P'] == std::floor(words['P'])))
    refuse(line, words.at('P'),
           fmt::format("{} (turns of an arc; expected a whole number, 1 to {:g})", shown(line, words.at('P')),
                       kMostTurns));
  return words['P'];
}

// [rad] in (0, 2 pi] in the sense of turning.
double angle_between(const Move& move, double sense) {
  if (std::hypot(move.to.axial - move.from.axial, move.to.around - move.from.around) <= kSamePlace)
    return 2 * quantity::kPi;
  const double x = move.from.axial - move.arc.axial, y = move.from.around - move.arc.around;
  const double u = move.to.axial - move.arc.axial, v = move.to.around - move.arc.around;
  const double angle = sense * std::atan2(x * v - y * u, x * u + y * v);
  return angle > 0 ? angle : angle + 2 * quantity::kPi;
}

struct Ends {
  double first, last;  // [m] radius
};

Ends radii(const Move& move) {
  return {std::hypot(move.from.axial - move.arc.axial, move.from.around - move.arc.around),
          std::hypot(move.to.axial - move.arc.axial, move.to.around - move.arc.around)};
}

}  // namespace

void set_arc(const PathLine& line, const LineWords& words, const ArcFrame& frame, Move& move) {
  const bool centre = words.has('I') || words.has('J');
  const int column = words.has(Group::motion) ? words.at(Group::motion) : column_of(words, {'X', 'Y', 'Z'});
  if (centre && words.has('R'))
    refuse(line, words.at('R'),
           shown(line, words.at('R')) + " (beside I or J; expected either a radius or a centre)");
  if (!centre && !words.has('R'))
    refuse(line, column, shown(line, column) + " (an arc without a centre; expected I and J, or R)");
  const double sense = (frame.code == 30) == frame.along_x ? 1 : -1;
  if (centre)
    centre_from_words(line, words, frame, move);
  else
    centre_from_radius(line, words, frame, sense, move);
  move.arc.angle = sense * (angle_between(move, sense) + 2 * quantity::kPi * (turns(line, words) - 1));
  if (move.length() > kMostTurns * kFarthest)
    refuse(line, column,
           fmt::format("{} (an arc of {:.4g} m; expected at most {:g} m)", shown(line, column), move.length(),
                       kMostTurns * kFarthest));
}

double Move::length() const {
  const double rise = to.height - from.height;
  if (arc.angle == 0) return std::hypot(to.axial - from.axial, to.around - from.around, rise);
  const Ends radius = radii(*this);
  return std::hypot((radius.first + radius.last) / 2 * arc.angle, radius.last - radius.first, rise);
}

PathPoint Move::at(double share) const {
  if (share >= 1) return to;
  const double height = from.height + share * (to.height - from.height);
  if (arc.angle == 0)
    return {from.axial + share * (to.axial - from.axial), from.around + share * (to.around - from.around),
            height};
  const Ends radius = radii(*this);
  const double stretch = radius.first > 0 ? 1 + share * (radius.last / radius.first - 1) : 1;
  const double c = stretch * std::cos(share * arc.angle), s = stretch * std::sin(share * arc.angle);
  const double x = from.axial - arc.axial, y = from.around - arc.around;
  return {arc.axial + c * x - s * y, arc.around + s * x + c * y, height};
}

// A chord over an angle stands off its arc by radius (1 - cos(angle / 2)), so angle = 4 asin sqrt(tolerance /
// 2 radius).
void chords(const Move& move, double tolerance, const TakePiece& piece) {
  int count = 1;
  if (move.arc.angle != 0) {
    const Ends radius = radii(move);
    const double share = tolerance / (2 * std::max(radius.first, radius.last));
    const double step = share > 0 ? 4 * std::asin(std::sqrt(std::min(share, 0.5))) : 0;
    const double pieces = std::ceil(std::abs(move.arc.angle) / step);
    count = pieces < kMostChords ? std::max(1, static_cast<int>(pieces)) : kMostChords;
  }
  PathPoint from = move.from;
  for (int i = 1; i <= count; ++i) {
    const PathPoint to = move.at(static_cast<double>(i) / count);
    piece(from, to);
    from = to;
  }
}

}  // namespace circumfluence::motion
