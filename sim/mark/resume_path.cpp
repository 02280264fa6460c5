// A tool path taken up again: where it stopped, and the file from there on.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <string>

#include "mark/resume.h"
#include "motion/path_reader.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using motion::Group;
using motion::Move;
using motion::Travel;
using quantity::format;

bool burns(const Move& move) {
  return move.power > 0 && move.kind != Move::Kind::rapid;
}

// Watches a path go by.
class Watch {
 public:
  explicit Watch(const PathStop& stop) : stop_(stop) {}

  void see(const Travel& travel) {
    const double length = travel.move.length();
    if (!burns(travel.move) || !burning_) chain_ = travel.move, chain_at_ = travel.start, since_ = 0;
    burning_ = burns(travel.move);
    if (!found_ && reached(travel)) {
      found_ = !by_place();  // by its place it is the last one that begins early enough
      note(travel);
    }
    since_ += length;
    total_ = travel.start + travel.duration;
  }
  bool found() const { return seen_; }
  PathRestart restart() const {
    PathRestart out = at_;
    out.total = total_;
    return out;
  }

 private:
  bool by_place() const { return std::isnan(stop_.elapsed); }
  bool reached(const Travel& travel) const {
    if (!by_place()) return stop_.elapsed < travel.start + travel.duration;
    return stop_.line > 0 ? travel.move.line <= stop_.line : travel.move.offset < stop_.offset;
  }
  void note(const Travel& travel) {
    seen_ = true;
    const double along = by_place() ? 0.0 : travel.distance_at(stop_.elapsed - travel.start),
                 length = travel.move.length();
    at_ = {.move = travel.move,
           .chain = chain_,
           .place = travel.move.at(length > 0 ? along / length : 0.0),
           .along = along,
           .since = since_ + along,
           .elapsed = travel.start,
           .chain_at = chain_at_,
           .total = 0,
           .words = {}};
  }

  const PathStop& stop_;
  Move chain_;
  double chain_at_ = 0, since_ = 0, total_ = 0;
  bool burning_ = false, found_ = false, seen_ = false;
  PathRestart at_{};
};

[[noreturn]] void refuse(const std::string& problem) {
  throw quantity::ValidityError("restart: " + problem);
}

void check(const PathStop& stop) {
  const int given = int(!std::isnan(stop.elapsed)) + int(stop.line != 0) + int(stop.offset != -1);
  if (given != 1)
    refuse("the time, the line or the place in the file is needed (expected one of elapsed, line, offset)");
  if (stop.elapsed < 0 || stop.line < 0 || stop.offset < -1)
    refuse("elapsed, line and offset count from the beginning (expected no less than 0)");
}

std::string words_of(const PathStop& stop, const PathRestart& at) {
  const bool timed = !std::isnan(stop.elapsed);
  std::string said = fmt::format("Stopped in line {} of the file, {} mm along and {} mm around", at.move.line,
                                 format(at.place.axial * 1e3, "1", 6), format(at.place.around * 1e3, "1", 6));
  said += timed ? fmt::format(", {} into a move of {}.", format(at.along, "mm", 4),
                              format(at.move.length(), "mm", 4))
                : std::string(" where its move begins; a controller takes lines in before it runs them.");
  if (!burns(at.move))
    return said + " The beam is off in that move: start again with it, and nothing is burnt twice.";
  said += fmt::format(" Started again with that line, {} are burnt twice",
                      timed ? format(at.along, "mm", 4) : "up to " + format(at.move.length(), "mm", 4));
  if (at.chain.line != at.move.line)
    said += fmt::format("; with line {}, where the beam had come on, {}", at.chain.line,
                        format(at.since, "mm", 4));
  return said + ".";
}

// The words that were in effect before a line.
struct Modes {
  std::array<int, motion::kGroups> code{};  // tenths
  std::array<bool, motion::kGroups> set{};
  double scale = 1e-3, feed = 0, power_word = 0;  // [m], [m/s], as written
  bool height = false;                            // Z has been placed
  motion::Parameters parameters;

  int of(Group group, int otherwise) const { return set[size_t(group)] ? code[size_t(group)] : otherwise; }
  void take(const motion::LineWords& words);
};

void Modes::take(const motion::LineWords& words) {
  const int before = of(Group::feed_mode, 940);
  for (size_t group = 0; group < code.size(); ++group)
    if (words.has(Group(group))) code[group] = words[Group(group)], set[group] = true;
  scale = of(Group::units, 210) == 200 ? 25.4e-3 : 1e-3;
  const int now = of(Group::feed_mode, 940);
  if (now != before) feed = 0;
  if (words.has('F') && now == 940) feed = words['F'] * scale / 60;
  if (words.has(Group::flood) && words[Group::flood] == 90) set[size_t(Group::mist)] = false;  // M9 ends both
  if (words.has('S')) power_word = words['S'];
  height = height || words.has('Z');
}

std::string word(char letter, int tenths) {
  return fmt::format("{}{:.15g}", letter, tenths / 10.0);
}

