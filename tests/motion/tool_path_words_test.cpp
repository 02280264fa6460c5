// Truth: RS-274/NGC, NIST IR 6556 (Kramer, Proctor, Messina 2000), from memory: the grammar of lines and
// words, its modal groups; numbers against strtod.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cstdlib>
#include <vector>

#include "motion/tool_path.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using testing::AllOf;
using testing::HasSubstr;

PathFile how() {
  PathFile file;
  file.axial = 0;
  file.full_power_word = 1000;
  return file;
}

std::vector<Move> moves(std::string_view text) {
  std::vector<Move> out;
  parse_path(text, "p.nc", how(), [&](const Move& move) {
    out.push_back(move);
    return true;
  });
  return out;
}

PathNotes notes(std::string_view text) {
  return parse_path(text, "p.nc", how(), [](const Move&) { return true; });
}

std::string problem(std::string_view text) {
  try {
    notes(text);
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "no error";
}

TEST(ToolPathWords, StandAnywhereInTheLineInEitherCaseWithSpacesEvenInsideNumbers) {
  for (const char* text : {"G1 X0.1234 Y7 F100", "g1x+0. 12 34y 7f100", "F100Y7X.1234G01",
                           "  X 0.1234\tY7.\tF100.0 G1.0  ", "N0012 G1 X00.123400Y007F+1 0 0"}) {
    const auto m = moves(text);
    ASSERT_EQ(m.size(), 1u) << text;
    EXPECT_DOUBLE_EQ(m[0].to.axial, 0.1234e-3) << text;
    EXPECT_DOUBLE_EQ(m[0].to.around, 7e-3) << text;
    EXPECT_DOUBLE_EQ(m[0].speed, 0.1 / 60) << text;
  }
}

TEST(ToolPathWords, CommentsEndsOfLineAndTheMarksAroundAProgram) {
  const auto m = moves(
      "\xef\xbb\xbf%\r\n(two laps; \xc3\xa9)\r\nG0 (here) X1 (and there) Y2 ; G1 X9\r\n\r\n;\nG0 X3\n%\nG0 "
      "X7\n");
  ASSERT_EQ(m.size(), 2u);
  EXPECT_DOUBLE_EQ(m[0].to.axial, 1e-3);
  EXPECT_DOUBLE_EQ(m[1].to.axial, 3e-3);
  EXPECT_EQ(m[0].line, 3);
  EXPECT_EQ(m[1].line, 6);
}

TEST(ToolPathWords, EveryMoveKnowsItsLineAndWhereThatBegins) {
  const std::string text = "G21\nN10 G0 X1\n\n  G1 X2 F10\nX3";
  const auto m = moves(text);
  ASSERT_EQ(m.size(), 3u);
  EXPECT_EQ(text.substr(size_t(m[0].offset), 3), "N10");
  EXPECT_EQ(text.substr(size_t(m[1].offset), 4), "  G1");
  EXPECT_EQ(text.substr(size_t(m[2].offset)), "X3");
  EXPECT_EQ(m[2].line, 5);
  EXPECT_EQ(notes(text).lines, 5);
  EXPECT_EQ(notes(text).bytes, std::int64_t(text.size()));
  EXPECT_EQ(notes(text).moves, 3);
}

TEST(ToolPathWords, TheEndIsM2OrM30OrAClosingPercentAndWhatFollowsIsListed) {
  EXPECT_TRUE(notes("G0 X1\nM2\n").ended);
  EXPECT_TRUE(notes("G0 X1\nM30\n\n(end)\n%\n").ignored.empty());
  EXPECT_TRUE(notes("%\nG0 X1\n%\n").ended);
  EXPECT_FALSE(notes("%\nG0 X1\n").ended);
  const PathNotes n = notes("G0 X1 M2\n(next)\nG0 X2\nG0 X3\n");
  EXPECT_EQ(n.moves, 1);
  ASSERT_EQ(n.ignored.size(), 1u);
  EXPECT_EQ(n.ignored[0].word, "what follows the end");
  EXPECT_EQ(n.ignored[0].line, 3);
}

TEST(ToolPathWords, HarmlessWordsAreListedWithTheFirstLineAndACount) {
  const PathNotes n =
      notes("G40 G49 G80 G54 G64 P0.05 T1\nM8\nG0 X1\nM9\nM8\n/G0 X2\nG61.1\nM0\nG92.1\nG92 X2\n");
  const auto find = [&](const char* word) {
    for (const Ignored& i : n.ignored)
      if (i.word == word) return fmt::format("line {}, {} times", i.line, i.count);
    return std::string("absent");
  };
  EXPECT_EQ(find("G40"), "line 1, 1 times");
  EXPECT_EQ(find("G54"), "line 1, 1 times");
  EXPECT_EQ(find("G64"), "line 1, 1 times");
  EXPECT_EQ(find("T1"), "line 1, 1 times");
  EXPECT_EQ(find("M8"), "line 2, 2 times");
  EXPECT_EQ(find("/"), "line 6, 1 times");
  EXPECT_EQ(find("G61.1"), "line 7, 1 times");
  EXPECT_EQ(find("M0"), "line 8, 1 times");
  EXPECT_EQ(find("G92.1"), "line 9, 1 times");
  EXPECT_EQ(find("G92"), "line 10, 1 times");
}

TEST(ToolPathWords, TheListOfIgnoredWordsStaysShort) {
  std::string text;
  for (int i = 0; i < 5000; ++i) text += fmt::format("T{}\n", i);
  EXPECT_EQ(notes(text).ignored.size(), size_t(kMostIgnored));
}

TEST(ToolPathWords, ParametersAreNumbersForTheLinesAfterTheirs) {
  const auto m =
      moves("#1=2.5 # 22 = -3 (depth)\nG0 X#1 Z# 22\n#1=7 X#1 #1=8\nX#1\n#2=#1 #3=1\nG#3 X#2 F10\n");
  ASSERT_EQ(m.size(), 4u);
  EXPECT_DOUBLE_EQ(m[0].to.axial, 2.5e-3);
  EXPECT_DOUBLE_EQ(m[0].to.height, -3e-3);
  EXPECT_DOUBLE_EQ(m[1].to.axial, 2.5e-3);  // a line's own settings come after it
  EXPECT_DOUBLE_EQ(m[2].to.axial, 8e-3);    // the last of them stands
  EXPECT_DOUBLE_EQ(m[3].to.axial, 8e-3);
  EXPECT_EQ(m[3].kind, Move::Kind::feed);
}

struct Refused {
  const char* text;
  const char* where;
  const char* says;
};

class RefusedWords : public testing::TestWithParam<Refused> {};

TEST_P(RefusedWords, NameTheLineTheColumnTheWordAndWhy) {
  const std::string says = problem(GetParam().text);
  EXPECT_THAT(says, AllOf(testing::StartsWith(GetParam().where), HasSubstr(GetParam().says)))
      << GetParam().text;
}

INSTANTIATE_TEST_SUITE_P(
    ToolPath, RefusedWords,
    testing::Values(
        Refused{"G0 X1\nG0 X1e300\n", "p.nc:2:6: E", "no exponents"},
        Refused{"G0 Xinf", "p.nc:1:4: X", "no number"}, Refused{"G0 X nan", "p.nc:1:4: X", "no number"},
        Refused{"G0 X", "p.nc:1:4: X", "no number"}, Refused{"G0 X-", "p.nc:1:4: X", "no number"},
        Refused{"G0 X--1", "p.nc:1:4: X", "no number"}, Refused{"G0 X.", "p.nc:1:4: X", "no number"},
        Refused{"G0 X1.2.3", "p.nc:1:4: X = 1.2.3", "two decimal points"},
        Refused{"G0 X1 X2", "p.nc:1:7: X = 2", "a second one"},
        Refused{"G1 F10 F10", "p.nc:1:8: F = 10", "a second one"},
        Refused{"G0 G1 X1", "p.nc:1:4: G1", "one modal group with G0"},
        Refused{"G20 G21", "p.nc:1:5: G21", "modal group"}, Refused{"M3 M5", "p.nc:1:4: M5", "modal group"},
        Refused{"G90 G91", "p.nc:1:5: G91", "modal group"}, Refused{"M2 M30", "p.nc:1:4: M30", "modal group"},
        Refused{"G28", "p.nc:1:1: G28", "reference position"},
        Refused{"G30 Z1", "p.nc:1:1: G30", "reference position"},
        Refused{"G53 G0 X1", "p.nc:1:1: G53", "machine's own"}, Refused{"G55", "p.nc:1:1: G55", "offset"},
        Refused{"G10 L2", "p.nc:1:1: G10", "offset"}, Refused{"G18", "p.nc:1:1: G18", "G17"},
        Refused{"G41 D1", "p.nc:1:1: G41", "tool"}, Refused{"G43 H1", "p.nc:1:1: G43", "tool"},
        Refused{"G81 X1", "p.nc:1:1: G81", "drilling"}, Refused{"G38.2 Z-1", "p.nc:1:1: G38.2", "probe"},
        Refused{"G95", "p.nc:1:1: G95", "turn of a spindle"}, Refused{"G5 X1", "p.nc:1:1: G5", "no G word"},
        Refused{"G1.5 X1", "p.nc:1:1: G1.5", "no G word"}, Refused{"G-1", "p.nc:1:1: G-1", "no G word"},
        Refused{"G-0.1", "p.nc:1:1: G-0.1", "no G word"}, Refused{"G100", "p.nc:1:1: G100", "no G word"},
        Refused{"G0.01", "p.nc:1:1: G0.01", "no G word"}, Refused{"M6 T1", "p.nc:1:1: M6", "changes a tool"},
        Refused{"M98 P1", "p.nc:1:1: M98", "elsewhere"}, Refused{"M1000", "p.nc:1:1: M1000", "no M word"},
        Refused{"G0 B1", "p.nc:1:4: B", "an axis"}, Refused{"O100 sub", "p.nc:1:1: O", "program"},
        Refused{"G0 X[1+2]", "p.nc:1:5: [", "expression"}, Refused{"#1=[3]", "p.nc:1:4: [", "expression"},
        Refused{"#1 3", "p.nc:1:1: #1", "expected ="}, Refused{"#0=3", "p.nc:1:1: #", "1 to 5399"},
        Refused{"#5400=3", "p.nc:1:1: #", "1 to 5399"}, Refused{"#=3", "p.nc:1:1: #", "1 to 5399"},
        Refused{"#1=2 G0 X#1", "p.nc:1:10: #1", "no line before has set"},
        Refused{"#1=", "p.nc:1:1: #", "no number"}, Refused{"G0 X1 N3", "p.nc:1:7: N", "beginning"},
        Refused{"N1.5 G0 X1", "p.nc:1:1: N = 1.5", "whole number"},
        Refused{"N-1", "p.nc:1:1: N = -1", "whole number"},
        Refused{"T-1", "p.nc:1:1: T = -1", "whole number"},
        Refused{"G0 (two (three) X1", "p.nc:1:9: (", "do not nest"},
        Refused{"G0 X1 (open", "p.nc:1:7: (", "does not end"},
        Refused{"G0 X1) Y2", "p.nc:1:6: )", "expected a letter"},
        Refused{"G0 /X1", "p.nc:1:4: /", "expected a letter"}, Refused{"%%", "p.nc:1:1: %", "alone"},
        Refused{"G0 X1\rG0 X2", "p.nc:1:6: a carriage return", "inside a line"},
        Refused{"G0\xff", "p.nc:1:3: byte 0xff", "expected a letter"},
        Refused{"123", "p.nc:1:1: 1", "expected a letter"},
        Refused{"(\x01)", "p.nc:1:2: byte 0x01", "control character"},
        Refused{"X1", "p.nc:1:1: X = 1", "no motion in effect"},
        Refused{"G80 X1", "p.nc:1:5: X = 1", "no motion in effect"},
        Refused{"G0 I1", "p.nc:1:4: I = 1", "G2 or G3"}, Refused{"G0 X1 P2", "p.nc:1:7: P = 2", "G4"},
        Refused{"G4", "p.nc:1:1: G4", "no P"}, Refused{"G4 P-1", "p.nc:1:4: P = -1", "expected 0 to"},
        Refused{"G4 X3", "p.nc:1:1: G4", "no P"}, Refused{"F-3", "p.nc:1:1: F = -3", "expected 0 to"},
        Refused{"M3 S-1", "p.nc:1:4: S = -1", "expected 0 to"},
        Refused{"G1 X1", "p.nc:1:4: X = 1", "without a feed rate"},
        Refused{"G1 X1 F0", "p.nc:1:4: X = 1", "above 0"},
        Refused{"G93 G1 X1 F2\nX2", "p.nc:2:1: X = 2", "every line"},
        Refused{"G0 X100001", "p.nc:1:4: X = 100001", "100 m"},
        Refused{"G91 G0 X60000\nX60000", "p.nc:2:1: X = 60000", "120 m"},
        Refused{"G20 G0 X4000", "p.nc:1:8: X = 4000", "101.6"},
        Refused{"G92 X5", "p.nc:1:5: X = 5", "moves the zero"},
        Refused{"G92", "p.nc:1:1: G92", "no axis word"},
        Refused{"G92 G1 X0", "p.nc:1:5: G1", "one line with G92"},
        Refused{"G0 A1\nA2", "p.nc:2:1: A = 2", "path.turn = y"}));

TEST(ToolPathWords, NumbersOfAnyLengthAreReadOrRefusedAsTooLarge) {
  const std::string nines(4000, '9'), zeros(4000, '0');
  EXPECT_THAT(problem("G0 X" + nines),
              AllOf(HasSubstr("p.nc:1:4"), HasSubstr("too large"), HasSubstr("...")));
  EXPECT_DOUBLE_EQ(moves("G0 X" + zeros + "5")[0].to.axial, 5e-3);
  EXPECT_EQ(moves("G0 X0." + zeros + "5")[0].to.axial, 0);
  EXPECT_DOUBLE_EQ(moves("G0 X0.12345678901234567890123")[0].to.axial, 0.12345678901234567890123e-3);
}

TEST(ToolPathWords, LinesOfMoreThan4096BytesAreRefused) {
  const std::string spaces(4094, ' ');
  EXPECT_EQ(problem("G0" + spaces + "\n"), "no error");
  EXPECT_THAT(problem("G0" + spaces + " \n"),
              AllOf(HasSubstr("p.nc:1:4097"), HasSubstr("more than 4096 bytes")));
}

RC_GTEST_PROP(ToolPathWords, NumbersAreTheNearestDoubles, ()) {
  const auto whole = *rc::gen::inRange(0, 99999), decimals = *rc::gen::inRange(0, 1000000000);
  const auto digits = *rc::gen::inRange(1, 10);
  const std::string number =
      fmt::format("{}{}.{:0>{}}", *rc::gen::element("", "-", "+"), whole, decimals, digits);
  const auto m = moves("G0 X" + number);
  RC_ASSERT(m.size() == 1u);
  RC_ASSERT(m[0].to.axial == 0 + std::strtod(number.c_str(), nullptr) * 1e-3);
}

}  // namespace
}  // namespace circumfluence::motion
