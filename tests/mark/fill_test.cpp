// Truth: the laws of design 3.5 worked out place by place in double precision and bisected (plain twin), closed forms of a
// single line, and what must hold when spacing, incidence and passes change.
#include "mark/fill.h"

#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"

namespace circumfluence::mark {
namespace {

struct Bench {
  explicit Bench(const SmallJob& small)
      : scene(prepare(small.job)), line(line_of(scene)), model(respond(scene, {{line.along, line.across, line.speed}})) {}
  EvenFill fill() const { return EvenFill(model, scene.job.outcome, line); }

  Scene scene;
  Line line;
  response::Model model;
};

// [m] gone after all lines at a factor on power; the share of the last event's light that reaches the base included.
struct Gone {
  double removed = 0, hottest = 0;  // [m], [1] greatest share of a line's heat times its own, by distance
};

// Lines pass in time order at `y` from line 0.
template <class Rise>
Gone burn(const Bench& b, const Period& p, double factor, double y, const Rise& rise) {
  const response::Film& film = *b.model.film;
  const double threshold = b.model.thresholds.front();
  Gone gone;
  for (int n = 0; n < p.passes; ++n)
    for (int k = -30; k <= 30; ++k) {
      const double distance = std::abs(y - k * p.spacing), absorbed = film.absorptivity * factor * b.line.fluence(distance);
      const double left = film.thickness - gone.removed;
      double share = 1;
      if (left > 0) {
        const double excess = std::max(0.0, absorbed - threshold), taken = std::min(left * film.energy, excess);
        gone.removed += taken / film.energy;
        share = absorbed > 0 ? (excess - taken) / absorbed : 0;
      }
      if (distance < 4 * b.line.across) gone.hottest = std::max(gone.hottest, share * factor * rise(distance));
    }
  return gone;
}

template <class Holds>
double bisect(const Holds& holds) {
  double low = 1e-4, high = 1e4;
  for (int i = 0; i < 60; ++i) {
    const double middle = std::sqrt(low * high);
    (holds(middle) ? high : low) = middle;
  }
  return high;
}

// Places as the fill has them.
double place(int i, double spacing) {
  return (i + 0.5) / 64 * spacing;
}

TEST(EvenFill, MarksAndBurnsWhereTheLawsSay) {
  const Bench b(SmallJob().with("workpiece.base", "aisi_304").with("workpiece.wall", "0.5 mm"));
  const heat::LayeredSpot spot(heat::stack_of(b.model.base), {b.line.along, b.line.across, b.line.speed});
  std::vector<float> profile(heat::SpotTable::kNodes);
  spot.profile(profile);
  const auto rise = [&](double distance) {
    const double at = distance / b.line.across * heat::SpotTable::kStepsPerRadius;
    const size_t i = size_t(at);
    return b.model.base.absorptivity * b.line.power * (profile[i] + (at - double(i)) * (profile[i + 1] - profile[i]));
  };
  for (const double spacing : {30e-6, 60e-6, 100e-6})
    for (const int passes : {1, 3}) {
      const Period period{spacing, passes};
      std::vector<double> marks, burns;
      for (int i = 0; i < 64; ++i) {
        const double y = place(i, spacing);
        if (i < 32) marks.push_back(bisect([&](double f) { return burn(b, period, f, y, rise).removed >= b.model.film->need; }));
        burns.push_back(bisect([&](double f) { return burn(b, period, f, y, rise).hottest >= b.model.limit_rise(); }));
      }
      EvenFill fill = b.fill();
      EXPECT_NEAR(fill.centre(period), marks.front(), 2e-4 * marks.front()) << spacing << ' ' << passes;
      std::sort(marks.begin(), marks.end());
      EXPECT_NEAR(fill.required(period), marks[30], 2e-4 * marks[30]) << spacing << ' ' << passes;
      const double first = *std::min_element(burns.begin(), burns.end());
      EXPECT_NEAR(fill.burns(period), first, 5e-4 * first) << spacing << ' ' << passes;
    }
}

// A line of fluence F0 exp(-2 y^2 / w^2) takes the coat off where A F = threshold + need energy.
TEST(EvenFill, KnowsTheWidthOfASingleLine) {
  const Bench b(SmallJob{});
  const double needed = (b.model.thresholds.front() + b.model.film->need * b.model.film->energy) / b.model.film->absorptivity;
  for (const double factor : {0.5, 1.0, 3.0, 30.0}) {
    const double strength = factor * b.line.fluence(0) / needed;
    const double width = strength > 1 ? 2 * b.line.across * std::sqrt(0.5 * std::log(strength)) : 0;
    EXPECT_NEAR(b.fill().width(factor), width, 2e-3 * b.line.across);
  }
  EXPECT_EQ(b.fill().width(0.01), 0);
}

TEST(EvenFill, NeedsPowerInverselyToTheCosineOfIncidence) {
  Bench b(SmallJob{});
  const Period period{60e-6};
  const double upright = b.fill().required(period);
  b.line.incidence = 0.8;
  EXPECT_NEAR(b.fill().required(period), upright / 0.8, 1e-3 * upright);
}

TEST(EvenFill, NeverFillsLinesThatLieFarApart) {
  const Bench b(SmallJob{});
  EvenFill fill = b.fill();
  const Edges edges = fill.edges({1e-3});
  EXPECT_TRUE(std::isinf(edges.required));
  EXPECT_LT(edges.centre, 1);
  EXPECT_LE(edges.begins, edges.centre);
}

TEST(EvenFill, OfABareMetalGoesByItsHottestPassage) {
  const Bench b(SmallJob().bare("aisi_304", "0.5 mm"));
  EvenFill fill = b.fill();
  const double burns = fill.burns({100e-6});
  const heat::LayeredSpot spot(heat::stack_of(b.model.base), {b.line.along, b.line.across, b.line.speed});
  const double peak = b.model.base.absorptivity * b.line.power * spot.peak().rise;
  EXPECT_NEAR(burns, b.model.limit_rise() / peak, 2e-3 * burns);
  EXPECT_NEAR(fill.hottest(), peak, 1e-3 * peak);
  EXPECT_LT(fill.burns({100e-6, 1, 100}), burns);  // a wall that is warm already
}

// Marks that add up want less power the more lines share a place.
TEST(EvenFill, MarksSoonerWithMorePassesAndCloserLines) {
  for (const char* base : {"", "aisi_304", "cardboard"}) {
    SmallJob small;
    if (*base) small.bare(base);
    const Bench b(small);
    EvenFill fill = b.fill();
    EXPECT_LT(fill.required({50e-6, 2}), fill.required({50e-6, 1}) * 1.0001) << base;
    EXPECT_LT(fill.required({40e-6}), fill.required({80e-6})) << base;
  }
}

TEST(EvenFill, TakesNoNoticeOfTheOrderWhereNothingIsTakenOff) {
  const Bench b(SmallJob().bare("aisi_304"));
  EvenFill fill = b.fill();
  EXPECT_NEAR(fill.burns({50e-6, 1, 0, 4}), fill.burns({50e-6}), 1e-3 * fill.burns({50e-6}));
}

TEST(EvenFill, CoversWhatOneLineMarksWhereLinesLieFarApart) {
  const Bench b(SmallJob{});
  EvenFill fill = b.fill();
  EXPECT_NEAR(fill.covered(1, {0.4e-3}), fill.width(1) / 0.4e-3, 1.0 / 32);
  EXPECT_EQ(fill.covered(1.001 * fill.required({80e-6}), {80e-6}), 31.0 / 32);
  EXPECT_EQ(fill.covered(1e-4, {80e-6}), 0);
}

// What passes a line take off adds up while the coat stands: the mean depth is a line's own cross-section over the spacing.
TEST(EvenFill, DepthIsTheCrossSectionOfALineOverTheSpacing) {
  const Bench b(SmallJob().with("workpiece.coat_thickness", "5 mm"));
  const response::Film& film = *b.model.film;
  for (const double factor : {0.2, 0.4}) {
    double section = 0;  // [m^2]
    const double step = b.line.across / 1000;
    for (double y = -5 * b.line.across; y < 5 * b.line.across; y += step)
      section += step * std::max(0.0, film.absorptivity * factor * b.line.fluence(y) - b.model.thresholds.front()) / film.energy;
    EvenFill fill = b.fill();
    for (const double spacing : {20e-6, 50e-6})
      for (const int passes : {1, 2})
        EXPECT_NEAR(fill.depth(factor, {spacing, passes}) / (passes * section / spacing), 1.0, 2e-3) << spacing;
  }
}

TEST(EvenFill, DepthEndsAtTheCoat) {
  const Bench b(SmallJob{});
  EXPECT_NEAR(b.fill().depth(20.0, {20e-6, 1}), b.model.film->thickness, 1e-9);
}

}  // namespace
}  // namespace circumfluence::mark
