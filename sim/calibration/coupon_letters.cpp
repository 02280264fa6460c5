// Labels in single strokes, as a beam writes them.
//
// A letter is drawn on a grid of 4 columns and 6 rows, two more rows below its baseline; coupon.h says how letters
// and lines follow each other.
#include <string_view>

#include "calibration/coupon_drawing.h"

namespace circumfluence::calibration {
namespace {

// Corners as column and row, strokes parted by ';'. Row 2 is the baseline, 6 the top of small letters, 8 that of
// capitals.
struct Glyph {
  char letter;
  const char* strokes;
};
// clang-format off
constexpr Glyph kGlyphs[] = {
    {'0', "12 32 43 47 38 18 07 03 12"}, {'1', "17 28 22;12 32"}, {'2', "07 18 38 47 46 02 42"},
    {'3', "08 48 26 36 45 43 32 12 03"}, {'4', "32 38 04 44"}, {'5', "48 08 05 35 44 43 32 12 03"},
    {'6', "47 38 18 07 03 12 32 43 44 35 15 04"}, {'7', "08 48 12"},
    {'8', "15 06 07 18 38 47 46 35 15 04 03 12 32 43 44 35"}, {'9', "03 12 32 43 47 38 18 07 06 15 35 46"},
    {'A', "02 28 42;14 34"}, {'B', "02 08 38 47 46 35 05;35 44 43 32 02"}, {'C', "47 38 18 07 03 12 32 43"},
    {'D', "02 08 28 46 44 22 02"}, {'E', "48 08 02 42;05 35"}, {'F', "48 08 02;05 35"},
    {'G', "47 38 18 07 03 12 32 43 45 25"}, {'H', "02 08;42 48;05 45"}, {'I', "22 28;12 32;18 38"},
    {'J', "48 43 32 12 03"}, {'K', "02 08;48 05 42"}, {'L', "08 02 42"}, {'M', "02 08 25 48 42"},
    {'N', "02 08 42 48"}, {'O', "12 32 43 47 38 18 07 03 12"}, {'P', "02 08 38 47 46 35 05"},
    {'Q', "12 32 43 47 38 18 07 03 12;24 42"}, {'R', "02 08 38 47 46 35 05;25 42"},
    {'S', "47 38 18 07 06 15 35 44 43 32 12 03"}, {'T', "08 48;28 22"}, {'U', "08 03 12 32 43 48"},
    {'V', "08 22 48"}, {'W', "08 12 26 32 48"}, {'X', "02 48;08 42"}, {'Y', "08 25 48;25 22"}, {'Z', "08 48 02 42"},
    {'a', "42 46;45 36 16 05 03 12 32 43"}, {'b', "02 08;05 16 36 45 43 32 12 03"}, {'c', "45 36 16 05 03 12 32 43"},
    {'d', "48 42;45 36 16 05 03 12 32 43"}, {'e', "04 44 45 36 16 05 03 12 42"}, {'f', "47 38 28 17 12;06 36"},
    {'g', "46 41 30 10 01;45 36 16 05 03 12 32 43"}, {'h', "02 08;05 16 36 45 42"}, {'i', "22 26;27 28"},
    {'j', "26 21 10;27 28"}, {'k', "02 08;46 04 42"}, {'l', "28 23 32"}, {'m', "02 06;05 16 25 22;25 36 45 42"},
    {'n', "02 06;05 16 36 45 42"}, {'o', "12 32 43 45 36 16 05 03 12"}, {'p', "00 06;05 16 36 45 43 32 12 03"},
    {'q', "40 46;45 36 16 05 03 12 32 43"}, {'r', "02 06;05 16 36 45"}, {'s', "46 16 05 14 34 43 32 02"},
    {'t', "18 13 22 32;06 36"}, {'u', "06 03 12 32 43;46 42"}, {'v', "06 22 46"}, {'w', "06 12 25 32 46"},
    {'x', "02 46;06 42"}, {'y', "06 23;46 10"}, {'z', "06 46 02 42"},
    {'+', "05 45;23 27"}, {'-', "05 45"}, {'.', "22 23"}, {',', "23 11"}, {'/', "02 48"}, {':', "22 23;25 26"},
    {'%', "02 48;17 18;32 33"}, {' ', ""},
};
// clang-format on
constexpr const char* kUnknown = "02 42 48 08 02";  // a box
constexpr double kRows = 6;                         // of a capital

const char* strokes_of(char letter) {
  for (const Glyph& glyph : kGlyphs)
    if (glyph.letter == letter) return glyph.strokes;
  return kUnknown;
}

// `row` [m]: of the letters' grid.
void write(char letter, const std::array<double, 2>& baseline, double row, std::vector<Trace>& out) {
  const std::string_view strokes = strokes_of(letter);
  for (size_t i = 0; i + 1 < strokes.size(); i += 3) {
    if (i == 0 || strokes[i - 1] == ';') out.emplace_back();
    out.back().push_back({baseline[0] + (strokes[i] - '0') * row, baseline[1] + (strokes[i + 1] - '0' - 2) * row});
  }
}

std::vector<Trace> written(const std::string& label, const Slot& slot, double letters) {
  std::vector<Trace> out;
  const double row = letters / kRows;
  std::array<double, 2> at{slot.place.x, slot.place.y - (kLabelGap + 1) * letters};
  for (const char letter : label)
    if (letter == '\n') {
      at = {slot.place.x, at[1] - kLineAdvance * letters};
    } else {
      write(letter, at, row, out);
      at[0] += kLetterAdvance * letters;
    }
  return out;
}

}  // namespace

std::vector<std::vector<Trace>> lettering(const Coupon& coupon) {
  std::vector<std::vector<Trace>> out(coupon.slots.size());
  if (!(coupon.letters > 0)) return out;
  const std::vector<std::string> words = labels(coupon);
  for (size_t i = 0; i < out.size(); ++i) out[i] = written(words[i], coupon.slots[i], coupon.letters);
  return out;
}

}  // namespace circumfluence::calibration
