// Truth: the grammar of messages, "place: problem" with what is not known left out.
#include "quantity/error.h"

#include <gtest/gtest.h>

namespace circumfluence::quantity {
namespace {

TEST(Place, SaysWhatIsKnown) {
  EXPECT_EQ(text(Place{"job.toml", 14, 9}), "job.toml:14:9");
  EXPECT_EQ(text(Place{"job.toml", 14, 0}), "job.toml:14");
  EXPECT_EQ(text(Place{"job.toml", 0, 9}), "job.toml");
  EXPECT_EQ(text(Place{"", 14, 9}), "line 14:9");
  EXPECT_EQ(text(Place{}), "");
}

TEST(JobError, PutsThePlaceFirstAndKeepsTheProblem) {
  const JobError error("scan.power = \"20 m\" (a length)", {"job.toml", 14, 9});
  EXPECT_STREQ(error.what(), "job.toml:14:9: scan.power = \"20 m\" (a length)");
  EXPECT_EQ(error.problem(), "scan.power = \"20 m\" (a length)");
  EXPECT_EQ(error.place().line, 14);
  EXPECT_STREQ(JobError("nothing").what(), "nothing");
}

TEST(FileError, StartsWithThePath) {
  EXPECT_STREQ(FileError("art.png", "is empty").what(), "art.png: is empty");
}

TEST(Interrupted, IsAnErrorOfItsOwn) {
  EXPECT_THROW(throw Interrupted(), std::runtime_error);
  EXPECT_STREQ(Interrupted().what(), "interrupted");
}

}  // namespace
}  // namespace circumfluence::quantity
