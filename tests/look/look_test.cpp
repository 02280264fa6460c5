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
  EXPECT_FALSE(told.fine.has_value());
  EXPECT_EQ(told.skin.diffuse, skin(told.map).diffuse);
  EXPECT_THAT(text(told), HasSubstr("letters    capitals from"));
}

TEST(Looks, OfAMarkThatIsNotSeenSayNothingMore) {
  mark::SmallJob small;
  const Look told = look(small.with("scan.power", "0.1 %").job, {.threads = 1});
  EXPECT_LT(told.contrast.diffuse, 1);
  EXPECT_THAT(text(told), HasSubstr("does not stand out"));
  EXPECT_THAT(text(told), Not(HasSubstr("letters    ")));
  for (const char* words : {"greys cannot be seen", "letters cannot be made", "letters are to be larger"})
    EXPECT_THAT(text(told), Not(HasSubstr(words)));
}

TEST(Looks, SayOfCodesWhatTheirGradesSay) {
  const mark::SmallJob small;
  Look told = look(small.job, {.tones = false, .letters = false, .codes = false, .threads = 1});
  CodeGrade grade{};
  grade.symbol = {.text = "AB", .columns = 21, .rows = 21};
  grade.spots = 2, grade.growth_axial = 0.03, grade.growth_around = -0.21, grade.flipped = 2;
  told.codes = {grade};
  EXPECT_THAT(text(told), HasSubstr("; burnt modules 21 % of one narrower than nominal; 2 misread\n"));
  told.codes[0].growth_axial = 0.3, told.codes[0].flipped = 0;
  EXPECT_THAT(text(told), HasSubstr("; burnt modules 30 % of one wider than nominal\n"));
  told.codes[0].spots = 0;  // the beam misses the part there, or its modules lie on no even grid
  EXPECT_THAT(text(told), HasSubstr("code       QR code: not graded\n"));
  told.codes[0].symbol.text.clear();
  EXPECT_THAT(text(told), HasSubstr("one was meant that does not read as drawn"));
  told.room = CodeRoom{0.2e-3, 0, 0, false};
  EXPECT_THAT(text(told), HasSubstr("modules of 0.2 mm on, laid flat; none around this part\n"));
  told.room = CodeRoom{0.2e-3, 25, 5e-3, true}, told.contrast.diffuse = 13;
  EXPECT_THAT(text(told), HasSubstr("25 a side, 5 mm wide; so pale a mark is not read by every camera\n"));
}

TEST(Looks, SayWhereTheWholePartDiffers) {
  const auto told = [](mark::SmallJob& small) {
    return text(look(small.job, {.tones = false, .letters = false, .codes = false, .threads = 1}));
  };
  mark::SmallJob cold, empty(mark::Picture{2, 2, {255, 255, 255, 255}}), steel;
  EXPECT_THAT(told(cold), testing::AllOf(testing::StartsWith("verdict    "), Not(HasSubstr("cold wall")), Not(HasSubstr("asks for no"))));
  EXPECT_THAT(told(empty), testing::AllOf(HasSubstr("verdict    leaves no mark\n"), HasSubstr("asks for no mark anywhere")));
  steel.bare("aisi_304", "0.5 mm").with("scan.speed", "300 mm/min");
  EXPECT_THAT(told(steel), HasSubstr("are told of a cold wall"));
}

TEST(Looks, AtTooManyCellsAreRefused) {
  mark::SmallJob small;
  small.with("artwork.size_axial", "36 mm").with("grid.cell", "2 um");
  EXPECT_THROW(look(small.job), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::look
