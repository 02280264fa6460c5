// Truth: single lines of known width, rendered here (rendered.h).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calibration/photo.h"
#include "calibration/rendered.h"

namespace circumfluence::calibration {
namespace {

using namespace rendered;

Subject ladder(const Looks& looks, double least, double most) {
  Subject out = subject(grid(4, 3, 4e-3, 0), looks);
  for (size_t i = 0; i < 12; ++i) {
    if (i % 2) out.coupon.slots[i].patch.direction = motion::Direction::around;
    out.truth[i] = {.outcome = Outcome::marked, .width = least * std::pow(most / least, double(i) / 11)};
  }
  return out;
}

TEST(PhotoWidth, IsWithinItsError) {
  int measured = 0, within = 0;
  double squares = 0;
  for (unsigned seed = 0; seed < 8; ++seed) {
    Chance chance(seed + 77);
    const Looks looks = seed % 2 ? kSteel : kBlackCoat;
    const Subject subject = ladder(looks, 60e-6, 600e-6);
    const Camera camera{.turn = chance.between(-3, 3),
                        .tilt_x = chance.between(-0.2, 0.2),
                        .tilt_y = chance.between(-0.2, 0.2),
                        .blur = chance.between(0.6, 2),
                        .noise = chance.between(0.002, 0.006),
                        .jpeg = seed % 3 ? 85 : 0,
                        .parts = 4,
                        .seed = seed};
    const Reading reading = read_coupon_photo(photograph(subject, camera), subject.coupon, looks);
    for (size_t i = 0; i < 12; ++i) {
      const PatchReading& patch = reading.patches[i];
      if (std::isnan(patch.width)) continue;
      const double off = (patch.width - subject.truth[i].width) / patch.width_error;
      ++measured, within += std::abs(off) < 2, squares += off * off;
      EXPECT_LT(std::abs(off), 4.5) << seed << ": " << subject.truth[i].width << " read " << patch.width
                                    << " +- " << patch.width_error;
      EXPECT_LT(patch.width_error, 0.35 * patch.width);
    }
  }
  EXPECT_GE(measured, 48);
  EXPECT_GE(within, 0.85 * measured);
  EXPECT_LT(std::sqrt(squares / measured), 1.6);
}

TEST(PhotoWidth, OfALineFinerThanTheBlurIsNotGiven) {
  const Subject subject = ladder(kSteel, 20e-6, 60e-6);
  const Reading reading =
      read_coupon_photo(photograph(subject, {.blur = 2, .parts = 4}), subject.coupon, kSteel);
  for (const PatchReading& patch : reading.patches) EXPECT_TRUE(std::isnan(patch.width)) << patch.number;
  EXPECT_THAT(reading.notes, ::testing::Contains(::testing::HasSubstr("finer than the picture resolves")));
}

TEST(PhotoWidth, IsNotSeenWhereNothingIs) {
  Subject subject = ladder(kSteel, 100e-6, 500e-6);
  subject.truth[3] = subject.truth[4] = {};
  const Reading reading = read_coupon_photo(photograph(subject, {}), subject.coupon, kSteel);
  for (const size_t i : {3u, 4u}) {
    EXPECT_TRUE(std::isnan(reading.patches[i].width));
    EXPECT_EQ(reading.patches[i].outcome, Outcome::untouched);
    EXPECT_GE(reading.patches[i].sure, kSure);
  }
  const Report report = reading.report();
  EXPECT_GT(report.width_error, 0);
  for (const Result& result : report.results)
    if (!std::isnan(result.width)) {
      EXPECT_NEAR(result.width, subject.truth[size_t(result.number - 1)].width, 0.2 * result.width);
    }
}

TEST(PhotoWidth, OfAWideLineComesWithItsClass) {
  Subject subject = ladder(kBlackCoat, 500e-6, 900e-6);
  const Reading reading = read_coupon_photo(photograph(subject, {}), subject.coupon, kBlackCoat);
  for (const PatchReading& patch : reading.patches) {
    EXPECT_EQ(patch.outcome, Outcome::marked) << patch.number;
    EXPECT_GE(patch.sure, kSure) << patch.number;
  }
}

TEST(PhotoWidth, OnACylinderIsMeasuredAlongTheArc) {
  Subject subject = ladder(kBlackCoat, 300e-6, 500e-6);
  subject.radius = 25e-3;
  const Camera camera{.distance = 1.5, .parts = 4};
  const Reading reading =
      read_coupon_photo(photograph(subject, camera), subject.coupon, kBlackCoat, subject.radius);
  for (size_t i = 0; i < 12; ++i) {
    ASSERT_FALSE(std::isnan(reading.patches[i].width)) << i;
    EXPECT_NEAR(reading.patches[i].width, subject.truth[i].width, 0.05 * subject.truth[i].width) << i;
  }
}

}  // namespace
}  // namespace circumfluence::calibration
