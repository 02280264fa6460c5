// Truth: geometry in plan, worked out with vectors from above: the beam draws the picture over a part that it sees.
#include "motion/mount.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>
#include <set>

#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

struct Plan {
  int right, back;
};
Plan plan(Toward toward) {
  constexpr Plan kPlan[] = {{0, 0}, {-1, 0}, {1, 0}, {0, -1}, {0, 1}};
  return kPlan[int(toward)];
}
int cross(Plan a, Plan b) {
  return a.right * b.back - a.back * b.right;
}
int dot(Plan a, Plan b) {
  return a.right * b.right + a.back * b.back;
}

constexpr Toward kAll[] = {Toward::left, Toward::right, Toward::front, Toward::back};

struct Case {
  Mount mount;
  artwork::Placement placement;
  Plan right, top, mouth;  // of the picture and the part, seen from above
};

// The picture's right and top in the feed's own frame, without the library's rule for turns and mirrors.
Case make(const Mount& mount, int turns, artwork::Mirror mirror) {
  Case out{mount, {.turn = turns * std::numbers::pi / 2, .mirror = mirror}, {}, {}, plan(mount.mouth_faces)};
  int x = 1, y = 0, tx = 0, ty = 1;
  for (int i = 0; i < turns; ++i) {
    std::swap(x, y), x = -x;
    std::swap(tx, ty), tx = -tx;
  }
  const bool axial = mirror == artwork::Mirror::axial || mirror == artwork::Mirror::both;
  const bool around = mirror == artwork::Mirror::around || mirror == artwork::Mirror::both;
  if (axial) x = -x, tx = -tx;
  if (around) y = -y, ty = -ty;
  const Plan a = plan(mount.axial_feed), b = plan(mount.around_feed);
  out.right = {x * a.right + y * b.right, x * a.back + y * b.back};
  out.top = {tx * a.right + ty * b.right, tx * a.back + ty * b.back};
  return out;
}

std::vector<Case> all_cases() {
  std::vector<Case> cases;
  for (const Toward faces : kAll)
    for (const Toward axial : kAll)
      for (const Toward around : kAll)
        for (const End mouth : {End::start, End::end})
          for (int turns = 0; turns < 4; ++turns)
            for (int mirror = 0; mirror < 4; ++mirror) {
              Mount mount;
              mount.mouth = mouth;
              mount.mouth_faces = faces;
              mount.axial_feed = axial;
              mount.around_feed = around;
              if (dot(plan(faces), plan(axial)) == 0 || dot(plan(faces), plan(around)) != 0) continue;
              cases.push_back(make(mount, turns, artwork::Mirror(mirror)));
            }
  return cases;
}

TEST(WayRound, MirrorsWhereThePictureIsMirroredFromAbove) {
  ASSERT_EQ(all_cases().size(), 4 * 2 * 2 * 2 * 4 * 4);
  for (const Case& c : all_cases()) {
    const Landing found = landing(c.placement, c.mount);
    EXPECT_EQ(found.mirrored, cross(c.right, c.top) < 0);
    EXPECT_EQ(found.along(), dot(c.right, c.mouth) != 0);
  }
}

TEST(WayRound, ReadsUpwardWhereThePicturesRightPointsToTheMouth) {
  for (const Case& c : all_cases()) {
    const std::string text = words(landing(c.placement, c.mount));
    EXPECT_EQ(text.find("upwards") != std::string::npos, dot(c.right, c.mouth) > 0) << text;
    EXPECT_EQ(text.find("downwards") != std::string::npos, dot(c.right, c.mouth) < 0) << text;
    EXPECT_EQ(text.find("upright") != std::string::npos, dot(c.top, c.mouth) > 0) << text;
    EXPECT_EQ(text.find("upside down") != std::string::npos, dot(c.top, c.mouth) < 0) << text;
  }
}

TEST(WayRound, DrawsTheLetterAsItIsSeenWithTheMouthUp) {
  std::set<std::string> shapes;
  for (const Case& c : all_cases()) {
    const auto drawn = letter(landing(c.placement, c.mount));
    std::string whole;
    for (const std::string& row : drawn) whole += row;
    shapes.insert(whole);
    // The stem's foot, three below the letter's middle and two to its left; turned so that the mouth is up.
    const Plan foot{-2 * c.right.right - 3 * c.top.right, -2 * c.right.back - 3 * c.top.back};
    const int up = dot(foot, c.mouth), to_the_right = -cross(c.mouth, foot);
    EXPECT_EQ(drawn[size_t(3 - up)][size_t(3 + to_the_right)], '#');
    EXPECT_EQ(std::count(whole.begin(), whole.end(), '#'), 14);
  }
  EXPECT_EQ(shapes.size(), 8u);  // unlike all its images
}

TEST(WayRound, RefusesHalfAStatementAndWhatCannotBe) {
  Mount mount;
  EXPECT_EQ(against(mount), artwork::Mirror::none);
  mount.mouth_faces = Toward::left;
  EXPECT_THROW(against(mount), quantity::JobError);
  mount.mouth = End::end;
  mount.axial_feed = Toward::front;
  mount.around_feed = Toward::back;
  try {
    against(mount);
    FAIL();
  } catch (const quantity::JobError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("mount.axial_feed = \"front\""));
    EXPECT_THAT(error.what(), testing::HasSubstr("expected \"left\" or \"right\""));
  }
  mount.axial_feed = Toward::right;
  mount.around_feed = Toward::right;
  EXPECT_THROW(against(mount), quantity::JobError);
}

}  // namespace
}  // namespace circumfluence::motion
