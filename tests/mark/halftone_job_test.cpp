// Truth: dots counted on the map of what was wanted and told, against the picture of dots by itself; sizes by
// hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "artwork/halftone.h"
#include "mark/set_up.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using artwork::ToneUse;
using quantity::JobError;
using testing::AllOf;
using testing::HasSubstr;
using testing::ThrowsMessage;

// From a quarter to three quarters of black across the width.
Picture ramp() {
  Picture p;
  for (int i = 0; i < p.width * p.height; ++i) p.tone[size_t(i)] = 191 - 128 * (i % p.width) / (p.width - 1);
  return p;
}

SmallJob dots(const char* screen = "blue_noise") {
  SmallJob small(ramp());
  small.with("artwork.tone", "halftone").with("artwork.screen", screen);
  return small;
}

// 40 x 30 dots of 0.1 mm, as far apart as the lines, on cells of 20 um: 25 cells a dot.
struct DotsOnMap {
  long wrong = 0, burnt = 0;
};

DotsOnMap compare(const MarkMap& map) {
  DotsOnMap out;
  const workpiece::Surface& s = map.surface;
  const artwork::Image& image = map.scene.image;
  const artwork::Extent& art = map.scene.art;
  for (int row = 0; row < s.around; ++row)
    for (int column = 0; column < s.axial; ++column) {
      const double x = (s.position(column) - art.axial_from) / 0.1e-3,
                   y = (art.around_to - s.arc(row)) / 0.1e-3;
      const bool inside = x > 0 && y > 0 && x < image.width && y < image.height;
      const bool dot = inside && image.tone[size_t(y) * size_t(image.width) + size_t(x)] == 0;
      out.burnt += dot;
      out.wrong += dot != (map.maps.wanted.row(row)[size_t(column)] != 0);
    }
  return out;
}

TEST(HalftoneJob, ItsDotsAreWanted) {
  for (const char* screen : {"bayer", "floyd_steinberg", "jarvis_judice_ninke", "stucki", "blue_noise"}) {
    const SmallJob small = dots(screen);
    const MarkMap map = small.predicted(true);
    EXPECT_EQ(map.scene.image.width, 40);
    EXPECT_EQ(map.scene.image.height, 30);
    const DotsOnMap found = compare(map);
    EXPECT_EQ(found.wrong, 0) << screen;
    EXPECT_NEAR(double(found.burnt) / (25 * 1200), 0.5, 0.02) << screen;
  }
}

// Dots of a tenth of a millimetre under a spot of 80 um: they come out, and grow, since the beam reaches
// beside them.
TEST(HalftoneJob, ItsDotsAreBurnt) {
  const MarkMap map = dots("bayer").predicted(true);
  long wanted = 0, marked = 0, beside = 0, all = 0;
  for (int row = 0; row < map.surface.around; ++row)
    for (int column = 0; column < map.surface.axial; ++column) {
      const bool burnt = map.maps.outcome.row(row)[size_t(column)] >= int(response::Outcome::marked);
      const bool here = map.maps.wanted.row(row)[size_t(column)] != 0;
      wanted += here, all += !here;
      (here ? marked : beside) += burnt;
    }
  EXPECT_GT(double(marked), 0.95 * double(wanted));
  EXPECT_GT(double(beside), 0.02 * double(all));
  EXPECT_LT(double(beside), 0.4 * double(all));
}

TEST(HalftoneJob, TheJobStaysAsItWasRead) {
  SmallJob small = dots();
  const Scene scene = prepare(small.job);
  EXPECT_EQ(scene.job.text, small.job.text);
  EXPECT_EQ(scene.job.artwork.tone, ToneUse::halftone);
  EXPECT_NEAR(scene.job.artwork.dot, 0.1e-3, 1e-12);  // as far as the lines
  const Scene again = prepare(scene.job);
  EXPECT_EQ(again.image.tone, scene.image.tone);
  EXPECT_NEAR(again.art.axial_to, scene.art.axial_to, 1e-15);
}

TEST(HalftoneJob, DotsOfTheirOwnPitch) {
  SmallJob small = dots();
  small.with("artwork.dot", "0.3 mm");
  const Scene scene = prepare(small.job);
  EXPECT_EQ(scene.image.width, 13);  // 4 mm hold 13 of them, 3 mm hold 10
  EXPECT_EQ(scene.image.height, 10);
  EXPECT_NEAR(scene.art.axial_to - scene.art.axial_from, 3.9e-3, 1e-12);
  EXPECT_NEAR((scene.art.axial_to + scene.art.axial_from) / 2, 20e-3, 1e-12);
  EXPECT_EQ(plan(scene).lines, 30);
}

