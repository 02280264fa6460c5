// Truth: the job's own words and the records' colours.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstring>

#include "job/material_file.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

TEST(View, FrameIsTheGridAndSaysWhatWasSet) {
  SmallJob small;
  const MarkMap map = small.with("scan.passes", "2").predicted();
  const appearance::Frame f = frame(map);
  EXPECT_NEAR(f.axial_from, 17.7e-3, 1e-9);
  EXPECT_NEAR(f.axial_to, 22.3e-3, 1e-9);
  EXPECT_NEAR(f.around_to - f.around_from, 3.6e-3, 1e-9);
  EXPECT_EQ(f.title, "Predicted outcome: marks");
  EXPECT_THAT(f.subtitle, HasSubstr("7.5 W"));
  EXPECT_THAT(f.subtitle, HasSubstr("2500 mm/min"));
  EXPECT_THAT(f.subtitle, HasSubstr("0.1 mm apart"));
  EXPECT_THAT(f.subtitle, HasSubstr("2 passes"));
  EXPECT_THAT(f.subtitle, HasSubstr("power follows speed"));
}

void expect_colour(const appearance::Colour& colour, const std::string& hex) {
  const appearance::Colour wanted = appearance::parse_colour(hex);
  EXPECT_EQ(0, std::memcmp(&colour, &wanted, sizeof colour)) << hex;
}

TEST(View, UnderACoatTheMarkIsTheBareBase) {
  SmallJob small;
  const Scene coated = prepare(small.job);
  expect_colour(palette(coated).ground, coated.coat->ground_colour);
  expect_colour(palette(coated).marked, coated.base.ground_colour);
  expect_colour(palette(coated).over, coated.base.over_colour);
  const Scene bare = prepare(small.bare("aisi_304").job);
  expect_colour(palette(bare).ground, bare.base.ground_colour);
  expect_colour(palette(bare).marked, bare.base.marked_colour);
}

TEST(View, NamesTheColourThatIsMissing) {
  Scene scene = prepare(SmallJob().job);
  scene.base.over_colour.clear();
  EXPECT_THAT([&] { palette(scene); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("material al_6061 has no over_colour")));
}

}  // namespace
}  // namespace circumfluence::mark
