// Truth: coupons rendered here (rendered.h), whose patches are known: ray by ray through a pinhole, blurred
// in linear light.
#include "calibration/photo.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "artwork/image.h"
#include "calibration/coupon_drawing.h"
#include "calibration/rendered.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using namespace rendered;

struct Score {
  int pictures = 0, refused = 0, patches = 0, claimed = 0, right = 0;

  void add(const Scene& scene) {
    ++pictures;
    const Photo photo = photograph(scene.subject, scene.camera);
    try {
      const Reading reading = read_coupon_photo(photo, scene.subject.coupon, scene.looks);
      for (size_t i = 0; i < reading.patches.size(); ++i) {
        if (scene.subject.coupon.slots[i].patch.is_line()) continue;
        const PatchReading& patch = reading.patches[i];
        ++patches;
        claimed += patch.sure >= kSure;
        right += patch.sure >= kSure && patch.outcome == scene.subject.truth[i].outcome;
      }
    } catch (const quantity::JobError& error) {
      ++refused;
    }
  }
};

#ifdef CIRCUMFLUENCE_WATCHED  // ten times as slow
constexpr int kCareful = 3, kBad = 2;
constexpr double kFew = 0.25;  // shares of so few stray
#else
constexpr int kCareful = 20, kBad = 12;
constexpr double kFew = 0;
#endif

class Photographs : public ::testing::TestWithParam<int> {};

// Pictures as one takes them with some care: nearly every patch is told, and told right.
TEST_P(Photographs, AreReadRight) {
  Score score;
  for (int i = 0; i < kCareful; ++i) score.add(any_scene(unsigned(1000 * GetParam() + i), false));
  RecordProperty("claimed", score.claimed);
  EXPECT_LE(score.refused, 1);
  EXPECT_GE(score.claimed, (0.9 - kFew) * score.patches);
  EXPECT_GE(score.right, (0.97 - kFew) * score.claimed);
}

