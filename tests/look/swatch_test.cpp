// Truth: the whole prediction of the same art at the same cell, and areas by hand.
#include "look/swatch.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <thread>

#include "artwork/halftone.h"
#include "mark/small_job.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using mark::SmallJob;
using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

// Speckle, lines and greys, unlike all its mirror images.
mark::Picture motley() {
  mark::Picture p;
  p.tone = artwork::made::noise(p.tone.size(), 255, 7);
  for (int y = 0; y < p.height; ++y)
    for (int x = 0; x < p.width; ++x) {
      int& tone = p.tone[size_t(y * p.width + x)];
      if (x < 12 && y < 20) tone = x % 4 == 0 || y % 5 == 0 ? 0 : 255;
      if (x > 25 && y > 8) tone = 5 * (x + y) % 256;
    }
  return p;
}

// Burns the job's own picture as a swatch and as a whole prediction on a cold wall.
void expect_the_same_road(SmallJob& small, double cell) {
  small.job.grid.cell = cell;
  small.job.grid.margin = std::ceil(3 * 80e-6 / cell) * cell;
  const mark::MarkMap map = small.on_a_cold_wall();
  const Swatches swatches(map.scene, cell);
  const Swatch swatch = swatches.burn(map.scene.image, 0.1e-3, small.job.artwork.tone);
  ASSERT_EQ(swatch.outcome.axial(), map.maps.outcome.axial());
  ASSERT_EQ(swatch.outcome.around(), map.maps.outcome.around());
  long marked = 0, differ = 0;
  float most = 0;
  for (size_t i = 0; i < swatch.outcome.size(); ++i) {
    marked += map.maps.outcome.cells()[i] >= 2;
    differ += map.maps.outcome.cells()[i] != swatch.outcome.cells()[i];
    most = std::max(most, std::abs(map.maps.changed.cells()[i] - swatch.changed.cells()[i]));
  }
  EXPECT_GT(marked, long(swatch.outcome.size() / 50));
  EXPECT_EQ(differ, 0);
  EXPECT_EQ(most, 0.0f);
  EXPECT_NEAR(swatch.axial, (map.scene.art.axial_to - map.scene.art.axial_from) / 2 + small.job.grid.margin,
              1e-12);
}

TEST(Swatch, IsWhatTheWholePredictionShows) {
  SmallJob small(motley());
  expect_the_same_road(small, 20e-6);
}

TEST(Swatch, OfGreysToo) {
  SmallJob small(motley());
  expect_the_same_road(small.with("artwork.tone", "grey"), 10e-6);
}

TEST(Swatch, OfAHalftoneToo) {
  SmallJob small(motley());
  small.with("artwork.tone", "halftone").with("artwork.screen", "stucki").with("artwork.dot", "0.1 mm");
  expect_the_same_road(small, 20e-6);
}

TEST(Swatch, OnBareSteelAcrossTheAxisInTwoPasses) {
  SmallJob small(motley());
  small.bare("aisi_304")
      .with("scan.direction", "around")
      .with("scan.passes", "2")
      .with("scan.spacing", "0.05 mm");
  expect_the_same_road(small, 20e-6);
}

TEST(Swatch, OnATaperUnderABeamBesideTheAxis) {
  SmallJob small(motley());
  small.tapered(50e-3).with("mount.beam_offset", "2 mm").with("scan.power_habit", "constant");
  expect_the_same_road(small, 20e-6);
}

TEST(Swatch, OnAStandingPart) {
  SmallJob small(motley());
  expect_the_same_road(small.with("mount.hold", "standing"), 20e-6);
}

