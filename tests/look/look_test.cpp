// Truth: what is said of a whole job is what its pieces say; what cannot be held is refused before the work.
#include "look/look.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(Looks, AreWhatTheirPiecesSay) {
  const mark::SmallJob small(mark::island());
  const Look told = look(small.job, {.codes = false, .threads = 1});
  const Swatches swatches(told.map.scene);
  const Finish finish(told.map.scene, swatches.model());
  EXPECT_EQ(told.contrast.diffuse, contrast(swatches, finish).diffuse);
  ASSERT_EQ(told.curves.size(), 2u);
  EXPECT_EQ(told.curves[0].steps, tone_curve(swatches, finish, {.screen = std::nullopt}).steps);
  EXPECT_EQ(told.lettering->height, lettering(swatches, finish).height);
  EXPECT_TRUE(told.codes.empty());
  EXPECT_THAT(text(told), HasSubstr("letters    capitals from"));
}

TEST(Looks, OfAMarkThatIsNotSeenSayNothingMore) {
  mark::SmallJob small;
  const Look told = look(small.with("scan.power", "0.1 %").job, {.threads = 1});
  EXPECT_LT(told.contrast.diffuse, 1);
  EXPECT_THAT(text(told), HasSubstr("does not stand out"));
  EXPECT_THAT(text(told), Not(HasSubstr("letters    ")));
}

TEST(Looks, AtTooManyCellsAreRefused) {
  mark::SmallJob small;
  small.with("artwork.size_axial", "36 mm").with("grid.cell", "2 um");
  EXPECT_THROW(look(small.job), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::look
