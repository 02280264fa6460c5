// Truth: what a scale with round numbers is, written out; and pixels read back from the PNG drawn.
#include "appearance/draw.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "appearance/picture.h"

namespace circumfluence::appearance {
namespace {

std::string labels(double from, double to, double most) {
  std::string all;
  for (const Tick& tick : ticks(from, to, most))
    if (!tick.label.empty()) all += (all.empty() ? "" : " ") + tick.label;
  return all;
}

TEST(Ticks, AreRoundNumbers) {
  EXPECT_EQ(labels(0.0, 100.0, 10.0), "0 10 20 30 40 50 60 70 80 90 100");
  EXPECT_EQ(labels(0.0, 100.0, 9.0), "0 20 40 60 80 100");
  EXPECT_EQ(labels(-37.5, 37.5, 4.0), "-20 0 20");
  EXPECT_EQ(labels(10.0, 10.26, 6.0), "10.00 10.05 10.10 10.15 10.20 10.25");
  EXPECT_EQ(labels(0.0, 0.74, 11.0), "0.0 0.1 0.2 0.3 0.4 0.5 0.6 0.7");
  EXPECT_EQ(labels(950.0, 2100.0, 3.0), "1000 1500 2000");
}

TEST(Ticks, LieInsideAndAreEvenlySpaced) {
  for (const double span : {0.003, 0.17, 1.0, 36.0, 219.9, 5000.0}) {
    const std::vector<Tick> found = ticks(1.3, 1.3 + span, 8.0);
    ASSERT_GT(found.size(), 3u);
    const double step = found[1].value - found[0].value;
    for (size_t i = 0; i < found.size(); ++i) {
      EXPECT_NEAR(found[i].value, found[0].value + double(i) * step, 1e-9 * (1.3 + span));
      EXPECT_GE(found[i].value, 1.3 - 1e-5 * step);
      EXPECT_LE(found[i].value, 1.3 + span + 1e-5 * step);
    }
  }
}

TEST(Ticks, NoneOnAScaleWithoutLength) {
  EXPECT_TRUE(ticks(3.0, 3.0, 5.0).empty());
  EXPECT_TRUE(ticks(3.0, 2.0, 5.0).empty());
}

TEST(Sheet, BreaksLinesAtSpacesAndLosesNoWord) {
  const Sheet sheet(10, 10, {255, 255, 255});
  const Type type{.size = 13.0};
  const std::string words = "powder coat on stainless steel, 2500 mm/min at 10 W";
  const auto lines = sheet.lines(words, type, 150.0);
  ASSERT_GT(lines.size(), 1u);
  std::string joined;
  for (const std::string& line : lines) {
    EXPECT_LE(sheet.length(line, type), 150.0);
    joined += (joined.empty() ? "" : " ") + line;
  }
  EXPECT_EQ(joined, words);
  EXPECT_TRUE(sheet.lines("", type, 150.0).empty());
}

TEST(Sheet, LongerTextIsLonger) {
  const Sheet sheet(10, 10, {255, 255, 255});
  const Type plain{.size = 13.0}, bold{.size = 13.0, .bold = true};
  EXPECT_GT(sheet.length("wide", plain), 0.0) << "no font is installed";
  EXPECT_GT(sheet.length("wider text", plain), sheet.length("wide", plain));
  EXPECT_GT(sheet.length("wide", bold), sheet.length("wide", plain));
}

}  // namespace
}  // namespace circumfluence::appearance
