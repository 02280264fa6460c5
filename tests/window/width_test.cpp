// Truth: closed forms (the doubled sagitta at the best focus), joints followed as vertical lines cut with a
// turned circle, strips laid out one by one, and what must hold whatever the figures.
#include "window/width.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <atomic>
#include <cmath>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::window {
namespace {

using mark::SmallJob;
using testing::Contains;
using testing::HasSubstr;

constexpr double kRayleigh = M_PI * 20e-6 * 20e-6 / (4 * 450e-9);

// A cylinder under a beam with waists of 20 um and M2 4 at 450 nm.
SmallJob cylinder(double diameter) {
  SmallJob small;
  small.job.laser.focus_depth = quantity::kUnset;
  small.job.laser.m2_axial = small.job.laser.m2_around = 4;
  small.job.laser.spot_axial = small.job.laser.spot_around = 40e-6;
  small.job.workpiece.diameter = diameter;
  return small;
}

Width width(const SmallJob& small, const WidthLimits& limits = {}, const Chance& chance = {}) {
  return usable_width(mark::prepare(small.job), limits, chance);
}

double share(double growth) {
  return kRayleigh * std::sqrt(growth * growth - 1);
}

TEST(Width, BestFocusDoublesTheSagitta) {
  for (const double diameter : {25e-3, 40e-3, 73e-3}) {
    const Width found = width(cylinder(diameter), {.stretch = 100});
    EXPECT_NEAR(workpiece::sagitta(diameter / 2, found.set.half_width()), share(1.1), 1e-12);
    // Rounded up to the micrometre: lower, and the top itself would be out.
    EXPECT_EQ(found.best.focus_offset, std::ceil(-share(1.1) * 1e6) * 1e-6);
    EXPECT_NEAR(workpiece::sagitta(diameter / 2, found.best.half_width()),
                share(1.1) - found.best.focus_offset, 1e-12);
    const double flat = share(1.1) / diameter;  // what keeps a circle from being a parabola
    EXPECT_NEAR(found.best.half_width() / found.set.half_width(), std::sqrt(2 * (1 - 2 * flat) / (1 - flat)),
                1.2e-3);  // the micrometre
    EXPECT_LE(found.best.growth, 1.1 + 1e-9);
  }
}

TEST(Width, AFocusSetFinerThanAMicrometreIsNotMadeWorse) {
  SmallJob small = cylinder(40e-3);
  small.job.scan.focus_offset = 0.05e-6 - share(1.1);
  const Width found = width(small, {.stretch = 100});
  EXPECT_EQ(found.best.focus_offset, small.job.scan.focus_offset);
  EXPECT_EQ(found.best.half_width(), found.set.half_width());
}

TEST(Width, StripLiesInTheMiddleOfTheFocusDepthWhereStretchEndsIt) {
  const double half = 10e-3 * std::sqrt(1 - 1 / (1.002 * 1.002)), fall = workpiece::sagitta(10e-3, half);
  ASSERT_LT(fall, share(1.1));  // stretch ends it at the set focus, too
  const Width found = width(cylinder(20e-3), {.stretch = 1.002});
  EXPECT_EQ(found.set.limiting().bound(), Bound::stretch);
  EXPECT_NEAR(found.best.half_width(), half, 1e-12);
  EXPECT_NEAR(found.best.focus_offset, -fall / 2, 1e-6);
  EXPECT_NEAR(found.best.growth, std::hypot(1, fall / 2 / kRayleigh), 1e-3);
  EXPECT_LT(found.best.growth, found.set.growth);
}

TEST(Width, BestFocusOfATaperServesBothEnds) {
  SmallJob small = cylinder(60e-3);
  small.job.workpiece.end_diameter = 58e-3, small.job.workpiece.shape = workpiece::Shape::tapered;
  const Width found = width(small, {.growth = 1.5, .stretch = 100});
  // Radii over the art are 29.55 to 29.45 mm: the wide end's top at the highest height allowed.
  EXPECT_NEAR(found.best.focus_offset, 0.05e-3 - share(1.5), 1.1e-6);
  EXPECT_EQ(found.best.narrowest, int(found.best.stations.size()) - 1);
  const double lowest = 29.5e-3 + found.best.focus_offset - share(1.5);
  EXPECT_NEAR(found.best.half_width(), std::sqrt(29.45e-3 * 29.45e-3 - lowest * lowest), 1e-9);
}

TEST(Width, NoFocusServesEverything) {
  SmallJob small = cylinder(60e-3);
  small.tapered(30e-3);
  const Width found = width(small);
  EXPECT_EQ(found.best.half_width(), 0);
  EXPECT_THAT(found.best.why, HasSubstr("nominal focus"));
  EXPECT_THAT(found.notes, Contains(HasSubstr("No focus keeps the top")));
  EXPECT_TRUE(found.table.empty());
  EXPECT_EQ(found.turns.count, 0);
}

// The focus is best where an even fill marks on both sides of it: a chance that falls with the distance from
// focus.
TEST(Width, BestFocusUnderAChance) {
  const double r = 20e-3, depth = 0.2e-3;  // [m] from focus, up to which it marks
  const SmallJob small = cylinder(2 * r);
  std::atomic<int> calls = 0;
  const Chance chance = [&](double, double y, double offset) {
    ++calls;
    const double height = -workpiece::sagitta(r, y) - offset;
    return 1 / (1 + std::pow(height / depth, 8) / 19);  // 0.95 at depth
  };
  const Width found = width(small, {}, chance);
  EXPECT_TRUE(found.asked_chance);
  EXPECT_NEAR(workpiece::sagitta(r, found.set.half_width()), depth, 2e-3 * depth);
  EXPECT_EQ(found.best.limiting().bound(), Bound::chance);
  EXPECT_NEAR(found.best.focus_offset, -depth, 10e-6);
  EXPECT_GE(found.best.focus_offset, -depth);
  EXPECT_NEAR(workpiece::sagitta(r, found.best.half_width()), 2 * depth, 0.03 * 2 * depth);
  EXPECT_LE(calls, 500);
}

TEST(Width, StripesAtTheWaistLeaveTwoPeaks) {
  // It marks 0.12 mm and more above focus, and 0.10 mm and more below; 0.32 mm either way the growth ends it.
  // From the end of the focus depth down it falls 0.20 mm, from 0.10 mm below on 0.22 mm; halfway offsets see
  // 0.20 and 0.16 mm.
  const SmallJob small = cylinder(40e-3);
  const Width found = width(small, {}, [](double, double y, double offset) {
    const double height = -workpiece::sagitta(20e-3, y) - offset;
    return height > 0.12e-3 || height < -0.1e-3 ? 1 : 0;
  });
  EXPECT_NEAR(found.best.focus_offset, 0.1e-3, 4e-6);
  EXPECT_NEAR(workpiece::sagitta(20e-3, found.best.half_width()), share(1.1) - 0.1e-3, 4e-6);
}

TEST(Width, AChanceThatOnlyOneFocusHas) {
  const SmallJob small = cylinder(40e-3);
  const Width found =
      width(small, {}, [](double, double, double o) { return std::abs(o + 0.1e-3) < 30e-6 ? 1 : 0; });
  EXPECT_EQ(found.set.half_width(), 0);
  EXPECT_THAT(found.set.why, HasSubstr("a chance of 0, 0.95 is asked"));
  EXPECT_NEAR(found.best.focus_offset, -0.1e-3, 31e-6);
  EXPECT_GT(found.best.half_width(), 3.5e-3);
}

TEST(Width, TableHoldsTheGeometry) {
  const Width found = width(cylinder(40e-3), {.rows = 11});
  ASSERT_EQ(found.table.size(), 11u);
  EXPECT_NEAR(found.table.back().lateral, found.best.half_width(), 1e-15);
  EXPECT_EQ(found.table[5].lateral, 0);
  for (size_t i = 0; i < 11; ++i) {
    const ArcRow &row = found.table[i], &other = found.table[10 - i];
    const double azimuth = row.arc / 20e-3;
    EXPECT_NEAR(row.lateral, -other.lateral, 1e-15);
    EXPECT_NEAR(row.lateral, 20e-3 * std::sin(azimuth), 1e-15);
    EXPECT_NEAR(row.stretch * std::cos(azimuth), 1, 1e-12);
    EXPECT_NEAR(row.incidence, std::cos(azimuth), 1e-12);
    EXPECT_NEAR(row.drop, 20e-3 * (1 - std::cos(azimuth)), 1e-15);
    EXPECT_NEAR(row.growth_axial, std::hypot(1, (row.drop + found.best.focus_offset) / kRayleigh), 1e-12);
    EXPECT_EQ(row.growth_axial, row.growth_around);
  }
  const std::string text = comma_separated(found.table);
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 12);
  EXPECT_THAT(text, testing::StartsWith("arc [mm],lateral [mm],stretch [1],drop [mm],"));
  SmallJob tapered = cylinder(60e-3);
  tapered.tapered(50e-3);
  const Width slope = width(tapered, {.growth = 2});
  EXPECT_NEAR(slope.table[20].incidence, 1 / std::hypot(1, 0.125), 1e-12);
}

