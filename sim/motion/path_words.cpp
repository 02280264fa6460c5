// A line into words: letters with numbers, spaces and case anywhere, comments in ( ) and after ;.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <climits>
#include <cmath>

#include "motion/path_reader.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

bool is_digit(char c) {
  return static_cast<unsigned char>(c - '0') < 10;
}
bool is_space(char c) {
  return c == ' ' || c == '\t';
}
bool is_letter(char c) {
  return static_cast<unsigned char>((c | 0x20) - 'a') < 26;
}

constexpr double kTens[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                            1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
struct Cursor {
  const PathLine& line;
  const char* at;
  const char* end;

  int column() const { return static_cast<int>(at - line.text.data()) + 1; }
  void skip_spaces() {
    while (at < end && is_space(*at)) ++at;
  }
};

// Numbers of up to 15 digits without spaces inside: both the digits and the power of ten are exact in a
// double, so their quotient is the nearest double.
inline bool short_number(Cursor& cursor, double& value) {
  const char* at = cursor.at;
  const char* const end = cursor.end;
  bool negative = false;
  if (at < end && (*at == '-' || *at == '+')) negative = *at++ == '-';
  std::uint64_t digits = 0;
  const char* const first = at;
  while (at < end && is_digit(*at)) digits = digits * 10 + static_cast<std::uint64_t>(*at++ - '0');
  std::ptrdiff_t count = at - first, decimals = 0;
  if (at < end && *at == '.') {
    const char* const point = ++at;
    while (at < end && is_digit(*at)) digits = digits * 10 + static_cast<std::uint64_t>(*at++ - '0');
    decimals = at - point;
    count += decimals;
  }
  if (count == 0 || count > 15) return false;
  while (at < end && is_space(*at)) ++at;
  if (at < end && (is_digit(*at) || *at == '.')) return false;
  const double size = static_cast<double>(digits) / kTens[decimals];
  value = negative ? -size : size;
  cursor.at = at;
  return true;
}

// Any number of digits, spaces among them.
double long_number(Cursor& cursor, int column) {
  std::string text;
  int digits = 0, points = 0;
  if (cursor.at < cursor.end && (*cursor.at == '-' || *cursor.at == '+'))
    if (*cursor.at++ == '-') text += '-';
  for (; cursor.at < cursor.end; ++cursor.at) {
    const char c = *cursor.at;
    if (is_space(c)) continue;
    if (!is_digit(c) && c != '.') break;
    points += c == '.';
    digits += c != '.';
    text += c;
  }
  if (digits == 0 && cursor.at < cursor.end && *cursor.at == '[')
    refuse(cursor.line, cursor.column(), "[ (an expression; expected a number written out)");
  if (digits == 0) refuse(cursor.line, column, shown(cursor.line, column) + " (no number follows)");
  if (points > 1) refuse(cursor.line, column, shown(cursor.line, column) + " (two decimal points)");
  double value = 0;
  const auto found = std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (found.ec == std::errc()) return value;
  const std::string_view whole = std::string_view(text).substr(0, text.find('.'));
  if (whole.find_first_of("123456789") == std::string_view::npos) return 0;  // smaller than any double
  refuse(cursor.line, column, shown(cursor.line, column) + " (too large for a number)");
}

// The number of a parameter, after its #.
size_t parameter_number(Cursor& cursor) {
  const int column = cursor.column();
  ++cursor.at;
  cursor.skip_spaces();
  size_t number = 0;
  for (; cursor.at < cursor.end && is_digit(*cursor.at) && number < kParameters; ++cursor.at)
    number = number * 10 + static_cast<size_t>(*cursor.at - '0');
  if (number == 0 || number >= kParameters)
    refuse(cursor.line, column,
           fmt::format("# (expected the number of a parameter, 1 to {})", kParameters - 1));
  cursor.skip_spaces();
  return number;
}

double rare_number(Cursor& cursor, int column, const Parameters& parameters) {
  if (cursor.at == cursor.end || *cursor.at != '#') return long_number(cursor, column);
  const int place = cursor.column();
  const size_t number = parameter_number(cursor);
  if (number < parameters.value.size() && !std::isnan(parameters.value[number]))
    return parameters.value[number];
  refuse(cursor.line, place, fmt::format("#{} (a parameter that no line before has set)", number));
}

// What follows a letter or =: digits, or a parameter that an earlier line set.
inline double take_number(Cursor& cursor, int column, const Parameters& parameters) {
  cursor.skip_spaces();
  double value = 0;
  return short_number(cursor, value) ? value : rare_number(cursor, column, parameters);
}

void set_parameter(Cursor& cursor, Parameters& parameters) {
  const int column = cursor.column();
  const size_t number = parameter_number(cursor);
  if (cursor.at == cursor.end || *cursor.at != '=')
    refuse(cursor.line, column, fmt::format("#{} (expected = and a number after it)", number));
  ++cursor.at;
  parameters.waiting.emplace_back(number, take_number(cursor, column, parameters));
}

void skip_comment(Cursor& cursor) {
  const int column = cursor.column();
  const bool round = *cursor.at++ == '(';
  for (; cursor.at < cursor.end; ++cursor.at) {
    const char c = *cursor.at;
    if (round && c == ')') {
      ++cursor.at;
      return;
    }
    if (round && c == '(') refuse(cursor.line, cursor.column(), "( (inside a comment; comments do not nest)");
    if (static_cast<unsigned char>(c) < 0x20 && c != '\t')
      refuse(cursor.line, cursor.column(),
             shown(cursor.line, cursor.column()) + " (a control character in a comment)");
  }
  if (round)
    refuse(cursor.line, column, "( (a comment that does not end in this line; expected a closing bracket)");
}

void take_code(const Cursor& cursor, char letter, double number, LineWords& words) {
  const int column = words.column[static_cast<size_t>(letter - 'A')];
  const double tenths = number * 10;
  const int code = tenths > -0.5 && tenths < 999.5 ? static_cast<int>(tenths + 0.5) : -1;
  const bool known = code >= 0 && std::abs(tenths - code) < 1e-6;
  const CodeWord& word = letter == 'G' ? g_word(known ? code : 0) : m_word(known ? code : 0);
  const auto named = [&] { return shown(cursor.line, column); };
  if (!known || word.use == CodeWord::Use::unknown)
    refuse(cursor.line, column, fmt::format("{} (no {} word that a path is known to have)", named(), letter));
  if (word.use == CodeWord::Use::refused) refuse(cursor.line, column, named() + " (" + word.why + ")");
  const auto group = static_cast<size_t>(word.group);
  if (words.has(word.group))
    refuse(cursor.line, column,
           fmt::format("{} (of one modal group with {} in the same line; expected one of them)", named(),
                       shown(cursor.line, words.code_column[group])));
  words.groups |= bit(word.group);
  if (word.use == CodeWord::Use::passed) words.passed |= bit(word.group);
  words.code[group] = static_cast<std::int16_t>(code);
  words.code_column[group] = static_cast<std::uint16_t>(column);
}

void take_word(Cursor& cursor, LineWords& words, const Parameters& parameters) {
  const char letter = static_cast<char>(*cursor.at & ~0x20);
  const auto index = static_cast<size_t>(letter - 'A');
  const int column = cursor.column();
  const bool code = letter == 'G' || letter == 'M';
  const char* const why = letter_refused(letter);
  if (why) refuse(cursor.line, column, fmt::format("{} ({})", letter, why));
  if (words.has(letter))
    refuse(cursor.line, column, fmt::format("{} (a second one in the line)", shown(cursor.line, column)));
  if (letter == 'N' && (words.letters | words.groups))
    refuse(cursor.line, column, "N (a line number; expected at the beginning of the line)");
  ++cursor.at;
  const double number = take_number(cursor, column, parameters);
  words.column[index] = static_cast<std::uint16_t>(column);
  if (code) return take_code(cursor, letter, number, words);
  words.value[index] = number;
  words.letters |= bit(letter);
}

// What is neither a word nor a space; false at the end of the line.
bool take_sign(Cursor& cursor, LineWords& words, Parameters& parameters) {
  const int column = cursor.column();
  const bool first = cursor.line.text.find_first_not_of(" \t") == static_cast<size_t>(column - 1);
  switch (*cursor.at) {
    case '(':
      skip_comment(cursor);
      return true;
    case ';':
      skip_comment(cursor);
      return false;
    case '\r':
      refuse(cursor.line, column,
             "a carriage return inside a line (expected one only before the line's end)");
    case '/':
      if (!first) break;
      words.slash = true;
      ++cursor.at;
      return true;
    case '%':
      if (!first ||
          cursor.line.text.find_first_not_of(" \t", static_cast<size_t>(column)) != std::string_view::npos)
        refuse(cursor.line, column, "% (expected alone in its line)");
      words.percent = true;
      return false;
    case '#':
      set_parameter(cursor, parameters);
      return true;
  }
  refuse(cursor.line, column, shown(cursor.line, column) + " (expected a letter with a number)");
}

}  // namespace