// An L lands as an L, even where the machine feeds it the other way round.
TEST(Swatch, LandsAsDrawn) {
  SmallJob small;
  small.job.mount.mouth = motion::End::start;
  small.job.mount.mouth_faces = motion::Toward::left;
  small.job.mount.axial_feed = motion::Toward::left;
  small.job.mount.around_feed = motion::Toward::front;
  const Swatches swatches(mark::prepare(small.job), 20e-6);
  artwork::Image art{20, 20, std::vector<std::uint16_t>(400, 65535), {}};
  for (size_t i = 0; i < 20; ++i) art.tone[i * 20] = art.tone[19 * 20 + i] = 0;  // left edge, bottom
  for (size_t y = 0; y < 20; ++y) art.tone[y * 20 + 1] = 0;
  for (size_t x = 0; x < 20; ++x) art.tone[18 * 20 + x] = 0;
  const Swatch swatch = swatches.burn(art, 0.1e-3, artwork::ToneUse::threshold);
  EXPECT_GT(marked_share(swatch, {-1e-3, -0.85e-3, -0.7e-3, 0.95e-3}), 0.9);  // left
  EXPECT_GT(marked_share(swatch, {-0.7e-3, 0.95e-3, -1e-3, -0.85e-3}), 0.9);  // lower
  EXPECT_EQ(marked_share(swatch, {-0.7e-3, 1e-3, -0.7e-3, 1e-3}), 0);
}

// A halftone is burnt as the dots that the screen chooses, burnt as line art.
TEST(Swatch, HalftonesAreBurntAsTheirDots) {
  SmallJob small(motley());
  small.with("artwork.tone", "halftone")
      .with("artwork.screen", "floyd_steinberg")
      .with("artwork.dot", "0.2 mm");
  const mark::Scene scene = mark::prepare(small.job);
  const artwork::Image art = artwork::read_image(small.folder.file("art.png"));
  const Swatches swatches(scene, 20e-6);
  artwork::Image coarse{20, 15, {}, {}};  // the mean of two by two pixels
  for (int y = 0; y < 30; y += 2)
    for (int x = 0; x < 40; x += 2) {
      const auto tone = [&](int i, int j) { return std::uint32_t(art.tone[size_t((y + i) * 40 + x + j)]); };
      coarse.tone.push_back(std::uint16_t((tone(0, 0) + tone(0, 1) + tone(1, 0) + tone(1, 1) + 2) / 4));
    }
  const artwork::Image dots = artwork::halftone(coarse, artwork::Screen::floyd_steinberg);
  const Swatch one = swatches.burn(art, 0.1e-3, artwork::ToneUse::halftone);
  const Swatch other = swatches.burn(dots, 0.2e-3, artwork::ToneUse::threshold);
  ASSERT_EQ(one.changed.size(), other.changed.size());
  for (size_t i = 0; i < one.changed.size(); ++i)
    ASSERT_EQ(one.changed.cells()[i], other.changed.cells()[i]) << i;
}

TEST(Swatch, RampsOfAShortRunUpAreLeftOut) {
  SmallJob small;
  small.with("scan.power_habit", "constant").with("scan.run_up", "0.01 mm");
  SmallJob longer;
  longer.with("scan.power_habit", "constant").with("scan.run_up", "5 mm");
  const artwork::Image art{1, 1, {0}, {}};
  const Swatch brief = Swatches(mark::prepare(small.job), 20e-6).burn(art, 1e-3, artwork::ToneUse::threshold);
  const Swatch long_one =
      Swatches(mark::prepare(longer.job), 20e-6).burn(art, 1e-3, artwork::ToneUse::threshold);
  for (size_t i = 0; i < brief.changed.size(); ++i)
    ASSERT_EQ(brief.changed.cells()[i], long_one.changed.cells()[i]);
}

TEST(Swatch, AtTheEndOfAPartTheArtMovesInward) {
  SmallJob small;
  small.job.mount.focus_at = 0.2e-3;
  const Swatches swatches(mark::prepare(small.job), 20e-6);
  const Swatch swatch = swatches.burn({1, 1, {0}, {}}, 1e-3, artwork::ToneUse::threshold);
  EXPECT_NEAR(swatch.outcome.axial() * swatch.cell, 1.48e-3, 1e-9);
  EXPECT_GT(marked_share(swatch, {-0.4e-3, 0.4e-3, -0.4e-3, 0.4e-3}), 0.99);
}

