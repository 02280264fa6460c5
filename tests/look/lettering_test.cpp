// Truth: a wider spot needs wider strokes, more power widens them, and letters drawn are as high as asked.
#include "look/lettering.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using mark::SmallJob;
using quantity::ValidityError;
using testing::Contains;
using testing::HasSubstr;

Lettering letters(const SmallJob& small, double cell = 10e-6) {
  const mark::Scene scene = mark::prepare(small.job);
  const Swatches swatches(scene, cell);
  return lettering(swatches, Finish(scene, swatches.model()));
}

TEST(Lettering, StrokesGrowWithPower) {
  double before = -1;
  for (const char* power : {"3 W", "6 W", "10 W"}) {
    SmallJob small;
    const Lettering now = letters(small.with("scan.power", power));
    EXPECT_GT(now.growth, before) << power;
    before = now.growth;
  }
}

// Spot, lines and power doubled together: the same fluence, on a scale twice as large.
TEST(Lettering, TwiceTheSpotTakesTwiceTheStroke) {
  SmallJob fine, coarse;
  fine.with("scan.power", "4 W");
  coarse.with("scan.power", "8 W")
      .with("laser.spot_axial", "160 um")
      .with("laser.spot_around", "160 um")
      .with("scan.spacing", "0.2 mm");
  const Lettering one = letters(fine, 10e-6), twice = letters(coarse, 20e-6);
  EXPECT_NEAR(twice.stroke_along.drawn / one.stroke_along.drawn, 2, 0.3);
  EXPECT_NEAR(twice.stroke_across.drawn / one.stroke_across.drawn, 2, 0.3);
  EXPECT_NEAR(twice.gap_along.drawn / one.gap_along.drawn, 2, 0.3);
  EXPECT_NEAR(twice.made / one.made, 2, 0.3);
}

TEST(Lettering, LinesAroundThePartAreTheSameTurned) {
  SmallJob along, around;
  around.with("scan.direction", "around");
  const Lettering one = letters(along), other = letters(around);
  EXPECT_NEAR(one.stroke_along.drawn, other.stroke_along.drawn, 6e-6);
  EXPECT_NEAR(one.stroke_across.drawn, other.stroke_across.drawn, 6e-6);
  EXPECT_NEAR(one.gap_across.drawn, other.gap_across.drawn, 6e-6);
}

TEST(Lettering, TheEyeAsksForAnAngle) {
  const Lettering good = letters(SmallJob());
  EXPECT_NEAR(good.read, 0.5 * std::tan(10.0 / 60 * quantity::kPi / 180), 1e-6);  // 1.45 mm at half a metre
  EXPECT_EQ(good.height, std::max(good.read, good.made));
}

TEST(Lettering, WithoutAMarkThereAreNoLetters) {
  SmallJob small;
  const Lettering none = letters(small.with("scan.power", "0.1 W"));
  EXPECT_TRUE(std::isinf(none.made));
  EXPECT_TRUE(std::isinf(none.height));
  EXPECT_THAT(none.notes, Contains(HasSubstr("cannot be made")));
}

TEST(Lettering, WordsAreAsHighAsAsked) {
  const artwork::Image art = words("HEH", 3e-3, 20e-6);
  int first = art.height, last = 0;
  bool white_edge = true;
  for (int y = 0; y < art.height; ++y)
    for (int x = 0; x < art.width; ++x) {
      const std::uint16_t tone = art.tone[size_t(y) * size_t(art.width) + size_t(x)];
      if (tone < 32768) first = std::min(first, y), last = std::max(last, y);
      if (x == 0 || y == 0 || x == art.width - 1 || y == art.height - 1) white_edge &= tone == 65535;
    }
  EXPECT_NEAR((last - first + 1) * 20e-6, 3e-3, 40e-6);
  EXPECT_TRUE(white_edge);
  EXPECT_GT(words("HEH HEH", 3e-3, 20e-6).width, 2 * art.width);
  EXPECT_THROW(words("", 3e-3, 20e-6), ValidityError);
  EXPECT_THROW(words("A", 3e-5, 20e-6), ValidityError);
  EXPECT_THROW(words("A", 3, 1e-6), ValidityError);
}

}  // namespace
}  // namespace circumfluence::look
