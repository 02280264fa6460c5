// Truth: arcs and heights worked out by hand; on a cone, lengths measured over the surface in small steps.
#include "motion/feed.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using quantity::JobError;
using testing::AllOf;
using testing::HasSubstr;
using testing::ThrowsMessage;
using workpiece::Part;
using workpiece::Shape;

Part part(Shape shape) {
  Part p;
  p.shape = shape;
  p.length = 100e-3;
  p.diameter = 80e-3;
  p.end_diameter = 50e-3;
  p.profile = {{0, 60e-3}, {60e-3, 40e-3}};
  if (shape == Shape::table) p.profile.push_back({100e-3, 40e-3});
  p.wall = 1e-3;
  return p;
}

const Mount kTurning{.hold = Hold::turning};
const Mount kStanding{.hold = Hold::standing};

TEST(Feed, OnACylinderArtIsFedAsItIs) {
  for (const Truth truth : {Truth::level, Truth::developed}) {
    const Feed feed(part(Shape::straight), kTurning, 40e-3, {truth, 50e-3, 7e-3, 30e-3, 20e-3});
    const FedPoint p = feed.fed({-4e-3, 3e-3});
    EXPECT_NEAR(p.axial, 46e-3, 1e-16);
    EXPECT_NEAR(p.around, 10e-3, 1e-16);
    EXPECT_NEAR(feed.extent().axial_from, 35e-3, 1e-15);
    EXPECT_NEAR(feed.extent().around_to, 17e-3, 1e-15);
  }
}

TEST(Feed, ADiameterOtherThanTheDrivenOneScales) {
  const Feed feed(part(Shape::straight), kTurning, 50e-3, {Truth::level, 50e-3, 0, 30e-3, 20e-3});
  EXPECT_NEAR(feed.fed({0, 8e-3}).around, 10e-3, 1e-16);
}

TEST(Feed, AStepIsFedBandByBand) {
  const Feed feed(part(Shape::stepped), kTurning, 30e-3, {Truth::level, 60e-3, 0, 30e-3, 24e-3});
  EXPECT_NEAR(feed.fed({-1e-3, 12e-3}).around, 12e-3, 1e-16);  // 60 mm, as driven
  EXPECT_NEAR(feed.fed({1e-3, 12e-3}).around, 18e-3, 1e-16);   // 40 mm: turned half as far again
  EXPECT_NEAR(feed.fed({1e-3, 12e-3}).axial, 61e-3, 1e-16);
  EXPECT_NEAR(feed.extent().around_to, 18e-3, 1e-15);
}

TEST(Feed, TheHeadSeesAStandingPartFromAbove) {
  const Feed feed(part(Shape::straight), kStanding, 40e-3, {Truth::level, 50e-3, 0, 30e-3, 60e-3});
  EXPECT_NEAR(feed.fed({0, 40e-3 * std::numbers::pi / 6}).around, 20e-3, 1e-16);
  EXPECT_NEAR(feed.farthest(), 0.75, 1e-15);
  EXPECT_FALSE(feed.meant({50e-3, 40.1e-3}));
  EXPECT_FALSE(feed.meant({100.1e-3, 0}));
}

TEST(Feed, ThereAndBack) {
  for (const Shape shape : {Shape::straight, Shape::tapered, Shape::stepped, Shape::table})
    for (const Truth truth : {Truth::level, Truth::developed})
      for (const Mount& mount : {kTurning, kStanding}) {
        const double middle = truth == Truth::developed && shape != Shape::tapered ? 30e-3 : 55e-3;
        const Feed feed(part(shape), mount, 35e-3, {truth, middle, 2e-3, 30e-3, 26e-3});
        for (double x = -15e-3; x < 15e-3; x += 0.71e-3)
          for (double y = -13e-3; y < 13e-3; y += 0.93e-3) {
            const auto back = feed.meant(feed.fed({x, y}));
            ASSERT_TRUE(back);
            EXPECT_NEAR(back->along, x, 1e-15);
            EXPECT_NEAR(back->around, y, 1e-15);
          }
      }
}

// Two places of the fed plane a little apart, in space.
double in_space(const Part& p, double driven, FedPoint a, FedPoint b) {
  const workpiece::Profile profile(p);
  const auto at = [&](FedPoint f) {
    const double r = profile.radius(f.axial), azimuth = f.around / driven;
    return std::array{f.axial, r * std::cos(azimuth), r * std::sin(azimuth)};
  };
  const auto p0 = at(a), p1 = at(b);
  return std::hypot(p0[0] - p1[0], p0[1] - p1[1], p0[2] - p1[2]);
}

