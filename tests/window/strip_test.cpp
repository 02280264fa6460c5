// Truth: tabled sagittas, arcs, stretches and half-widths of circles; the height at which a caustic has grown
// by g, zR sqrt(g^2 - 1); chances made of plain functions whose first failure is known.
#include "window/strip.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "mark/small_job.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;
using testing::HasSubstr;

constexpr double kLoose = 1e3;  // a growth or 100 times a stretch that does not end a strip soon

struct Limits {
  double growth = 1.1, stretch = 1.05, chance = 0.95;
};

Strip strip(const SmallJob& small, const Limits& l, double offset = 0, const Chance& chance = {}) {
  return strips(standing(mark::prepare(small.job), l.growth, l.stretch, l.chance), {offset}, chance, 1)
      .front();
}

// A cylinder under a beam given by waist and M2; art 4 mm long at 20 mm along.
SmallJob cylinder(const char* diameter) {
  SmallJob small;
  small.job.laser.focus_depth = quantity::kUnset;
  small.job.laser.m2_axial = small.job.laser.m2_around = 4;
  small.job.laser.spot_axial = small.job.laser.spot_around = 40e-6;
  small.job.workpiece.diameter = quantity::parse_quantity(diameter, "mm");
  return small;
}

TEST(Strip, GeometryOfACircle) {
  const double r = 20e-3, y = 10e-3;
  EXPECT_NEAR(workpiece::sagitta(r, y), 2.679492e-3, 1e-9);
  EXPECT_NEAR(arc(r, y), 10.47198e-3, 1e-8);
  EXPECT_NEAR(stretch(r, y), 1.15470, 1e-5);
  EXPECT_NEAR(arc(36.5e-3, 5e-3) / 36.5e-3 * 180 / M_PI, 7.8735, 1e-4);
  for (double s = -30e-3; s <= 30e-3; s += 1e-3) {
    EXPECT_NEAR(arc(r, lateral(r, s)), s, 1e-15);
    const double h = 1e-7;  // [m] the stretch is the slope of arc over lateral position
    EXPECT_NEAR(2 * h / (lateral(r, s + h) - lateral(r, s - h)), stretch(r, lateral(r, s)),
                1e-6 * stretch(r, lateral(r, s)));
  }
}

TEST(Strip, TabledHalfWidths) {
  for (const auto& [diameter, half] :
       {std::pair{"25 mm", 2.8099e-3}, {"40 mm", 3.5630e-3}, {"73 mm", 4.8220e-3}}) {
    const Strip found = strip(cylinder(diameter), {.growth = 1.1, .stretch = 100});
    EXPECT_NEAR(found.half_width(), half, 5.1e-8) << diameter;
    EXPECT_EQ(found.limiting().bound(), Bound::growth);
    EXPECT_NEAR(found.growth, 1.1, 1e-9);
  }
}

TEST(Strip, TheFallAtItsEdgeIsThatOfTheCaustic) {
  const SmallJob small = cylinder("60 mm");
  const double rayleigh = M_PI * 20e-6 * 20e-6 / (4 * 450e-9);
  for (const double growth : {1.001, 1.05, 1.1, 1.5, 3.0}) {
    const double half = strip(small, {.growth = growth, .stretch = 100}).half_width();
    EXPECT_NEAR(workpiece::sagitta(30e-3, half), rayleigh * std::sqrt(growth * growth - 1), 1e-12) << growth;
  }
}

TEST(Strip, StretchEndsItWhereTheCosineSays) {
  for (const double limit : {1.0001, 1.05, 1.1547005, 2.0, 99.0}) {
    const Strip found = strip(cylinder("40 mm"), {.growth = kLoose, .stretch = limit});
    EXPECT_EQ(found.limiting().bound(), Bound::stretch);
    EXPECT_NEAR(stretch(20e-3, found.half_width()), limit, 1e-9 * limit * limit * limit);
  }
  EXPECT_NEAR(strip(cylinder("40 mm"), {.growth = kLoose, .stretch = 1.1547005}).half_width(), 10e-3, 1e-9);
}

