// Truth: chances and ends of both scenes as the window has them; a fit made by hand that knows one end.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "artwork/image.h"
#include "calibration/fitted.h"
#include "mark/small_job.h"
#include "quantity/error.h"
#include "window/window.h"

namespace circumfluence::calibration {
namespace {

using mark::Scene;
using mark::SmallJob;
using testing::HasSubstr;

SmallJob stated() {
  SmallJob small;
  small.with("laser.power_spread", "10 %")
      .with("laser.spot_spread", "10 %")
      .with("workpiece.coat_spread", "20 %");
  small.with("scan.speed", "1500 mm/min");
  return small;
}

// The same job with all that is open a third as open.
Scene narrower() {
  SmallJob other = stated();
  Scene scene = mark::prepare(other.with("laser.power_spread", "3 %")
                                  .with("laser.spot_spread", "3 %")
                                  .with("workpiece.coat_spread", "6 %")
                                  .job);
  for (workpiece::Material* m : {&scene.base, &*scene.coat}) {
    for (const auto& field : workpiece::material_fields())
      if (const auto* figure = std::get_if<quantity::Figure workpiece::Material::*>(&field.member))
        (m->**figure).spread /= 3;
    for (workpiece::Optics& optics : m->optics) optics.absorptivity.spread /= 3;
  }
  return scene;
}

TEST(BeforeAfter, IsWhatTheWindowsSay) {
  const SmallJob small = stated();
  const Scene before = mark::prepare(small.job), after = narrower();
  const BeforeAfter both = compare(before, after, {.count = 256});
  EXPECT_EQ(both.power, before.power());
  for (const auto& [scene, side] : {std::pair(&before, &both.before), {&after, &both.after}}) {
    const auto outlook =
        window::Doubt(*scene, {.count = 256})
            .over(window::place_of(*scene, window::fill_of(scene->job)), std::vector{scene->job.scan.speed})
            .front();
    EXPECT_NEAR(outlook.at(side->marks.low).marks, 0.05, 1e-4);
    EXPECT_NEAR(outlook.at(side->marks.high).marks, 0.95, 1e-4);
    EXPECT_NEAR(outlook.at(side->burns.low).spares, 0.95, 1e-4);
    EXPECT_NEAR(outlook.at(side->burns.high).spares, 0.05, 1e-4);
    EXPECT_EQ(side->chances.good, outlook.at(before.power()).good);
  }
  const auto wide = [](const window::Interval& i) { return std::log(i.high / i.low); };
  EXPECT_NEAR(wide(both.after.marks), wide(both.before.marks) / 3, 0.1 * wide(both.before.marks));
  EXPECT_THAT(text(both), testing::MatchesRegex("before     marks from .* W \\(.* W to .* W\\), over-burns "
                                                "from .* comes out good with .* %\nafter  .*\n"));
}

TEST(BeforeAfter, NamesWhatNoPowerDoes) {
  const BeforeAfter both{
      .before = {.marks = {1, 2, 3}, .burns = {INFINITY, INFINITY, INFINITY}, .chances = {1, 1, 1}},
      .after = {.marks = {1, 2, 3}, .burns = {4, INFINITY, INFINITY}, .chances = {1, 1, 0.5}},
      .power = 5};
  EXPECT_THAT(text(both),
              testing::AllOf(
                  HasSubstr("over-burns from no power (no power to no power); 5 W comes out good with 100 %"),
                  HasSubstr("over-burns from no power (4 W to no power); 5 W comes out good with 50 %")));
}

TEST(BeforeAfter, IsDrawnWholeOrNotAtAll) {
  const SmallJob small = stated();
  const Scene before = mark::prepare(small.job), after = narrower();
  const std::string path = small.folder.file("both.png");
  write_picture(path, before, after);
  EXPECT_GT(std::filesystem::file_size(path), 10000u);
  if (const char* kept = std::getenv("CIRCUMFLUENCE_LOOK"))
    std::filesystem::copy_file(path, kept, std::filesystem::copy_options::overwrite_existing);
  EXPECT_THROW(write_picture(small.folder.file("no/both.png"), before, after), quantity::FileError);
}

}  // namespace
}  // namespace circumfluence::calibration
