// Truth: the rest of a path read back must move and burn as the whole does from there on; places and times by
// hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "mark/resume.h"
#include "mark/sample_map.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using motion::Move;
using testing::HasSubstr;
using testing::ThrowsMessage;

motion::PathFile how() {
  return {
      .file = "path.nc", .axial = 30e-3, .around = -2e-3, .full_power_word = 1000, .driven_diameter = 60e-3};
}

motion::Machine machine() {
  return {.axial_speed = 0.1,
          .around_speed = 0.1,
          .axial_acceleration = 1,
          .around_acceleration = 1,
          .corner_deviation = 10e-6};
}

struct Written {
  TestFolder folder;
  std::string path = folder.file("path.nc"), rest = folder.file("rest.nc");
  explicit Written(const std::string& text) { std::ofstream(path, std::ios::binary) << text; }
};

std::vector<Move> moves(const std::string& path, const motion::PathFile& as = how()) {
  std::vector<Move> out;
  motion::read_path(path, as, [&out](const Move& move) {
    out.push_back(move);
    return true;
  });
  return out;
}

// After the way there, which is dark, every move is the whole's.
void expect_rest(const Written& files, size_t from, const motion::PathFile& as = how()) {
  const std::vector<Move> whole = moves(files.path, as);
  ASSERT_LT(from, whole.size());
  write_rest(files.path, as, whole[from], files.rest);
  const std::vector<Move> left = moves(files.rest, as);
  while (from > 0 && whole[from - 1].line == whole[from].line) --from;  // a line is burnt as a whole
  ASSERT_GE(left.size(), whole.size() - from);
  const size_t before = left.size() - (whole.size() - from);
  ASSERT_GE(before, 1u);
  for (size_t i = 0; i < before; ++i) {
    EXPECT_EQ(left[i].kind, Move::Kind::rapid);
    EXPECT_EQ(left[i].power, 0);
  }
  for (size_t i = from; i < whole.size(); ++i) {
    const Move &a = whole[i], &b = left[before + i - from];
    EXPECT_EQ(a.kind, b.kind);
    EXPECT_EQ(a.power, b.power) << i;
    EXPECT_EQ(a.follows_speed, b.follows_speed);
    EXPECT_NEAR(a.speed, b.speed, 1e-9 * a.speed) << i;
    EXPECT_EQ(a.pause, b.pause);
    EXPECT_NEAR(a.arc.angle, b.arc.angle, 1e-6);
    for (const auto& [p, q] : {std::pair(a.from, b.from), std::pair(a.to, b.to)}) {
      EXPECT_NEAR(p.axial, q.axial, 1e-11) << i;
      EXPECT_NEAR(p.around, q.around, 1e-11) << i;
      EXPECT_NEAR(p.height, q.height, 1e-11) << i;
    }
  }
}

constexpr const char* kMixed =
    "%\r\n(made up)\r\nG21 G90 G54 G64 M8\r\n#1=3.25\r\nN10 G0 X1 Y2 S300\r\nN20 M4\r\nN30 G1 X10 F1200\r\nN "
    "4 0 Y4.5\r\n"
    "/ N50 X#1 S400\r\nG2 X5 Y6.25 I1.75 J0\r\nX7 Y3.5 R4\r\nG4 P0.5\r\nG91\r\nG1 X0.5 "
    "Y-1\r\nX1\r\nG20\r\nX0.1 Y0.1 F30\r\nM3\r\nY0.2\r\n"
    "G93\r\nX0.1 F20\r\nY-.1 F30\r\nG94 G21 G90\r\nM5 G0 X0\r\nZ-1\r\nM4 S1000\r\ng1 x3 f500 m3\r\nX4 "
    "Y4\r\nM5\r\nM2\r\n%\r\n";

TEST(WriteRest, MovesAndBurnsAsTheWholeFromAnyMoveOn) {
  const Written files(kMixed);
  const size_t count = moves(files.path).size();
  ASSERT_GT(count, 15u);
  for (size_t i = 0; i < count; ++i) expect_rest(files, i);
}