TEST(Strip, EachAxisAgainstItsOwnWaist) {
  SmallJob small = cylinder("40 mm");
  small.job.laser.spot_axial = 120e-6;
  small.job.laser.m2_axial = 12;                 // zR 2.09440 mm along the axis, 0.69813 mm around
  small.job.laser.waist_offset_axial = -0.8e-3;  // the slow axis is in focus 0.8 mm lower
  const double share = std::sqrt(1.1 * 1.1 - 1), around = 0.69813170e-3 * share, axial = 2.0943951e-3 * share;
  const Heights allowed = heights(beam::caustic(small.job.laser), 1.1);
  EXPECT_NEAR(allowed.lowest, -around, 1e-9);          // the fast axis ends below
  EXPECT_NEAR(allowed.highest, axial - 0.8e-3, 1e-9);  // the slow one above
  // With the focus 0.1 mm above the top, that much of the fall is used up.
  EXPECT_NEAR(workpiece::sagitta(20e-3, strip(small, {.stretch = 100}, 0.1e-3).half_width()), around - 0.1e-3,
              1e-9);
  // 0.2 mm below: the slow axis has grown too far on the top.
  const Strip low = strip(small, {.stretch = 100}, -0.2e-3);
  EXPECT_EQ(low.half_width(), 0);
  EXPECT_THAT(low.why, HasSubstr("above the nominal focus"));
  small.job.laser.waist_offset_axial = -3e-3;  // too far apart for any height
  const Heights none = heights(beam::caustic(small.job.laser), 1.1);
  EXPECT_GT(none.lowest, none.highest);
}

TEST(Strip, ImpossibleLimitsGiveNothingAndSayWhy) {
  const SmallJob small = cylinder("40 mm");
  const Strip far = strip(small, {}, 0.5e-3);
  EXPECT_EQ(far.half_width(), 0);
  EXPECT_THAT(far.why,
              testing::AllOf(HasSubstr("0.5 mm below the nominal focus"), HasSubstr("1.1 is allowed")));
  EXPECT_NEAR(far.growth, std::hypot(1, 0.5 / 0.69813170), 1e-6);
  EXPECT_THAT(strip(small, {.growth = 1}).why, HasSubstr("right beside the top"));
  EXPECT_THAT(strip(small, {.stretch = 1}).why, HasSubstr("a stretch of 1"));
  const Strip unlikely = strip(small, {}, 0, [](double, double, double) { return 0.25; });
  EXPECT_EQ(unlikely.half_width(), 0);
  EXPECT_EQ(unlikely.limiting().bound(), Bound::chance);
  EXPECT_THAT(unlikely.why, HasSubstr("a chance of 0.25, 0.95 is asked"));
}

TEST(Strip, ChanceEndsItWhereItFirstFails) {
  const SmallJob small = cylinder("40 mm");
  const double most = strip(small, {}).half_width();
  for (const double edge : {0.01, 0.3, 0.5001, 0.99}) {
    int calls = 0;
    const Strip found = strip(small, {}, 0, [&](double axial, double y, double) {
      ++calls;
      EXPECT_NEAR(axial, 20e-3, 1e-12);
      return y <= edge * most ? 0.97 : 0.5;
    });
    EXPECT_EQ(found.limiting().bound(), Bound::chance);
    EXPECT_LE(found.half_width(), edge * most);
    EXPECT_GT(found.half_width(), edge * most - most / 1500);
    EXPECT_LE(calls, 21);
  }
  const Strip all = strip(small, {}, 0, [](double, double, double) { return 0.95; });
  EXPECT_EQ(all.half_width(), most);
  EXPECT_EQ(all.limiting().bound(), Bound::growth);
  EXPECT_TRUE(std::isinf(all.limiting().by[0]));
}

TEST(Strip, ADipBetweenTwoStepsIsSeen) {
  const SmallJob small = cylinder("40 mm");
  const double most = strip(small, {}).half_width();
  for (double middle = 2.0 / 12; middle < 10.0 / 12;
       middle += 0.013) {  // a valley that fails for 0.7 of a step
    const double edge = middle - 0.06 * 0.5;
    const auto valley = [&](double, double y, double) {
      const double t = (y / most - middle) / 0.06;
      return std::min(1.0, 0.95 + 0.002 * (4 * t * t - 1));
    };
    const double found = strip(small, {}, 0, valley).half_width() / most;
    EXPECT_LE(found, edge + 1e-12) << middle;
    EXPECT_GT(found, edge - 1.0 / 1500) << middle;
  }
}

TEST(Strip, AnswersOutsideZeroToOneAreRefused) {
  const SmallJob small = cylinder("40 mm");
  for (const double wrong : {-0.1, 1.1, std::nan("")})
    EXPECT_THROW(strip(small, {}, 0, [=](double, double, double) { return wrong; }), quantity::ValidityError);
}