TEST(HalftoneJob, TurnedMirroredAndOfLightTones) {
  SmallJob small = dots("stucki");
  small.with("artwork.turn", "90 deg").with("artwork.mirror", "around").with("artwork.burns", "light");
  small.with("artwork.size_axial", "3 mm");
  const Scene scene = prepare(small.job);
  EXPECT_EQ(scene.job.artwork.mirror, artwork::Mirror::around);
  EXPECT_EQ(scene.job.artwork.burns, artwork::Burns::light);
  const MarkMap map = small.predicted(true);
  // Turned, the ramp runs around. It grows darker to the right, which a quarter turn brings to growing arc
  // and the mirror to falling; of light tones more is wanted where it is lighter: at growing arc.
  long low = 0, high = 0;
  const int rows = map.surface.around;
  for (int row = 0; row < rows; ++row)
    for (const std::uint8_t wanted : map.maps.wanted.row(row)) (row < rows / 2 ? low : high) += wanted;
  EXPECT_GT(double(high), 1.3 * double(low));
  EXPECT_NEAR(double(low + high) / (25 * 1200), 0.5, 0.02);
}

TEST(HalftoneJob, CellsTooCoarseForADot) {
  SmallJob small = dots();
  small.with("grid.cell", "50 um");
  EXPECT_NO_THROW(prepare(small.job));
  small.job.grid.cell = 51e-6;
  EXPECT_THAT([&] { prepare(small.job); }, ThrowsMessage<JobError>(AllOf(HasSubstr("artwork.dot = 0.1 mm"),
                                                                         HasSubstr("grid.cell = 0.051 mm"),
                                                                         HasSubstr("half a dot, 0.05 mm"))));
  std::string text(kSmallJob);
  text.insert(text.find("burns ="), "tone = \"halftone\"\ndot = \"0.03 mm\"\n");
  EXPECT_THAT([&] { job::parse_job(text, "small.toml", small.folder.path.string()); },
              ThrowsMessage<JobError>(AllOf(HasSubstr("small.toml:27:"), HasSubstr("artwork.dot = 0.03 mm"),
                                            HasSubstr("scan.spacing, 0.1 mm"))));
}

TEST(HalftoneJob, DotsThatAreNone) {
  SmallJob small = dots();
  small.job.artwork.dot = 5e-3;
  EXPECT_THAT([&] { prepare(small.job); }, ThrowsMessage<JobError>(HasSubstr("larger than the art")));
  small.job.artwork.tone = ToneUse::grey;  // says nothing there
  EXPECT_NO_THROW(prepare(small.job));
}

// What is written is dots, and what comes of them fed back is the map of the job as meant.
TEST(HalftoneJob, FedBackItIsTheSame) {
  for (const char* turn : {"0 deg", "180 deg"}) {
    SmallJob small = dots("floyd_steinberg");
    small.with("artwork.turn", turn);
    const Scene meant = prepare(small.job);
    const FedArt art = pre_distort(meant, {});
    EXPECT_NEAR(art.pixel, 25e-6, 1e-12);  // a third of the spot is 26.7 um; a dot is four pixels
    EXPECT_EQ(art.image.width, 160);
    EXPECT_EQ(art.image.height, 120);
    EXPECT_THAT(art.words, HasSubstr("a halftone, 0.1 mm from dot to dot"));
    artwork::write_image(art.image, art.pixel, small.folder.file("fed.png"));
    const job::Job fed = fed_job(meant, art, "fed.png");
    EXPECT_EQ(fed.artwork.tone, ToneUse::threshold);
    const MarkMap one = small.predicted(true), other = predict(fed, small.request(true));
    long different = 0;
    for (size_t i = 0; i < one.maps.wanted.size(); ++i)
      different += one.maps.wanted.data()[i] != other.maps.wanted.data()[i] ||
                   one.maps.outcome.data()[i] != other.maps.outcome.data()[i];
    EXPECT_EQ(different, 0) << turn;
  }
}

// On a taper the dots become as wide on the part as they were meant, on or off.
TEST(HalftoneJob, FedToATaper) {
  SmallJob small = dots("bayer");
  small.tapered(40e-3);
  small.job = job::completed(small.job);
  const FedArt art = pre_distort(prepare(small.job), {});
  long burnt = 0;
  for (const std::uint16_t tone : art.image.tone) {
    ASSERT_TRUE(tone == 0 || tone == 65535);
    burnt += tone == 0;
  }
  EXPECT_NEAR(double(burnt) * art.pixel * art.pixel, 0.5 * 4e-3 * 3e-3, 0.3e-6);
}

// Standing for what a path is to mark.
TEST(HalftoneJob, OfAToolPath) {
  SmallJob small = dots();
  std::ofstream(small.folder.file("moves.nc")) << "G21 G90 M3\nG0 X18 Y0\nG1 X22 S1000 F2500\n";
  small.job.path.file = "moves.nc";
  small.job.path.axial = 0;
  small.job.path.full_power_word = 1000;
  small.job.machine.axial_acceleration = small.job.machine.around_acceleration = 1;
  small.job.scan.spacing = quantity::kUnset;
  EXPECT_THAT([&] { prepare(small.job); }, ThrowsMessage<JobError>(HasSubstr("artwork.dot is missing")));
  small.job.artwork.dot = 0.2e-3;
  const Scene scene = prepare(small.job);
  EXPECT_TRUE(scene.path);
  EXPECT_EQ(scene.image.width, 20);
  EXPECT_EQ(scene.image.height, 15);
}

}  // namespace
}  // namespace circumfluence::mark