TEST(WriteRest, OfAPartTurnedByDegrees) {
  motion::PathFile as = how();
  as.turn = motion::AxisWord::a;
  const Written files("G90 G21\nM4 S500\nG1 X5 A20 F600\nX6\nG91\nA-3.5\nX1 A1\n");
  for (size_t i = 0; i < 4; ++i) expect_rest(files, i, as);
}

TEST(WriteRest, KeepsWhatItReadsPast) {
  const Written files("G21 G90\nM8\nG64\nM4 S500\nG1 X5 F600\nX6\nM9\nX7\n");
  write_rest(files.path, how(), moves(files.path)[1], files.rest);
  std::string text((std::istreambuf_iterator<char>(std::ifstream(files.rest).rdbuf())), {});
  EXPECT_THAT(text, HasSubstr("M8\n"));
  EXPECT_THAT(text, HasSubstr("G64\n"));
  EXPECT_THAT(text, HasSubstr("M5 S500\nG0 X5 Y0\nF600\nG1 M4 X6\nM9\nX7\n"));
}

// 10 mm at 10 mm/s, stopping at corners' speeds by hand: each move alone, as look_ahead is 1.
TEST(PathRestartTest, FindsTheMoveAndThePlace) {
  const Written files("G21 G90\nG0 X0 Y0\nG1 X10 F600 M4 S500\nY10\nX0\nM5\nG0 X50\nM4\nG1 X60\nM5\n");
  motion::Machine m = machine();
  m.look_ahead = 1;
  const double one = 10e-3 / 0.01 + 0.01 / 1;  // from rest to rest
  const PathRestart at = restart(files.path, how(), m, {.elapsed = one + 0.5 * one});
  EXPECT_EQ(at.move.line, 4);
  EXPECT_EQ(at.chain.line, 3);
  EXPECT_NEAR(at.along, 5e-3, 1e-9);
  EXPECT_NEAR(at.since, 15e-3, 1e-9);
  EXPECT_NEAR(at.place.around, -2e-3 + 5e-3, 1e-9);
  EXPECT_NEAR(at.place.axial, 40e-3, 1e-12);
  EXPECT_NEAR(at.elapsed, one, 1e-9);
  EXPECT_EQ(at.chain_at, 0);
  EXPECT_NEAR(at.total, 4 * one + 50e-3 / 0.1 + 0.1, 1e-9);
  EXPECT_THAT(at.words, HasSubstr("with line 3, where the beam had come on, 15 mm"));
  const PathRestart dark = restart(files.path, how(), m, {.elapsed = 3 * one + 0.1});
  EXPECT_EQ(dark.move.line, 7);
  EXPECT_THAT(dark.words, HasSubstr("nothing is burnt twice"));
  EXPECT_EQ(restart(files.path, how(), m, {.line = 5}).move.line, 5);
  EXPECT_EQ(restart(files.path, how(), m, {.line = 6}).move.line, 5);  // a line without a move
  EXPECT_EQ(restart(files.path, how(), m, {.offset = 40}).move.line, 4);
  EXPECT_EQ(restart(files.path, how(), m, {.line = 9}).chain.line, 9);
}

TEST(PathRestartTest, SaysWhatIsMissing) {
  const Written files("G21 G90\nG1 X10 F600 M4 S500\n");
  const auto with = [&](const PathStop& stop) {
    return [&files, stop] { restart(files.path, how(), machine(), stop); };
  };
  EXPECT_THAT(with({}),
              ThrowsMessage<quantity::ValidityError>(HasSubstr("expected one of elapsed, line, offset")));
  EXPECT_THAT(with({.elapsed = 100}), ThrowsMessage<quantity::ValidityError>(HasSubstr("nothing is left")));
  EXPECT_THAT(with({.line = 1}), ThrowsMessage<quantity::ValidityError>(HasSubstr("no move")));
  EXPECT_THAT(with({.line = 9}), ThrowsMessage<quantity::ValidityError>(HasSubstr("the file has 2 lines")));
}

}  // namespace
}  // namespace circumfluence::mark