TEST(Strip, StationsOfATaper) {
  SmallJob small = cylinder("60 mm");
  small.job.workpiece.length = 40e-3;
  small.tapered(50e-3);  // the art spans 18 mm to 22 mm: radius 27.75 to 27.25 mm
  const Strip found = strip(small, {.growth = 2, .stretch = 100});
  ASSERT_EQ(found.stations.size(), 9u);
  const Station &wide = found.stations.front(), &slim = found.stations.back();
  EXPECT_NEAR(wide.radius, 27.75e-3, 1e-12);
  EXPECT_NEAR(slim.radius, 27.25e-3, 1e-9);
  EXPECT_NEAR(wide.slope, -0.125, 1e-12);
  // The focus is on the top at 20 mm, 27.5 mm above the axis; the surface may fall to zR sqrt(3) below it.
  const double lowest = 27.5e-3 - 0.69813170e-3 * std::sqrt(3.0);
  for (const Station& s : found.stations)
    EXPECT_NEAR(s.half_width(), std::sqrt(s.radius * s.radius - lowest * lowest), 1e-9);
  EXPECT_EQ(found.narrowest, 8);
  EXPECT_EQ(found.half_width(), slim.half_width());
  // By stretch alone the azimuth is the same everywhere, and the slim end is the narrowest in y.
  const Strip stretched = strip(small, {.growth = kLoose, .stretch = 1.01});
  for (const Station& s : stretched.stations) EXPECT_NEAR(s.half_angle(), std::acos(1 / 1.01), 1e-9);
  EXPECT_EQ(stretched.narrowest, 8);
}

TEST(Strip, StationsOfStepsAndTables) {
  SmallJob small = cylinder("60 mm");
  small.job.workpiece.shape = workpiece::Shape::stepped;
  small.job.workpiece.diameter = quantity::kUnset;
  small.job.workpiece.profile = {{0, 60e-3}, {19e-3, 59.8e-3}, {21e-3, 60e-3}};
  const Strip steps = strip(small, {.growth = 2, .stretch = 100});
  ASSERT_EQ(steps.stations.size(), 3u);  // one each
  EXPECT_NEAR(steps.stations[0].axial, 18.5e-3, 1e-12);
  EXPECT_NEAR(steps.stations[2].radius, 30e-3, 1e-12);
  EXPECT_EQ(steps.narrowest, 1);  // the focus was set on it; the higher ones fall through the waist
  small.job.workpiece.shape = workpiece::Shape::table;
  small.job.workpiece.profile = {{0, 60e-3}, {19e-3, 60e-3}, {20.5e-3, 57e-3}, {40e-3, 57e-3}};
  const Strip table = strip(small, {.growth = 5, .stretch = 100});
  EXPECT_NEAR(table.stations.front().axial, 18.5e-3, 1e-12);  // a piece of one radius
  EXPECT_EQ(table.stations.front().slope, 0);
  EXPECT_NEAR(table.stations[1].slope, -1, 1e-9);
  EXPECT_NEAR(table.stations.back().radius, 28.5e-3, 1e-9);
  EXPECT_TRUE(std::ranges::is_sorted(table.stations, {}, &Station::axial));
}

TEST(Strip, RunOutLiftsTheStandingPart) {
  SmallJob small = cylinder("40 mm");
  small.job.mount.runout = 0.1e-3;  // at phase 0 the part stands 0.1 mm higher
  const double share = std::sqrt(1.1 * 1.1 - 1) * 0.69813170e-3;
  EXPECT_NEAR(workpiece::sagitta(20e-3, strip(small, {.stretch = 100}).half_width()), share + 0.1e-3, 1e-9);
}

TEST(Strip, TheSameOnAnyNumberOfThreads) {
  SmallJob small = cylinder("60 mm");
  small.tapered(50e-3);
  const Standing part = standing(mark::prepare(small.job), 2, 1.05, 0.9);
  const Chance chance = [](double u, double y, double o) {
    return std::exp(-30 * y - 3 * u + 0.05 - 50 * std::abs(o));
  };
  std::vector<double> offsets;
  for (int i = -5; i < 5; ++i) offsets.push_back(i * 1e-5);
  const std::vector<Strip> one = strips(part, offsets, chance, 1), four = strips(part, offsets, chance, 4);
  ASSERT_EQ(one.size(), 10u);
  for (size_t i = 0; i < one.size(); ++i) {
    EXPECT_EQ(one[i].half_width(), four[i].half_width());
    EXPECT_EQ(one[i].narrowest, four[i].narrowest);
  }
  EXPECT_TRUE(strips(part, {}, chance, 2).empty());
}

}  // namespace
}  // namespace circumfluence::window
