// Truth: limits. What is no readable picture of the coupon is refused with its reason, never guessed at.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>

#include "calibration/photo.h"
#include "calibration/rendered.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using namespace rendered;
using ::testing::AnyOf;
using ::testing::HasSubstr;

Subject good(const Looks& looks = kSteel) {
  Subject out = subject(grid(4, 2, 4e-3, 0.15e-3), looks);
  for (size_t i = 0; i < out.truth.size(); ++i) out.truth[i].outcome = Outcome(i % 4);
  out.truth[1].share = out.truth[5].share = 0.5;
  return out;
}

std::string refusal(const Photo& photo, const Coupon& coupon, const Looks& looks = kSteel,
                    double radius = NAN) {
  try {
    read_coupon_photo(photo, coupon, looks, radius);
  } catch (const quantity::JobError& error) {
    EXPECT_THAT(error.what(), HasSubstr(photo.name));
    return error.what();
  }
  return "not refused";
}

std::string refusal(const Camera& camera) {
  return refusal(photograph(good(), camera), good().coupon);
}

Photo painted(int width, int height, const std::function<int(int, int)>& level) {
  Photo out{width, height, {}, "painted"};
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      const auto v = std::uint8_t(level(x, y));
      out.pixels.push_back({v, v, v});
    }
  return out;
}

TEST(PhotoRefusal, OfNoise) {
  for (unsigned seed = 0; seed < 6; ++seed) {
    std::mt19937 random(seed);
    const Photo photo = painted(900, 700, [&](int, int) { return int(random() % 256); });
    EXPECT_THAT(refusal(photo, good().coupon), HasSubstr("corner marks are not found"));
  }
}

TEST(PhotoRefusal, OfPlainAndCheckeredPictures) {
  EXPECT_THAT(refusal(painted(800, 600, [](int, int) { return 128; }), good().coupon),
              HasSubstr("not found"));
  for (const int side : {20, 37, 80})
    EXPECT_THAT(refusal(painted(800, 600, [&](int x, int y) { return (x / side + y / side) % 2 ? 220 : 30; }),
                        good().coupon),
                HasSubstr("not found"));
}

TEST(PhotoRefusal, OfRandomSquaresWithBlankMiddles) {
  for (unsigned seed = 0; seed < 6; ++seed) {
    std::mt19937 random(seed);
    Photo photo = painted(900, 700, [](int, int) { return 210; });
    for (int k = 0; k < 60; ++k) {
      const int side = 20 + int(random() % 20), left = int(random() % 850), top = int(random() % 650);
      const bool hollow = random() % 3 == 0;
      for (int y = top; y < std::min(700, top + side); ++y)
        for (int x = left; x < std::min(900, left + side); ++x) {
          const bool middle =
              std::abs(2 * (x - left) - side) < side / 3 && std::abs(2 * (y - top) - side) < side / 3;
          photo.pixels[size_t(y * 900 + x)].fill(hollow && middle ? 210 : 40);
        }
    }
    EXPECT_NE(refusal(photo, good().coupon), "not refused") << seed;
  }
}

TEST(PhotoRefusal, OfACouponWithoutMarks) {
  Subject subject = good();
  subject.marks = false;
  EXPECT_THAT(refusal(photograph(subject, {}), subject.coupon),
              AnyOf(HasSubstr("not found"), HasSubstr("do not lie")));
}

TEST(PhotoRefusal, OfACouponCutOff) {
  for (const double shift : {0.3, -0.3, 0.4})
    EXPECT_THAT(refusal({.shift_x = shift}), AnyOf(HasSubstr("not found"), HasSubstr("cut off"),
                                                   HasSubstr("outside"), HasSubstr("do not lie")));
}

TEST(PhotoRefusal, OfAMirroredPicture) {
  for (const double turn : {0.0, 1.0, 2.5})
    EXPECT_THAT(refusal({.turn = turn, .mirrored = true}), HasSubstr("mirrored"));
}

TEST(PhotoRefusal, OfTooMuchBlur) {
  EXPECT_THAT(refusal({.blur = 22}), AnyOf(HasSubstr("too blurred"), HasSubstr("not found")));
}

TEST(PhotoRefusal, OfTooSmallAPicture) {
  EXPECT_THAT(refusal({.width = 160, .height = 120, .fill = 0.6}),
              AnyOf(HasSubstr("too coarse"), HasSubstr("not found"), HasSubstr("do not lie"),
                    HasSubstr("too blurred")));
  EXPECT_THAT(refusal(painted(20, 20, [](int, int) { return 1; }), good().coupon),
              HasSubstr("expected 40 or more"));
}

TEST(PhotoRefusal, OfOverAndUnderExposure) {
  EXPECT_THAT(refusal({.exposure = 12}),
              AnyOf(HasSubstr("over-exposure"), HasSubstr("not found"), HasSubstr("do not lie")));
  EXPECT_THAT(refusal(photograph(good(kBlackCoat), {.veil = 0, .exposure = 0.02}), good().coupon, kBlackCoat),
              AnyOf(HasSubstr("ground is black"), HasSubstr("not found")));
}

TEST(PhotoRefusal, OfAnotherCoupon) {
  const Coupon other = grid(3, 3, 5e-3, 0.1e-3);
  EXPECT_THAT(refusal(photograph(good(), {}), other), AnyOf(HasSubstr("do not lie"), HasSubstr("not found")));
}

TEST(PhotoRefusal, OfAnotherMaterial) {
  EXPECT_THAT(refusal(photograph(good(kBlackCoat), {}), good().coupon, kSteel),
              HasSubstr("another material"));
  EXPECT_THAT(refusal(photograph(good(kSteel), {}), good().coupon, kBlackCoat),
              HasSubstr("another material"));
}

TEST(PhotoRefusal, OfMarksThatHardlyDiffer) {
  Subject subject = good();
  for (size_t c = 0; c < 3; ++c) subject.marked[c] = subject.over[c] = 0.985 * subject.ground[c];
  EXPECT_THAT(refusal(photograph(subject, {.noise = 0.001}), subject.coupon),
              AnyOf(HasSubstr("hardly differ"), HasSubstr("not found")));
}

TEST(PhotoRefusal, OfAStripTooSteepToSee) {
  EXPECT_THAT(refusal(photograph(good(), {}), good().coupon, kSteel, 5e-3), HasSubstr("radius"));
}

TEST(PhotoRefusal, OfAPictureWithoutAllItsPixels) {
  Photo photo = photograph(good(), {.width = 400, .height = 300});
  photo.pixels.pop_back();
  EXPECT_THAT(refusal(photo, good().coupon), HasSubstr("all given"));
}

}  // namespace
}  // namespace circumfluence::calibration
