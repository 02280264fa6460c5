// What the words of a line change and leave in effect, in the order in which RS-274 lets them act: feed mode,
// F, S, beam, dwell, units and distances, motion, stop. Only here a line's units count for its F too, where
// some controllers would still take the F in the units of the line before.
#include <fmt/format.h>

#include <cmath>

#include "motion/path_reader.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

constexpr double kInch = 25.4e-3, kMillimetre = 1e-3;  // [m]
constexpr double kLargestWord = 1e9;                   // of F and S
constexpr double kLongestDwell = 1e6;                  // [s]

char letter_of(AxisWord word) {
  return word == AxisWord::x ? 'X' : word == AxisWord::y ? 'Y' : 'A';
}

void refuse_outside(const PathLine& line, const LineWords& words, char letter, double most,
                    const char* unit) {
  if (words[letter] >= 0 && words[letter] <= most) return;
  refuse(line, words.at(letter),
         fmt::format("{} (expected 0 to {:g}{})", shown(line, words.at(letter)), most, unit));
}

void require_whole(const PathLine& line, const LineWords& words, char letter) {
  if (words.has(letter) &&
      !(words[letter] >= 0 && words[letter] < 1e15 && words[letter] == std::floor(words[letter])))
    refuse(line, words.at(letter), shown(line, words.at(letter)) + " (expected a whole number)");
}

}  // namespace

PathReader::PathReader(const std::string& name, const PathFile& how, const TakeMove& take)
    : name_(name), how_(how), take_(take), along_(letter_of(how.along)), turn_(letter_of(how.turn)) {
  const auto require = [](double value, const char* key) {
    if (!std::isfinite(value)) throw quantity::JobError(std::string(key) + " is missing");
  };
  require(how.axial, "path.axial");
  require(how.around, "path.around");
  require(how.full_power_word, "path.full_power_word");
  if (!(how.full_power_word > 0)) throw quantity::JobError("path.full_power_word is not above 0");
  if (along_ == turn_ || along_ == 'A')
    throw quantity::JobError(fmt::format(
        "path.along = {} (path.turn is {}; expected x or y, and another word to turn)", along_, turn_));
  if (turn_ == 'A')
    require(how.driven_diameter, "mount.drive_diameter, at which path.turn in degrees is an arc,");
  degree_ = quantity::kPi / 360 * how.driven_diameter;
  now_ = {how.axial, how.around, 0};
  idle_.fill(std::numeric_limits<double>::quiet_NaN());
}

bool PathReader::line(std::string_view text, std::int64_t length) {
  const std::int64_t offset = notes_.bytes;
  notes_.bytes += length;
  if (++notes_.lines == 1 && text.starts_with("\xef\xbb\xbf")) text.remove_prefix(3);
  if (text.ends_with('\r')) text.remove_suffix(1);
  const PathLine line{text, name_, notes_.lines, offset};
  if (notes_.ended) return after_end(line);
  LineWords words;
  take_apart(line, words, parameters_);
  if (words.percent) {
    notes_.ended = begun_;
    begun_ = true;
    return true;
  }
  if (words.slash) list('/', 0, line.number);
  if (!(words.letters | words.groups)) return true;
  begun_ = true;
  if (words.passed || (words.letters & (bit('T') | bit('K')))) list_passed(line, words);
  check_places(line, words);
  if (words.groups) set_modes(line, words);
  if (words.has('F')) set_feed(line, words);
  if (words.has('S')) {
    refuse_outside(line, words, 'S', kLargestWord, "");
    power_ = words['S'] / how_.full_power_word;
  }
  if (words.has(Group::beam)) set_beam(line, words);
  if (words.has(Group::once) && words[Group::once] == 40 && !dwell(line, words)) return false;
  if (!travel(line, words)) return false;
  if (words.has(Group::stop) && (words[Group::stop] == 20 || words[Group::stop] == 300)) notes_.ended = true;
  return true;
}

PathNotes PathReader::finish() {
  notes_.beam_on = beam_ != 50 && power_ > 0 ? beam_line_ : 0;
  return std::move(notes_);
}

// Blank lines, comments and a closing % may follow; of anything else a word is kept, and no more is read.
bool PathReader::after_end(const PathLine& line) {
  const size_t first = line.text.find_first_not_of(" \t");
  if (first == std::string_view::npos ||
      std::string_view("%(;").find(line.text[first]) != std::string_view::npos)
    return true;
  list('!', 0, line.number);
  return false;
}