// Where a vertical line at x meets a circle about (aside, 0), as a vector from its middle, turned back by
// `turned`.
struct Landing {
  double x, z;
  Landing(double radius, double line, double aside, double turned) {
    const double across = line - aside, up = std::sqrt(radius * radius - across * across);
    x = across * std::cos(turned) + up * std::sin(turned);
    z = up * std::cos(turned) - across * std::sin(turned);
  }
};

// [m] along the surface from where the first strip ends to where the second one, `turned` later, begins.
double gap_between(double radius, double edge, double aside, double turned) {
  const Landing first(radius, edge, aside, 0), second(radius, -edge, aside, turned);
  return radius *
         std::atan2(second.x * first.z - second.z * first.x, second.x * first.x + second.z * first.z);
}

RC_GTEST_PROP(Joint, AsVerticalLinesLand, ()) {
  const auto draw = [](int low, int high) { return 1e-3 * *rc::gen::inRange(low * 1000, high * 1000); };
  const double r = 1e-3 * draw(10, 60), alpha = draw(0, 2) / 2 + 0.01;
  const SetupErrors wrong{1e-3 * draw(-2, 2), 1e-3 * draw(-2, 2), 0.01 * draw(-2, 2)};
  const Joint found = joint(r, alpha, wrong);
  const double edge = lateral(r, r * alpha / 2);
  RC_ASSERT(std::abs(gap_between(r, edge, 0, alpha)) < 1e-14);  // with everything right they meet
  RC_ASSERT(std::abs(found.plain - gap_between(r, r * alpha / 2, 0, alpha)) < 1e-14);
  const double entered = r + wrong.diameter / 2,
               arc_meant = alpha * entered;  // the machine turns arc/entered
  RC_ASSERT(std::abs(found.diameter -
                     gap_between(r, lateral(entered, arc_meant / 2), 0, arc_meant / entered)) < 1e-14);
  RC_ASSERT(std::abs(found.offset - gap_between(r, edge, wrong.offset, alpha)) < 1e-14);
  RC_ASSERT(std::abs(found.index - gap_between(r, edge, 0, alpha + wrong.index)) < 1e-14);
}