// Bad ones, with reflections, noise and blur beyond what resolves the lines: told right, left open, or
// refused.
TEST_P(Photographs, AreNotGuessedAt) {
  Score score;
  for (int i = 0; i < kBad; ++i) score.add(any_scene(unsigned(500'000 + 1000 * GetParam() + i), true));
  EXPECT_LE(score.refused, 6);
  EXPECT_GE(score.claimed, (0.5 - kFew) * score.patches);
  EXPECT_GE(score.right, (0.97 - kFew) * score.claimed);
}
INSTANTIATE_TEST_SUITE_P(Random, Photographs, ::testing::Range(1, 6));

Subject one_of_each(const Looks& looks, double spacing = 0.2e-3) {
  Subject out = subject(grid(4, 2, 4e-3, spacing), looks);
  for (size_t i = 0; i < 4; ++i) out.truth[i].outcome = out.truth[4 + i].outcome = Outcome(i);
  out.truth[1].share = 0.3, out.truth[5].share = 0.6;
  return out;
}

// All that is told is right, and all but one patch are told.
void expect_read(const Reading& reading, const Subject& subject) {
  size_t told = 0;
  for (size_t i = 0; i < reading.patches.size(); ++i) {
    if (reading.patches[i].sure < kSure) continue;
    ++told;
    EXPECT_EQ(reading.patches[i].outcome, subject.truth[i].outcome) << "patch " << reading.patches[i].number;
  }
  EXPECT_GE(told + 1, reading.patches.size());
}

TEST(Photo, TellsTheClassesOfEveryMaterial) {
  for (const Looks& looks : {kBlackCoat, kWhiteCoat, kSteel, kTitanium, kBrass, kCard}) {
    const Subject subject = one_of_each(looks);
    expect_read(read_coupon_photo(photograph(subject, {.turn = 0.3}), subject.coupon, looks), subject);
  }
}

TEST(Photo, ReadsEachWayUp) {
  const Subject subject = one_of_each(kBlackCoat);
  for (const double turn : {0.0, 0.8, 1.5708, 2.4, 3.1416, -2.2, -1.5708, -0.6})
    expect_read(read_coupon_photo(photograph(subject, {.turn = turn}), subject.coupon, kBlackCoat), subject);
}

TEST(Photo, FindsTheCoupon) {
  const Subject subject = one_of_each(kSteel);
  const Coupon& coupon = subject.coupon;
  for (const double tilt : {0.0, 0.2, 0.4}) {
    const Camera camera{.turn = 0.4, .tilt_x = tilt, .tilt_y = -tilt, .distance = 0.15, .blur = 1.2};
    const Reading reading = read_coupon_photo(photograph(subject, camera), coupon, kSteel);
    const Pinhole pinhole(subject, camera);
    for (int i = 0; i < 4; ++i) {
      const Spot corner = reading.corners[size_t(i)], place = mark_corner(coupon, i, i);
      const Spot seen = pinhole.place(corner[0] + 0.5, corner[1] + 0.5);
      EXPECT_NEAR(seen[0], place[0], 0.25 * reading.scale) << i << " at tilt " << tilt;
      EXPECT_NEAR(seen[1], place[1], 0.25 * reading.scale) << i << " at tilt " << tilt;
    }
  }
}

TEST(Photo, TellsItsBlur) {
  const Subject subject = one_of_each(kSteel);
  for (const double blur : {1.0, 2.0, 4.0}) {
    const Reading reading = read_coupon_photo(photograph(subject, {.blur = blur}), subject.coupon, kSteel);
    // A pixel's own square and interpolation between pixels add their variance, 1/12 and about 1/6 of a pixel
    // squared.
    EXPECT_NEAR(reading.blur / 2 / reading.scale, std::sqrt(blur * blur + 0.25), 0.1 * blur) << blur;
  }
}

TEST(Photo, ReadsAStripOnACylinder) {
  Subject subject = one_of_each(kBlackCoat);
  subject.radius = 20e-3;  // 27 mm of arc: 39 degrees each way
  const Camera camera{.turn = 0.2, .distance = 0.6};
  expect_read(read_coupon_photo(photograph(subject, camera), subject.coupon, kBlackCoat, subject.radius),
              subject);
}

TEST(Photo, LeavesAPatchUnderAReflectionOpen) {
  Subject subject = one_of_each(kSteel);
  Camera camera{.glare = 4, .glare_size = 0.05};
  const Pinhole pinhole(subject, camera);
  for (camera.glare_x = 0.2; camera.glare_x < 0.8; camera.glare_x += 0.005)  // onto patch 6
    if (pinhole.place(camera.glare_x * camera.width, 0)[0] > subject.coupon.slots[5].place.x + 2e-3) break;
  for (camera.glare_y = 0.8; camera.glare_y > 0.2; camera.glare_y -= 0.005)
    if (pinhole.place(0, camera.glare_y * camera.height)[1] > subject.coupon.slots[5].place.y + 2e-3) break;
  const Reading reading = read_coupon_photo(photograph(subject, camera), subject.coupon, kSteel);
  EXPECT_LT(reading.patches[5].sure, kSure);
  EXPECT_THAT(reading.notes, ::testing::Contains(::testing::HasSubstr("reflection")));
  for (const size_t far : {0u, 3u, 7u}) EXPECT_EQ(reading.patches[far].outcome, subject.truth[far].outcome);
}

// These greys over-burned look like half-marked: where lines are not resolved, neither may be claimed.
TEST(Photo, LeavesOpenWhatStripesAloneTell) {
  constexpr Looks kGreys{{200, 200, 200}, {60, 60, 60}, {120, 120, 120}};
  const Subject subject = one_of_each(kGreys, 0.06e-3);
  const Reading reading = read_coupon_photo(photograph(subject, {.blur = 2}), subject.coupon, kGreys);
  EXPECT_LT(reading.patches[3].sure, kSure);
  const Subject resolved = one_of_each(kGreys, 0.3e-3);
  const Reading sure = read_coupon_photo(photograph(resolved, {.blur = 1}), resolved.coupon, kGreys);
  EXPECT_GE(sure.patches[3].sure, kSure);
  EXPECT_EQ(sure.patches[3].outcome, Outcome::over_burned);
  const Report report = reading.report();
  EXPECT_THAT(report.results, ::testing::Each(::testing::Field(&Result::number, ::testing::Ne(4))));
  EXPECT_EQ(report.origin, "rendered");
}

TEST(Photo, OfTwelveMegapixelsIsRead) {
  const Subject subject = one_of_each(kBlackCoat, 0.1e-3);
  const Photo photo =
      photograph(subject, {.width = 4000, .height = 3000, .turn = 0.3, .tilt_x = 0.1, .blur = 2});
  expect_read(read_coupon_photo(photo, subject.coupon, kBlackCoat), subject);
}

TEST(Photo, IsDrawnWithWhatWasRead) {
  const Subject subject = one_of_each(kSteel);
  const Reading reading = read_coupon_photo(photograph(subject, {.turn = 2}), subject.coupon, kSteel);
  const auto path = std::filesystem::temp_directory_path() / ("photo_test_" + std::to_string(::getpid()) + ".png");
  write_reading(path.string(), subject.coupon, reading);
  const artwork::Colours drawn = artwork::read_colours(path.string());
  EXPECT_GT(drawn.width, 1000);
  EXPECT_GT(drawn.height, 500);
  std::filesystem::remove(path);
  Coupon other = subject.coupon;
  other.slots.pop_back();
  EXPECT_THROW(write_reading(path.string(), other, reading), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::calibration
