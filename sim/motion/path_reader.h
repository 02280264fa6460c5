// Inside the reading of a tool path: a line taken apart into words, and the modes that the words of lines
// before left in effect. For path_*.cpp alone; the interface is tool_path.h.
//
// Source: RS-274/NGC as of NIST IR 6556 (Kramer, Proctor, Messina 2000), from memory: words, modal groups
// (its table 4) and the order in which the words of a line take effect (its table 8).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "motion/tool_path.h"

namespace circumfluence::motion {

struct PathLine {
  std::string_view text;  // without its end of line
  const std::string& file;
  std::int64_t number, offset;
};

// Throws JobError at a column, from 1.
[[noreturn]] void refuse(const PathLine& line, int column, const std::string& problem);
// The word at a column as messages show it: "F = -3", "G = 2.5"; nothing unprintable, at most 40 bytes.
std::string shown(const PathLine& line, int column);

// Modal groups: a line holds at most one word of each.
// clang-format off
enum class Group : std::uint8_t {
  once, motion, plane, distance, centre, feed_mode, units, radius_offset, length_offset, return_height, coordinates,
  path_control, speed_mode, stop, tool, beam, mist, flood, overrides, count
};
// clang-format on
inline constexpr int kGroups = static_cast<int>(Group::count);

struct CodeWord {
  enum class Use : std::uint8_t { unknown, works, passed, refused };  // passed: read past, listed as ignored
  Group group = Group::once;
  Use use = Use::unknown;
  const char* why = "";  // it is refused
};
// tenths: ten times the number, 0 to 999 (G90.1 is 901).
const CodeWord& g_word(int tenths);
const CodeWord& m_word(int tenths);
// Why a capital letter has no place in a path; null when it has.
const char* letter_refused(char letter);

inline constexpr std::uint32_t bit(char letter) {
  return 1u << (letter - 'A');
}
inline constexpr std::uint32_t bit(Group group) {
  return 1u << static_cast<int>(group);
}

// What stands in a line. Numbers as written; columns from 1.
struct LineWords {
  std::uint32_t letters = 0;  // which are given, F to Z without G and M: bit('X')
  std::uint32_t groups = 0;   // which modal groups are: bit(Group::motion)
  std::uint32_t passed = 0;   // those of them whose word is read past
  bool slash = false;         // it begins with /, for a block delete switch
  bool percent = false;       // it is a % and nothing else
  std::array<double, 26> value;
  std::array<std::uint16_t, 26> column;
  std::array<std::int16_t, kGroups> code;  // tenths
  std::array<std::uint16_t, kGroups> code_column;

  bool has(char letter) const { return letters & bit(letter); }
  bool has(Group group) const { return groups & bit(group); }
  double operator[](char letter) const { return value[static_cast<size_t>(letter - 'A')]; }
  int at(char letter) const { return column[static_cast<size_t>(letter - 'A')]; }
  int at(Group group) const { return code_column[static_cast<size_t>(group)]; }
  int operator[](Group group) const { return code[static_cast<size_t>(group)]; }
};

// Numbers that a line sets (#1 = 0.5) and later ones use (Z#1).
inline constexpr size_t kParameters = 5400;  // and the first beyond
struct Parameters {
  std::vector<double> value;                       // empty, or kParameters of them; NaN: not set
  std::vector<std::pair<size_t, double>> waiting;  // for the end of their line

  void set();
};

// Throws JobError at what is no word, is unknown or refused, or is the second of its kind.
void take_apart(const PathLine& line, LineWords& words, Parameters& parameters);

// Sets move.arc from the words of a G2 or G3 between move.from and move.to, and refuses what makes no arc.
struct ArcFrame {
  double scale;          // [m] of a word's 1
  double axial, around;  // [m] of the path's zero, for a centre in absolute words
  bool absolute;         // I and J are where the centre is, not how far from the start
  bool along_x;          // X is along the axis, Y around
  int code;              // 20 or 30
};
void set_arc(const PathLine& line, const LineWords& words, const ArcFrame& frame, Move& move);

class PathReader {
 public:
  PathReader(const std::string& name, const PathFile& how, const TakeMove& take);

  // One line, without its end of line; `length` [B] with it. False when nothing more is wanted.
  bool line(std::string_view text, std::int64_t length);
  PathNotes finish();

 private:
  bool after_end(const PathLine& line);
  void set_modes(const PathLine& line, const LineWords& words);
  void set_feed(const PathLine& line, const LineWords& words);
  void set_beam(const PathLine& line, const LineWords& words);
  void check_places(const PathLine& line, const LineWords& words) const;
  bool dwell(const PathLine& line, const LineWords& words);
  bool travel(const PathLine& line, const LineWords& words);
  bool emit(const PathLine& line, Move& move);
  PathPoint target(const PathLine& line, const LineWords& words);
  double coordinate(const PathLine& line, const LineWords& words, char letter, double now) const;
  void hold_idle(const PathLine& line, const LineWords& words, char letter);
  void same_origin(const PathLine& line, const LineWords& words);
  double speed(const PathLine& line, const LineWords& words, const Move& move) const;
  double scale_of(char letter) const { return letter == 'A' ? degree_ : scale_; }
  void list_passed(const PathLine& line, const LineWords& words);
  void list(char letter, double number, std::int64_t line);

  const std::string& name_;
  const PathFile& how_;
  const TakeMove& take_;
  char along_, turn_;    // their words
  double degree_;        // [m] around, of 1 degree
  double scale_ = 1e-3;  // [m] of a word's 1
  bool relative_ = false, absolute_centre_ = false, inverse_time_ = false;
  double feed_ = 0, feed_number_ = 0;  // [m/s], and as written; 0: none yet
  double power_ = 0;                   // [1] as S asks for
  int beam_ = 50, motion_ = 800;       // tenths of the M and G word in effect
  std::int64_t beam_line_ = 0;         // where it went on
  PathPoint now_;
  std::array<double, 26> idle_;  // [m] where words stand that move nothing here; NaN: not placed yet
  std::vector<std::pair<char, double>> listed_;  // the words of notes_.ignored
  Parameters parameters_;
  PathNotes notes_;
  bool begun_ = false;  // there were words, or a % that opens the file
};

}  // namespace circumfluence::motion
