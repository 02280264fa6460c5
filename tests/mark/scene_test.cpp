// Truth: the job as written, by geometry worked out by hand.
#include "mark/scene.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using quantity::FileError;
using quantity::JobError;
using testing::AllOf;
using testing::HasSubstr;
using testing::ThrowsMessage;

TEST(Scene, SizesAndPlaces) {
  const SmallJob small;
  const Scene scene = prepare(small.job);
  EXPECT_NEAR(scene.art.axial_from, 18e-3, 1e-12);
  EXPECT_NEAR(scene.art.axial_to, 22e-3, 1e-12);
  EXPECT_NEAR(scene.art.around_to - scene.art.around_from, 3e-3, 1e-12);  // 40 x 30 square pixels
  EXPECT_NEAR(scene.focus_at, 20e-3, 1e-12);
  EXPECT_NEAR(scene.reference_radius, 30e-3, 1e-12);
  EXPECT_NEAR(scene.power(), 7.5, 1e-12);
  ASSERT_TRUE(scene.coat);
  EXPECT_EQ(scene.coat->name, "polyester_powder_black");
  const workpiece::Surface surface = develop(scene);
  EXPECT_EQ(surface.axial, (4000 + 600) / 20);
  EXPECT_EQ(surface.around, (3000 + 600) / 20);
  EXPECT_EQ(plan(scene).lines, 30);
}

TEST(Scene, PowerInWatts) {
  SmallJob small;
  small.job.scan.power_share = std::nan("");
  small.job.scan.power = 6.25;
  EXPECT_EQ(prepare(small.job).power(), 6.25);
}

TEST(Scene, DrivenDiameterSetsTheArcs) {
  SmallJob small;
  const Scene scene = prepare(small.with("mount.drive_diameter", "50 mm").job);
  EXPECT_NEAR(scene.reference_radius, 25e-3, 1e-12);
}

TEST(Scene, PictureIsFoundBesideTheJobOrWhereItsPathSays) {
  SmallJob small;
  const SmallJob elsewhere;
  EXPECT_EQ(prepare(small.with("artwork.file", elsewhere.folder.file("art.png")).job).image.width, 40);
  EXPECT_THAT([&] { prepare(small.with("artwork.file", "missing.png").job); },
              ThrowsMessage<FileError>(HasSubstr("missing.png")));
}

TEST(Scene, BrokenPicture) {
  const SmallJob small;
  std::ofstream(small.folder.file("art.png"), std::ios::binary) << "\x89PNG\r\n\x1a\nno more";
  EXPECT_THAT([&] { prepare(small.job); }, ThrowsMessage<FileError>(HasSubstr("art.png")));
}

TEST(Scene, ArtBeyondTheEnds) {
  SmallJob small;
  EXPECT_THAT([&] { prepare(small.with("artwork.axial", "39 mm").job); },
              ThrowsMessage<JobError>(AllOf(HasSubstr("artwork.axial = 39 mm"), HasSubstr("37 mm to 41 mm"),
                                            HasSubstr("0 mm to 40 mm"))));
}

TEST(Scene, ArtMoreThanOneTurn) {
  SmallJob small;  // 40 mm along makes 30 mm around; 9 mm of diameter turn 28.3 mm
  small.with("artwork.size_axial", "40 mm").with("workpiece.diameter", "9 mm");
  EXPECT_THAT([&] { prepare(small.job); }, ThrowsMessage<JobError>(HasSubstr("more than one turn")));
}

TEST(Scene, StandingPart) {
  SmallJob small;
  small.with("mount.hold", "standing");
  const Scene scene = prepare(small.job);
  const workpiece::Surface surface = develop(scene);
  const double arc =
      2 * 30e-3 * std::asin(1.5e-3 / 30e-3) + 0.6e-3;  // the art seen from above, and its margin
  EXPECT_NEAR(surface.around * surface.cell_around, arc, surface.cell_around);
  small.with("artwork.size_axial", "30 mm").with("workpiece.diameter", "20 mm");  // 22.5 mm wide
  EXPECT_THAT([&] { prepare(small.job); }, ThrowsMessage<JobError>(HasSubstr("beyond a standing part")));
}

TEST(Scene, UnknownMaterialSuggestsANearOne) {
  SmallJob small;
  small.job.workpiece.base = "al_606";
  EXPECT_THAT([&] { prepare(small.job); },
              ThrowsMessage<JobError>(AllOf(HasSubstr("workpiece.base"), HasSubstr("al_6061"))));
}

// A mark must not move because the beam stands beside the axis: the art is started where the beam falls.
TEST(Scene, BeamBesideTheAxisDoesNotShiftTheMark) {
  SmallJob straight, beside;
  beside.with("mount.beam_offset", "3 mm");
  const MarkMap one = predict(straight.job, straight.request(true)),
                other = predict(beside.job, beside.request(true));
  ASSERT_EQ(one.maps.outcome.size(), other.maps.outcome.size());
  double a = 0, b = 0, ab = 0;
  for (size_t i = 0; i < one.maps.fluence.size(); ++i) {
    const double x = one.maps.fluence.data()[i], y = other.maps.fluence.data()[i];
    a += x * x, b += y * y, ab += x * y;
  }
  EXPECT_GT(ab / std::sqrt(a * b), 0.999);
}

}  // namespace
}  // namespace circumfluence::mark