TEST(Feed, DevelopedArtKeepsEveryLength) {
  const Part cup = part(Shape::tapered);
  const Feed feed(cup, kTurning, 31e-3, {Truth::developed, 45e-3, 0, 50e-3, 60e-3});
  const double step = 1e-7;
  for (const double x : {-20e-3, 0.0, 20e-3})
    for (const double y : {-25e-3, 0.0, 28e-3})
      for (const double way : {0.0, 0.8, 1.6, 2.4}) {
        const ArtPoint on{x + step * std::cos(way), y + step * std::sin(way)};
        EXPECT_NEAR(in_space(cup, 31e-3, feed.fed({x, y}), feed.fed(on)) / step, 1, 1e-5);
      }
}

TEST(Feed, LevelArtKeepsLengthsUpAndAround) {
  const Part cup = part(Shape::tapered);
  const Feed feed(cup, kTurning, 31e-3, {Truth::level, 45e-3, 0, 50e-3, 60e-3});
  const double step = 1e-7;
  for (const double x : {-20e-3, 0.0, 20e-3}) {
    EXPECT_NEAR(in_space(cup, 31e-3, feed.fed({x, 0}), feed.fed({x + step, 0})) / step, 1, 1e-5);
    for (const double y : {-25e-3, 0.0, 28e-3}) {
      EXPECT_NEAR(in_space(cup, 31e-3, feed.fed({x, y}), feed.fed({x, y + step})) / step, 1, 1e-5);
      EXPECT_EQ(feed.fed({x, y}).axial, feed.fed({x, 0}).axial);  // lines of text stay level
    }
  }
}

TEST(Feed, TheExtentHoldsTheRimAndNoMore) {
  const Feed feed(part(Shape::tapered), kTurning, 31e-3, {Truth::developed, 45e-3, 0, 50e-3, 60e-3});
  const artwork::Extent e = feed.extent();
  // The radius falls along the axis: the fan opens toward small u, and its far corners lie lowest.
  EXPECT_NEAR(e.axial_to, feed.fed({25e-3, 0}).axial, 1e-12);
  EXPECT_NEAR(e.axial_from, feed.fed({-25e-3, 30e-3}).axial, 1e-12);
  EXPECT_NEAR(e.around_to, feed.fed({25e-3, 30e-3}).around, 1e-12);
  EXPECT_NEAR(e.around_from, -e.around_to, 1e-15);
}

TEST(Feed, RefusesArtThatCannotLieSo) {
  const auto lay = [](Shape shape, const Mount& mount, const Lie& lie) {
    return [=] { Feed(part(shape), mount, 40e-3, lie); };
  };
  EXPECT_THAT(
      lay(Shape::straight, kTurning, {Truth::level, 90e-3, 0, 30e-3, 20e-3}),
      ThrowsMessage<JobError>(AllOf(HasSubstr("artwork.axial = 90 mm"), HasSubstr("75 mm to 105 mm"))));
  EXPECT_THAT(
      lay(Shape::stepped, kTurning, {Truth::level, 60e-3, 0, 30e-3, 130e-3}),
      ThrowsMessage<JobError>(AllOf(HasSubstr("more than one turn"), HasSubstr("diameter is 40 mm"))));
  EXPECT_THAT(lay(Shape::straight, kStanding, {Truth::level, 60e-3, 0, 30e-3, 130e-3}),
              ThrowsMessage<JobError>(AllOf(HasSubstr("past the flank"), HasSubstr("62.832 mm of arc"))));
  EXPECT_THAT(
      lay(Shape::tapered, kTurning, {Truth::developed, 16e-3, 0, 30e-3, 100e-3}),
      ThrowsMessage<JobError>(AllOf(HasSubstr("artwork.axial = 16 mm"), HasSubstr("beyond the part"))));
  EXPECT_THAT(lay(Shape::stepped, kTurning, {Truth::developed, 60e-3, 0, 30e-3, 20e-3}),
              ThrowsMessage<JobError>(AllOf(HasSubstr("profile row at 60 mm"), HasSubstr("Lay it level"))));
  EXPECT_THAT(lay(Shape::table, kTurning, {Truth::developed, 55e-3, 0, 30e-3, 20e-3}),
              ThrowsMessage<JobError>(HasSubstr("profile row at 60 mm")));
}

TEST(Feed, ATaperToAPointWithinTheArt) {
  Part cone = part(Shape::tapered);
  cone.length = 80e-3;
  cone.end_diameter = 2e-3;
  const Lie lie{Truth::developed, 70e-3, 0, 30e-3, 4e-3};
  EXPECT_THAT([&] { Feed(cone, kTurning, 40e-3, lie); },
              ThrowsMessage<JobError>(HasSubstr("tapers to a point within the art")));
}

}  // namespace
}  // namespace circumfluence::motion
