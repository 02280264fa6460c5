// Truth: distances counted by hand.
#include "job/nearest.h"

#include <gtest/gtest.h>

namespace circumfluence::job {
namespace {

TEST(Nearest, CountsEdits) {
  EXPECT_EQ(edit_distance("power", "power"), 0);
  EXPECT_EQ(edit_distance("power", "POWER"), 0);
  EXPECT_EQ(edit_distance("powr", "power"), 1);
  EXPECT_EQ(edit_distance("pwoer", "power"), 1);  // neighbours swapped
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3);
  EXPECT_EQ(edit_distance("", "abc"), 3);
  EXPECT_EQ(edit_distance("abc", ""), 3);
}

TEST(Nearest, IsSymmetric) {
  for (const char* a : {"spacing", "speed", "", "s", "two_way"})
    for (const char* b : {"spacign", "sped", "two way", "x"})
      EXPECT_EQ(edit_distance(a, b), edit_distance(b, a)) << a << " " << b;
}

TEST(Nearest, SuggestsOnlyWhatIsClose) {
  const std::vector<std::string> known = {"power", "speed", "spacing", "direction"};
  EXPECT_EQ(nearest("powr", known), "power");
  EXPECT_EQ(nearest("Speed", known), "speed");
  EXPECT_EQ(nearest("dir", known), "direction");  // its beginning
  EXPECT_EQ(nearest("colour", known), "");
  EXPECT_EQ(nearest("x", known), "");
  EXPECT_EQ(nearest("", known), "");
  EXPECT_EQ(nearest(std::string(100000, 'p'), known), "");
}

TEST(Nearest, TakesTheFirstOfEquals) {
  EXPECT_EQ(nearest("bat", {"cat", "hat"}), "cat");
}

TEST(Nearest, WritesTheQuestion) {
  EXPECT_EQ(suggestion("axail", {"axial"}, "\"", "\""), ". Did you mean \"axial\"?");
  EXPECT_EQ(suggestion("sideways", {"axial"}), "");
}

}  // namespace
}  // namespace circumfluence::job