TEST(Swatch, SeveralThreadsBurnTheSame) {
  SmallJob small(motley());
  small.with("mount.hold", "standing");
  const mark::Scene scene = mark::prepare(small.job);
  const Swatches swatches(scene, 40e-6);
  const auto burnt = [&](double pixel) { return swatches.burn(scene.image, pixel, artwork::ToneUse::grey); };
  const Swatch one = burnt(0.05e-3), other = burnt(0.1e-3);
  std::vector<std::thread> threads;
  std::vector<int> wrong(4, 1);
  for (size_t i = 0; i < 4; ++i)
    threads.emplace_back([&, i] {
      const Swatch& alone = i % 2 == 0 ? one : other;
      const Swatch again = burnt(i % 2 == 0 ? 0.05e-3 : 0.1e-3);
      wrong[i] = !std::equal(alone.changed.cells().begin(), alone.changed.cells().end(),
                             again.changed.cells().begin());
    });
  for (std::thread& thread : threads) thread.join();
  EXPECT_THAT(wrong, testing::Each(0));
}

TEST(Swatch, PanesCountPartsOfCells) {
  Swatch swatch{{2, 4}, {2, 4}, 1.0, 2.0, 1.0};
  for (size_t i = 0; i < 8; ++i)
    swatch.outcome.cells()[i] = std::uint8_t(i % 4), swatch.changed.cells()[i] = 0;
  EXPECT_DOUBLE_EQ(over_share(swatch, {-2, 2, -1, 1}), 0.25);
  EXPECT_DOUBLE_EQ(marked_share(swatch, {-2, 2, -1, 1}), 0.5);  // 0 1 2 3 in both rows
  EXPECT_NEAR(marked_share(swatch, {-0.5, 0.25, -1, 0.5}), 1.0 / 3,
              1e-6);                                         // half a cell of 1, a quarter of 2
  EXPECT_DOUBLE_EQ(marked_share(swatch, {1, 9, -1, 1}), 1);  // beyond the swatch nothing counts
  EXPECT_THAT([&] { marked_share(swatch, {5, 6, 0, 1}); }, ThrowsMessage<ValidityError>(HasSubstr("swatch")));
}

TEST(Swatch, SaysWhatItCannotBurn) {
  const SmallJob small;
  const Swatches swatches(mark::prepare(small.job));
  EXPECT_NEAR(swatches.cell(), 0.1e-3 / 10.125, 1e-12);  // 8 lines on 81 cells
  EXPECT_NEAR(swatches.spot(), 80e-6, 1e-9);
  EXPECT_EQ(swatches.spacing(), 1e-4);
  const artwork::Image dot{1, 1, {0}, {}};
  const auto burn = [&](double size) { return swatches.burn(dot, size, artwork::ToneUse::threshold); };
  EXPECT_THAT([&] { burn(25e-3); }, ThrowsMessage<ValidityError>(HasSubstr("4 million cells")));
  EXPECT_THAT([&] { burn(0); }, ThrowsMessage<ValidityError>(HasSubstr("1 x 1 px of 0")));
  EXPECT_THROW(swatches.burn({}, 1e-4, artwork::ToneUse::threshold), ValidityError);
  SmallJob thin;
  thin.job.workpiece.length = 4e-3;
  thin.job.artwork.axial = 2e-3;
  const Swatches coarse(mark::prepare(thin.job), 40e-6);
  EXPECT_THAT([&] { coarse.burn(dot, 5e-3, artwork::ToneUse::threshold); },
              ThrowsMessage<ValidityError>(HasSubstr("larger than the part")));
}

}  // namespace
}  // namespace circumfluence::look