// RS-274 has no exponents.
std::string number(double value) {
  std::string text = fmt::format("{:.9f}", value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

// The path as a stream of lines.
class Lines {
 public:
  explicit Lines(const std::string& path) : path_(path), file_(path, std::ios::binary) {
    if (!file_) throw quantity::FileError(path, "cannot read");
  }
  // The next line, without what ends it.
  bool next() {
    begin_ += taken_;
    if (!std::getline(file_, text_)) return false;
    taken_ = std::int64_t(text_.size()) + (file_.eof() ? 0 : 1);
    ++number_;
    if (text_.ends_with('\r')) text_.pop_back();
    if (number_ == 1 && text_.starts_with("\xef\xbb\xbf")) text_.erase(0, 3);
    return true;
  }
  motion::PathLine line() const { return {text_, path_, number_, begin_}; }
  std::int64_t after() const { return begin_ + taken_; }
  std::ifstream& file() { return file_; }

 private:
  const std::string& path_;
  std::ifstream file_;
  std::string text_;
  std::int64_t begin_ = 0, taken_ = 0, number_ = 0;
};

// To where the move begins, with the beam off.
std::string approach(const motion::PathFile& how, const Modes& modes, const Move& from) {
  const char* const kLetters = "XYA";
  const double turn_scale =
      how.turn == motion::AxisWord::a ? quantity::kPi / 360 * how.driven_diameter : modes.scale;
  std::string said = fmt::format("G0 {}{} {}{}\n", kLetters[int(how.along)],
                                 number((from.from.axial - how.axial) / modes.scale), kLetters[int(how.turn)],
                                 number((from.from.around - how.around) / turn_scale));
  if (modes.height) said += fmt::format("G0 Z{}\n", number(from.from.height / modes.scale));
  return said;
}

std::string head(const motion::PathFile& how, const Modes& modes, const Move& from) {
  std::string said =
      fmt::format("; from line {} on\n{} G90 {}\n", from.line, word('G', modes.of(Group::units, 210)),
                  word('G', modes.of(Group::centre, 911)));
  for (const Group passed : {Group::path_control, Group::coordinates})
    if (modes.set[size_t(passed)]) said += word('G', modes.of(passed, 0)) + "\n";
  for (const Group passed : {Group::mist, Group::flood})
    if (modes.of(passed, 90) != 90) said += word('M', modes.of(passed, 0)) + "\n";
  for (size_t i = 0; i < modes.parameters.value.size(); ++i)
    if (!std::isnan(modes.parameters.value[i]))
      said += fmt::format("#{} = {}\n", i, number(modes.parameters.value[i]));
  said += fmt::format("M5 S{}\n", number(modes.power_word)) + approach(how, modes, from);
  if (modes.feed > 0) said += fmt::format("F{}\n", number(modes.feed * 60 / modes.scale));
  if (modes.of(Group::feed_mode, 940) == 930) said += "G93\n";
  if (modes.of(Group::distance, 900) == 910) said += "G91\n";
  return said;
}

// The line of the move, with the motion and the beam that were in effect, after a slash and a number.
std::string first_line(const motion::PathLine& line, const Modes& modes) {
  motion::LineWords words;
  motion::Parameters parameters = modes.parameters;
  motion::take_apart(line, words, parameters);
  std::string more;
  const bool moves =
      (words.letters & (motion::bit('X') | motion::bit('Y') | motion::bit('Z') | motion::bit('A') |
                        motion::bit('I') | motion::bit('J') | motion::bit('R'))) != 0;
  if (moves && !words.has(Group::motion) && modes.of(Group::motion, 800) != 800)
    more += word('G', modes.of(Group::motion, 0)) + " ";
  if (!words.has(Group::beam) && modes.of(Group::beam, 50) != 50)
    more += word('M', modes.of(Group::beam, 50)) + " ";
  std::string text(line.text);
  size_t at = text.find_first_not_of(" \t/");
  if (at != std::string::npos && (text[at] | 0x20) == 'n')
    at = text.find_first_not_of("0123456789. \t", at + 1);
  return text.insert(std::min(at, text.size()), more) + "\n";
}

}  // namespace

PathRestart restart(const std::string& path, const motion::PathFile& how, const motion::Machine& machine,
                    const PathStop& stop, const quantity::Progress& progress) {
  check(stop);
  Watch watch(stop);
  motion::Planner planner(machine, [&watch](const Travel& travel) {
    watch.see(travel);
    return true;
  });
  const motion::PathNotes notes = motion::read_path(
      path, how, [&planner](const Move& move) { return planner.take(move); }, progress);
  planner.finish();
  PathRestart at = watch.restart();
  if (!watch.found())
    refuse(std::isnan(stop.elapsed) ? std::string("no move of the path begins so early")
                                    : fmt::format("elapsed = {} (nothing is left; the path takes {})",
                                                  clock(stop.elapsed), clock(at.total)));
  if (stop.line > notes.lines || stop.offset > notes.bytes)
    refuse(
        fmt::format("the file has {} lines and {} bytes (expected a place in it)", notes.lines, notes.bytes));
  at.words = words_of(stop, at);
  return at;
}

void write_rest(const std::string& path, const motion::PathFile& how, const Move& from,
                const std::string& out) {
  Lines lines(path);
  Modes modes;
  motion::LineWords words;
  while (lines.next() && lines.line().offset < from.offset) {
    words = {};
    motion::take_apart(lines.line(), words, modes.parameters);
    if (!words.percent) modes.take(words);
  }
  if (lines.line().offset != from.offset)
    throw quantity::FileError(path, "does not hold the move (it has changed since it was read)");
  const std::string begin = head(how, modes, from) + first_line(lines.line(), modes);
  quantity::UnfinishedFile file(out);
  file.write_at(0, begin.data(), begin.size());
  std::uint64_t written = begin.size();
  std::string block(size_t(1) << 20, '\0');
  for (std::ifstream& rest = lines.file(); rest;) {
    rest.read(block.data(), std::streamsize(block.size()));
    file.write_at(written, block.data(), size_t(rest.gcount()));
    written += std::uint64_t(rest.gcount());
  }
  file.publish();
}

}  // namespace circumfluence::mark
