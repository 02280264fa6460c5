// Truth: what a scale with round numbers is, written out; and pixels read back from the PNG drawn.
#include "appearance/draw.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
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

std::string log_labels(double from, double to, double most) {
  std::string all;
  for (const Tick& tick : log_ticks(from, to, most))
    if (!tick.label.empty()) all += (all.empty() ? "" : " ") + tick.label;
  return all;
}

TEST(LogTicks, AreOneTwoFiveOfEachDecade) {
  EXPECT_EQ(log_labels(1.0, 1000.0, 10.0), "1 2 5 10 20 50 100 200 500 1000");
  EXPECT_EQ(log_labels(0.03, 4.0, 12.0), "0.05 0.1 0.2 0.5 1 2");
  EXPECT_EQ(log_labels(20.0, 1000.0, 12.0), "20 50 100 200 500 1000");
}

TEST(LogTicks, AreWholeDecadesOnALongScale) {
  EXPECT_EQ(log_labels(1.0, 1000.0, 5.0), "1 10 100 1000");
  EXPECT_EQ(log_labels(1e-5, 1e6, 11.0), "10⁻⁵ 0.0001 0.001 0.01 0.1 1 10 100 1000 10000 10⁵ 10⁶");
  EXPECT_EQ(log_labels(1e-12, 1e12, 8.0), "10⁻¹² 10⁻⁹ 10⁻⁶ 0.001 1 1000 10⁶ 10⁹ 10¹²");
}

TEST(LogTicks, AreEvenNumbersOnAShortScale) {
  EXPECT_EQ(log_labels(300.0, 420.0, 12.0), "300 320 340 360 380 400 420");
  EXPECT_EQ(log_labels(2.0, 9.0, 10.0), "2 4 6 8");
}

TEST(LogTicks, LieWithinAndRiseAndHaveShortOnesBetween) {
  for (const double ratio : {1.001, 1.7, 6.0, 50.0, 1e4, 1e11}) {
    const std::vector<Tick> found = log_ticks(0.7, 0.7 * ratio, 10.0);
    ASSERT_GT(found.size(), 3u) << ratio;
    EXPECT_GE(found.front().value, 0.7 * (1.0 - 1e-6));
    EXPECT_LE(found.back().value, 0.7 * ratio * (1.0 + 1e-6));
    for (size_t i = 1; i < found.size(); ++i) EXPECT_GT(found[i].value, found[i - 1].value);
  }
  EXPECT_EQ(log_ticks(1.0, 100.0, 10.0).size(), 19u);  // 1 to 9, 10 to 90, 100
}

TEST(LogTicks, NoneWhereThereIsNoScale) {
  EXPECT_TRUE(log_ticks(0.0, 10.0, 5.0).empty());
  EXPECT_TRUE(log_ticks(-1.0, 10.0, 5.0).empty());
  EXPECT_TRUE(log_ticks(3.0, 3.0, 5.0).empty());
}

TEST(Ruler, PlacesValues) {
  const Ruler level{.from = 10.0, .to = 20.0, .start = 100.0, .stop = 300.0};
  EXPECT_NEAR(place(level, 12.5), 150.0, 1e-12);
  const Ruler log{.from = 1.0, .to = 1e4, .start = 400.0, .stop = 0.0, .upright = true, .logarithmic = true};
  EXPECT_NEAR(place(log, 10.0), 300.0, 1e-9);
  EXPECT_NEAR(place(log, 1000.0), 100.0, 1e-9);
  EXPECT_FALSE(std::isfinite(place(log, 0.0)));
  EXPECT_FALSE(std::isfinite(place(log, -1.0)));
}

TEST(Ruler, LabelsDoNotTouch) {
  const Sheet sheet(10, 10, kPaper);
  const auto room_between = [&](const Ruler& ruler) {
    double end = -1e30, least = 1e30;
    for (const Tick& tick : ticks(sheet, ruler)) {
      if (tick.label.empty()) continue;
      const double half = 0.5 * sheet.length(tick.label, {.size = 12.0});
      least = std::min(least, place(ruler, tick.value) - half - end);
      end = place(ruler, tick.value) + half;
    }
    return least;
  };
  for (const double length : {100.0, 333.0, 720.0})
    for (const bool logarithmic : {false, true}) {
      Ruler ruler{.from = 99999.98, .to = 100000.01, .stop = length, .logarithmic = logarithmic};
      EXPECT_GE(room_between(ruler), 7.9) << length;
      ruler.from = 1.0, ruler.to = 3e9;
      EXPECT_GE(room_between(ruler), 7.9) << length;
      for (int i = 1; i < 60; ++i) ruler.given.push_back({i * 5e7, std::to_string(i) + " min"});
      EXPECT_GE(room_between(ruler), 7.9) << length;
    }
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
