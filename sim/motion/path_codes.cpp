// What each G and M word is to a prediction: one that works, one that it reads past, one that it has to
// refuse.
#include <initializer_list>

#include "motion/path_reader.h"

namespace circumfluence::motion {
namespace {

using Use = CodeWord::Use;

struct Row {
  int tenths;
  CodeWord word;
};

constexpr const char* kReference =
    "goes to the machine's own reference position, which a prediction does not know";
constexpr const char* kOffsets =
    "moves the zero by an offset kept in the machine, which a prediction does not know";
constexpr const char* kPlane = "arcs of a path over a part lie in the plane of X and Y, G17";
constexpr const char* kTool = "offsets the path by a tool kept in the machine; a beam has none";
constexpr const char* kCycle = "is a drilling cycle";
constexpr const char* kProbe = "moves until a probe touches, which a prediction does not know";

constexpr std::initializer_list<Row> kG = {
    {0, {Group::motion, Use::works, ""}},
    {10, {Group::motion, Use::works, ""}},
    {20, {Group::motion, Use::works, ""}},
    {30, {Group::motion, Use::works, ""}},
    {40, {Group::once, Use::works, ""}},
    {100, {Group::once, Use::refused, kOffsets}},
    {170, {Group::plane, Use::works, ""}},
    {180, {Group::plane, Use::refused, kPlane}},
    {190, {Group::plane, Use::refused, kPlane}},
    {200, {Group::units, Use::works, ""}},
    {210, {Group::units, Use::works, ""}},
    {280, {Group::once, Use::refused, kReference}},
    {281, {Group::once, Use::refused, kReference}},
    {300, {Group::once, Use::refused, kReference}},
    {301, {Group::once, Use::refused, kReference}},
    {382, {Group::motion, Use::refused, kProbe}},
    {383, {Group::motion, Use::refused, kProbe}},
    {384, {Group::motion, Use::refused, kProbe}},
    {385, {Group::motion, Use::refused, kProbe}},
    {400, {Group::radius_offset, Use::passed, ""}},
    {410, {Group::radius_offset, Use::refused, kTool}},
    {420, {Group::radius_offset, Use::refused, kTool}},
    {430, {Group::length_offset, Use::refused, kTool}},
    {431, {Group::length_offset, Use::refused, kTool}},
    {490, {Group::length_offset, Use::passed, ""}},
    {520, {Group::once, Use::refused, kOffsets}},
    {530,
     {Group::once, Use::refused, "moves in the machine's own coordinates, which a prediction does not know"}},
    {540, {Group::coordinates, Use::passed, ""}},
    {550, {Group::coordinates, Use::refused, kOffsets}},
    {560, {Group::coordinates, Use::refused, kOffsets}},
    {570, {Group::coordinates, Use::refused, kOffsets}},
    {580, {Group::coordinates, Use::refused, kOffsets}},
    {590, {Group::coordinates, Use::refused, kOffsets}},
    {591, {Group::coordinates, Use::refused, kOffsets}},
    {592, {Group::coordinates, Use::refused, kOffsets}},
    {593, {Group::coordinates, Use::refused, kOffsets}},
    {610, {Group::path_control, Use::passed, ""}},
    {611, {Group::path_control, Use::passed, ""}},
    {640, {Group::path_control, Use::passed, ""}},
    {800, {Group::motion, Use::works, ""}},
    {810, {Group::motion, Use::refused, kCycle}},
    {820, {Group::motion, Use::refused, kCycle}},
    {830, {Group::motion, Use::refused, kCycle}},
    {840, {Group::motion, Use::refused, kCycle}},
    {850, {Group::motion, Use::refused, kCycle}},
    {860, {Group::motion, Use::refused, kCycle}},
    {870, {Group::motion, Use::refused, kCycle}},
    {880, {Group::motion, Use::refused, kCycle}},
    {890, {Group::motion, Use::refused, kCycle}},
    {900, {Group::distance, Use::works, ""}},
    {901, {Group::centre, Use::works, ""}},
    {910, {Group::distance, Use::works, ""}},
    {911, {Group::centre, Use::works, ""}},
    {920, {Group::once, Use::works, ""}},
    {921, {Group::once, Use::passed, ""}},
    {922, {Group::once, Use::passed, ""}},
    {923, {Group::once, Use::refused, kOffsets}},
    {930, {Group::feed_mode, Use::works, ""}},
    {940, {Group::feed_mode, Use::works, ""}},
    {950, {Group::feed_mode, Use::refused, "gives the feed per turn of a spindle"}},
    {960, {Group::speed_mode, Use::refused, "makes S a speed of the surface"}},
    {970, {Group::speed_mode, Use::passed, ""}},
    {980, {Group::return_height, Use::passed, ""}},
    {990, {Group::return_height, Use::passed, ""}},
};

constexpr const char* kCall = "runs a program from elsewhere";

constexpr std::initializer_list<Row> kM = {
    {0, {Group::stop, Use::passed, ""}},
    {10, {Group::stop, Use::passed, ""}},
    {20, {Group::stop, Use::works, ""}},
    {30, {Group::beam, Use::works, ""}},
    {40, {Group::beam, Use::works, ""}},
    {50, {Group::beam, Use::works, ""}},
    {60, {Group::tool, Use::refused, "changes a tool"}},
    {70, {Group::mist, Use::passed, ""}},
    {80, {Group::flood, Use::passed, ""}},
    {90, {Group::flood, Use::passed, ""}},
    {300, {Group::stop, Use::works, ""}},
    {480, {Group::overrides, Use::passed, ""}},
    {490, {Group::overrides, Use::passed, ""}},
    {600, {Group::stop, Use::passed, ""}},
    {980, {Group::once, Use::refused, kCall}},
    {990, {Group::once, Use::refused, kCall}},
};

using Table = std::array<CodeWord, 1000>;

constexpr Table spread(std::initializer_list<Row> rows) {
  Table table{};
  for (const Row& row : rows) table[static_cast<size_t>(row.tenths)] = row.word;
  return table;
}

constexpr Table kGTable = spread(kG), kMTable = spread(kM);

constexpr std::uint32_t kUsed = bit('A') | bit('F') | bit('G') | bit('I') | bit('J') | bit('K') | bit('M') |
                                bit('N') | bit('P') | bit('R') | bit('S') | bit('T') | bit('X') | bit('Y') |
                                bit('Z');

}  // namespace

const CodeWord& g_word(int tenths) {
  return kGTable[static_cast<size_t>(tenths)];
}

const CodeWord& m_word(int tenths) {
  return kMTable[static_cast<size_t>(tenths)];
}

const char* letter_refused(char letter) {
  if (kUsed & bit(letter)) return nullptr;
  switch (letter) {
    case 'B':
    case 'C':
    case 'U':
    case 'V':
    case 'W':
      return "an axis that moves nothing here; expected X, Y, Z or A";
    case 'D':
    case 'H':
      return "the number of a tool offset; a beam has none";
    case 'E':
      return "no word here; numbers have no exponents in RS-274: write them out";
    case 'L':
    case 'Q':
      return "a word of drilling cycles";
    case 'O':
      return "a piece of program that is called or repeated; expected a path written out";
  }
  return "no word of RS-274";
}

}  // namespace circumfluence::motion