TEST(Joint, SmallErrorsByTheirSeries) {
  const double r = 20e-3, alpha = 0.4, t = std::tan(0.2), c = std::cos(0.2);
  const Joint found = joint(r, alpha, {.diameter = 2e-6, .offset = 20e-6, .index = 1e-3});
  EXPECT_NEAR(found.diameter, -2 * 1e-6 * t, 1e-10 * t);
  EXPECT_NEAR(found.offset, -20e-6 * 20e-6 / r * t / (c * c), 1e-12);
  EXPECT_NEAR(found.index, 20e-6, 1e-15);
  EXPECT_NEAR(found.plain, -r * std::pow(alpha / 2, 3) / 3, 0.03 * r * std::pow(alpha / 2, 3) / 3);
  EXPECT_TRUE(std::isinf(joint(r, 2.1, {}).plain));  // the art's edge passes beside the part
}

TEST(Turns, CoverTheMotifExactly) {
  // 8 mm strips, 1 mm overlap: 8, 15, 22 ... mm.
  const auto count = [](double motif) { return turns({motif, 1e-3, 8e-3 / 20e-3, 20e-3}).count; };
  EXPECT_EQ(count(8e-3), 1);
  EXPECT_EQ(count(8.001e-3), 2);
  EXPECT_EQ(count(15e-3), 2);
  EXPECT_EQ(count(15.001e-3), 3);
  const Turns three = turns({20e-3, 1e-3, 8e-3 / 20e-3, 20e-3});
  EXPECT_EQ(three.count, 3);
  EXPECT_EQ(three.joints(), 2);
  EXPECT_NEAR(three.strip, 22e-3 / 3, 1e-15);
  EXPECT_NEAR(2 * three.index * 20e-3 + three.strip, 20e-3, 1e-15);  // from the first edge to the last
  const Turns around = turns({2 * M_PI * 20e-3, 1e-3, 8e-3 / 20e-3, 20e-3});
  EXPECT_EQ(around.count, 18);  // 125.66 mm in 7 mm
  EXPECT_EQ(around.joints(), 18);
  EXPECT_NEAR(around.index * 18, 2 * M_PI, 1e-12);
  EXPECT_NEAR(around.strip, 2 * M_PI * 20e-3 / 18 + 1e-3, 1e-15);
  EXPECT_EQ(turns({20e-3, 0, 0, 20e-3}).count, 0);
  EXPECT_EQ(turns({20e-3, 0, 1e-9, 20e-3}).count, 0);
}

RC_GTEST_PROP(Turns, AreAsFewAsWillDo, ()) {
  const double radius = 20e-3, usable = *rc::gen::inRange(10, 2000) * 1e-3,
               overlap = *rc::gen::inRange(0, 90) * 1e-2 * usable * radius,
               motif = *rc::gen::inRange(1, 1000) * 1e-3 * 2 * M_PI * radius;
  const Turns found = turns({motif, overlap, usable, radius});
  RC_ASSERT(found.count >= 1);
  RC_ASSERT(found.strip <= usable * radius * (1 + 1e-6));
  RC_ASSERT(std::abs((found.count - 1) * found.index * radius + found.strip - motif) < 1e-12);
  if (found.count > 1) RC_ASSERT((found.count - 1) * (usable * radius - overlap) + overlap < motif);
}