void refuse(const PathLine& line, int column, const std::string& problem) {
  const auto number = static_cast<int>(std::min<std::int64_t>(line.number, INT_MAX));
  throw quantity::JobError(problem, {line.file, number, column});
}

std::string shown(const PathLine& line, int column) {
  constexpr size_t kMost = 40;
  const std::string_view rest = line.text.substr(static_cast<size_t>(column - 1));
  if (rest.empty()) return "";
  const auto byte = static_cast<unsigned char>(rest[0]);
  if (!is_letter(rest[0]))
    return byte < 0x20 || byte > 0x7e ? fmt::format("byte 0x{:02x}", byte) : std::string(1, rest[0]);
  std::string number;
  size_t i = 1;
  for (; i < rest.size() && number.size() < kMost; ++i) {
    const char c = rest[i];
    if (is_digit(c) || c == '.' || ((c == '-' || c == '+') && number.empty()))
      number += c;
    else if (!is_space(c))
      break;
  }
  const char letter = static_cast<char>(rest[0] & ~0x20);
  if (number.size() == kMost) number += "...";
  if (number.empty()) return std::string(1, letter);
  return letter == 'G' || letter == 'M' ? letter + number : fmt::format("{} = {}", letter, number);
}

void Parameters::set() {
  if (value.empty()) value.assign(kParameters, std::numeric_limits<double>::quiet_NaN());
  for (const auto& [number, to] : waiting) value[number] = to;
  waiting.clear();
}

void take_apart(const PathLine& line, LineWords& words, Parameters& parameters) {
  words.letters = words.groups = words.passed = 0;
  words.slash = words.percent = false;
  if (line.text.size() > static_cast<size_t>(kMostLineBytes))
    refuse(line, static_cast<int>(kMostLineBytes) + 1,
           fmt::format("a line of more than {} bytes", kMostLineBytes));
  Cursor cursor{line, line.text.data(), line.text.data() + line.text.size()};
  while (cursor.at < cursor.end) {
    if (is_letter(*cursor.at)) {
      take_word(cursor, words, parameters);
    } else if (is_space(*cursor.at)) {
      ++cursor.at;
    } else if (!take_sign(cursor, words, parameters)) {
      break;
    }
  }
  if (!parameters.waiting.empty()) parameters.set();
}

}  // namespace circumfluence::motion