void PathReader::set_modes(const PathLine&, const LineWords& words) {
  if (words.has(Group::units)) scale_ = words[Group::units] == 200 ? kInch : kMillimetre;
  if (words.has(Group::distance)) relative_ = words[Group::distance] == 910;
  if (words.has(Group::centre)) absolute_centre_ = words[Group::centre] == 901;
  if (words.has(Group::feed_mode)) {
    const bool inverse = words[Group::feed_mode] == 930;
    if (inverse != inverse_time_) feed_ = feed_number_ = 0;
    inverse_time_ = inverse;
  }
}

void PathReader::set_feed(const PathLine& line, const LineWords& words) {
  refuse_outside(line, words, 'F', kLargestWord, "");
  if (inverse_time_) return;  // of this line alone
  feed_number_ = words['F'];
  feed_ = feed_number_ * scale_ / 60;
}

void PathReader::set_beam(const PathLine& line, const LineWords& words) {
  beam_ = words[Group::beam];
  beam_line_ = line.number;
}

// Words that mean something only beside another.
void PathReader::check_places(const PathLine& line, const LineWords& words) const {
  const int motion = words.has(Group::motion) ? words[Group::motion] : motion_;
  const bool arc = motion == 20 || motion == 30;
  for (const char letter : {'I', 'J', 'K', 'R'})
    if (words.has(letter) && !arc)
      refuse(line, words.at(letter),
             shown(line, words.at(letter)) + " (of an arc; expected with G2 or G3 in effect)");
  if (words.has('K') && words['K'] != 0)
    refuse(line, words.at('K'),
           shown(line, words.at('K')) + " (moves an arc's centre out of the plane of X and Y; expected 0)");
  const bool waits = words.has(Group::once) && words[Group::once] == 40;
  if (words.has('P') && !waits && !arc && !words.has(Group::path_control))
    refuse(line, words.at('P'), shown(line, words.at('P')) + " (expected with G4, G2, G3 or G64)");
  require_whole(line, words, 'N');
  require_whole(line, words, 'T');
}

bool PathReader::dwell(const PathLine& line, const LineWords& words) {
  if (!words.has('P')) refuse(line, words.at(Group::once), "G4 (no P; expected P with the seconds to wait)");
  refuse_outside(line, words, 'P', kLongestDwell, " s");
  Move move{.kind = Move::Kind::dwell, .from = now_, .to = now_};
  move.pause = words['P'];
  return emit(line, move);
}

bool PathReader::emit(const PathLine& line, Move& move) {
  if (beam_ != 50) {
    move.follows_speed = beam_ == 30 ? how_.m3_follows_speed : how_.m4_follows_speed;
    move.darkened = move.kind == Move::Kind::rapid && how_.rapids_dark && power_ > 0;
    move.power = move.darkened ? 0.0f : static_cast<float>(power_);
  }
  move.line = line.number;
  move.offset = line.offset;
  ++notes_.moves;
  return take_(move);
}

void PathReader::list_passed(const PathLine& line, const LineWords& words) {
  if (words.has('T')) list('T', words['T'], line.number);
  if (words.has('K')) list('K', 0, line.number);
  for (int group = 0; group < kGroups; ++group) {
    if (!(words.passed >> group & 1u)) continue;
    const char first = line.text[words.code_column[static_cast<size_t>(group)] - 1u];
    list(static_cast<char>(first & ~0x20), words.code[static_cast<size_t>(group)] / 10.0, line.number);
  }
}

void PathReader::list(char letter, double number, std::int64_t line) {
  for (size_t i = 0; i < listed_.size(); ++i)
    if (listed_[i] == std::pair(letter, number)) {
      ++notes_.ignored[i].count;
      return;
    }
  if (listed_.size() == static_cast<size_t>(kMostIgnored)) return;
  listed_.emplace_back(letter, number);
  const bool numbered = letter == 'G' || letter == 'M' || letter == 'T';
  notes_.ignored.push_back({letter == '!' ? "what follows the end"
                            : numbered    ? fmt::format("{}{:.15g}", letter, number)
                                          : std::string(1, letter),
                            line, 1});
}

}  // namespace circumfluence::motion