RC_GTEST_PROP(Width, WhatHoldsWhateverTheFigures, ()) {
  const auto draw = [](int low, int high) { return 1e-3 * *rc::gen::inRange(low * 1000, high * 1000); };
  const double diameter = 1e-3 * draw(10, 100), growth = 1.01 + draw(0, 1), stretch = 1.001 + draw(0, 1);
  SmallJob small = cylinder(diameter);
  small.job.laser.waist_offset_around = 1e-4 * (draw(0, 2) - 1);
  small.job.scan.focus_offset = 1e-3 * (draw(0, 2) - 1);
  const WidthLimits limits{.growth = growth, .stretch = stretch};
  const Width found = width(small, limits);
  RC_ASSERT(found.best.half_width() >= found.set.half_width());
  RC_ASSERT(found.best.half_width() > 0 || found.best.growth > growth || !found.best.why.empty());
  const auto best = [&](const WidthLimits& l) { return width(small, l).best.half_width(); };
  RC_ASSERT(best({.growth = growth * 1.1, .stretch = stretch}) >= found.best.half_width() * (1 - 1e-3));
  RC_ASSERT(best({.growth = growth, .stretch = stretch * 1.1}) >= found.best.half_width() * (1 - 1e-3));
  const Chance falling = [](double, double y, double) { return std::exp(-y / 30e-3); };
  RC_ASSERT(width(small, limits, falling).best.half_width() <= found.best.half_width());
  small.job.workpiece.diameter = diameter * 1.1;
  RC_ASSERT(best(limits) >= found.best.half_width() * (1 - 1e-3));
  if (found.best.half_width() > 0) {
    small.job.workpiece.diameter = diameter;
    small.job.scan.focus_offset = found.best.focus_offset;  // what is advised gives what is promised
    RC_ASSERT(width(small, limits).set.half_width() == found.best.half_width());
  }
}

TEST(Width, MotifIsTheArtsOwnUnlessGiven) {
  SmallJob small = cylinder(40e-3);  // art 4 mm x 3 mm
  EXPECT_NEAR(width(small).motif, 3e-3, 1e-12);
  EXPECT_EQ(width(small).turns.count, 1);
  EXPECT_THAT(width(small).notes, Contains(HasSubstr("standing still")));
  small.job.mount.hold = motion::Hold::standing;
  EXPECT_NEAR(width(small).motif, 2 * arc(20e-3, 1.5e-3), 1e-12);
  EXPECT_THAT(width(small).notes, testing::Not(Contains(HasSubstr("standing still"))));
  const Width wide = width(small, {.motif = 60e-3, .overlap = 0.1e-3});
  EXPECT_EQ(wide.turns.count, int(std::ceil(59.9e-3 / (2 * arc(20e-3, wide.best.half_width()) - 0.1e-3))));
  EXPECT_NEAR(wide.joint.index, 20e-3 * M_PI / 1800, 1e-15);
  EXPECT_LT(wide.joint.plain, 0);
}

TEST(Width, BadInputIsRefused) {
  const SmallJob small = cylinder(40e-3);
  const auto refusal = [&](const WidthLimits& limits) -> std::string {
    try {
      width(small, limits);
    } catch (const quantity::ValidityError& error) {
      return error.what();
    } catch (const quantity::JobError& error) {
      return error.what();
    }
    return "";
  };
  EXPECT_THAT(refusal({.growth = 0.9}), HasSubstr("growth = 0.9 (out of bounds; expected 1 to 1000)"));
  EXPECT_THAT(refusal({.growth = NAN}), HasSubstr("growth"));
  EXPECT_THAT(refusal({.stretch = 0.99}), HasSubstr("stretch"));
  EXPECT_THAT(refusal({.chance = 1.01}), HasSubstr("chance"));
  EXPECT_THAT(refusal({.motif = 126e-3}), HasSubstr("motif = 126 mm (more than once around"));
  EXPECT_THAT(refusal({.motif = -1e-3}), HasSubstr("nothing to cover"));
  EXPECT_THAT(refusal({.motif = 120e-3, .overlap = -1e-6}), HasSubstr("overlap"));
  EXPECT_THAT(refusal({.motif = 120e-3, .overlap = 50e-3}), HasSubstr("as wide as the usable strip"));
  EXPECT_THAT(refusal({.rows = 2}), HasSubstr("rows"));
}

}  // namespace
}  // namespace circumfluence::window
