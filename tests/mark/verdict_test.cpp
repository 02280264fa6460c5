// Truth: the definitions in the header: shares, factors and places on jobs whose answer is plain.
#include "mark/verdict.h"

#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"

namespace circumfluence::mark {
namespace {

Picture blank() {
  Picture p;
  p.tone.assign(1200, 255);
  return p;
}

TEST(Verdict, AreasAreThoseOfTheArt) {
  const Verdict v = SmallJob().verdict();
  EXPECT_NEAR(v.wanted_area, 4e-3 * 3e-3, 1e-9);
  EXPECT_NEAR(v.wanted_area + v.unwanted_area, 4.6e-3 * 3.6e-3, 1e-9);
}

TEST(Verdict, TheFourRulings) {
  SmallJob small;
  EXPECT_EQ(small.verdict().ruling, Ruling::marks);
  EXPECT_EQ(small.with("scan.power", "6 %").verdict().ruling, Ruling::under_marks);
  EXPECT_EQ(small.bare("al_6061").verdict().ruling, Ruling::leaves_no_mark);
  SmallJob steel;
  steel.bare("aisi_304", "0.5 mm").with("scan.power", "100 %").with("scan.speed", "300 mm/min");
  EXPECT_EQ(steel.verdict().ruling, Ruling::over_burns);
}

// A job at 0 W, which its bounds allow, is one that the beam leaves cold.
TEST(Verdict, WithoutPower) {
  for (const bool bare : {false, true}) {
    SmallJob job(island());
    if (bare) job.bare("aisi_304", "0.5 mm");
    const Verdict v = job.with("scan.power", "0 W").verdict();
    EXPECT_EQ(v.ruling, Ruling::leaves_no_mark);
    EXPECT_EQ(v.warmest_wall, job.job.workpiece.temperature);
    EXPECT_EQ(text(v).find("nan"), std::string::npos) << text(v);
    EXPECT_EQ(json(v).find("nan"), std::string::npos) << json(v);
  }
}

TEST(Verdict, FactorsSideWithTheRuling) {
  for (const char* power :
       {"4 %", "10 %", "15 %", "16 %", "17 %", "20 %", "60 %", "86 %", "88 %", "89 %", "90 %", "100 %"})
    for (const bool bare : {false, true}) {
      SmallJob small;
      if (bare)
        small.bare("aisi_304", "0.5 mm").with("scan.spacing", "0.05 mm").with("scan.speed", "1800 mm/min");
      const Verdict v = small.with("scan.power", power).verdict();
      EXPECT_EQ(v.ruling == Ruling::over_burns, v.greatest_factor <= 1) << power << bare;
      EXPECT_EQ(v.wanted[2] + v.wanted[3] >= 0.95 && !v.stripes, v.least_factor <= 1) << power << bare;
    }
}

TEST(Verdict, NothingWanted) {
  const Verdict v = SmallJob(blank()).verdict();
  EXPECT_EQ(v.ruling, Ruling::leaves_no_mark);
  EXPECT_EQ(v.wanted_area, 0);
  EXPECT_TRUE(std::isnan(v.least_factor));
  EXPECT_TRUE(std::isnan(v.chance_marks));
  EXPECT_TRUE(std::isinf(v.greatest_factor));
  EXPECT_EQ(v.unwanted[0], 1);
}

TEST(Verdict, HairlinesLostOnTheGridAreNotCalledMarked) {
  Picture hairs = blank();
  hairs.width = 400;
  hairs.height = 300;
  hairs.tone.assign(120'000, 255);
  for (int y = 20; y < 300; y += 40)
    for (int x = 0; x < 400; ++x) hairs.tone[size_t(y * 400 + x)] = 0;  // 10 um wide, a cell is 50
  SmallJob small(hairs);
  EXPECT_EQ(small.with("grid.cell", "50 um").verdict().ruling, Ruling::leaves_no_mark);
}

TEST(Verdict, FineDotsSetTheMarginOnlyWhenTheyMustBeMarked) {
  Picture dots = blank();
  for (int y = 2; y < 30; y += 4)
    for (int x = 2; x < 40; x += 4) dots.tone[size_t(y * 40 + x)] = 0;  // 100 um each, about a spot
  SmallJob fine(dots);
  const double lone = fine.with("scan.power", "100 %").with("scan.spacing", "0.05 mm").verdict().least_factor;
  SmallJob full;
  EXPECT_GT(lone, full.with("scan.power", "100 %").with("scan.spacing", "0.05 mm").verdict().least_factor);
}

TEST(Verdict, WeakestPlaceIsWhereWantedCellsLack) {
  SmallJob taper(Picture{});  // out of focus toward one end
  taper.tapered(40e-3).with("mount.focus_at", "18 mm").with("laser.focus_depth", "0.6 mm");
  taper.with("scan.power", "12 %");
  const Verdict v = taper.verdict();
  ASSERT_EQ(v.ruling, Ruling::under_marks);
  EXPECT_FALSE(v.over_limits);
  EXPECT_GT(v.limiting.axial, 20e-3);
}

TEST(Verdict, FirstToBurnIsWhereTheLineIsSlow) {
  SmallJob slow;  // no run-up: the ends of the lines get more
  slow.bare("aisi_304", "0.5 mm")
      .with("scan.spacing", "0.03 mm")
      .with("scan.power_habit", "constant")
      .with("scan.run_up", "0.5 mm")
      .with("scan.speed", "3000 mm/min")
      .with("scan.power", "90 %");
  const Verdict v = slow.verdict();
  ASSERT_TRUE(v.over_limits);
  EXPECT_LT(std::min(std::abs(v.limiting.axial - 18e-3), std::abs(v.limiting.axial - 22e-3)), 0.3e-3);
}

TEST(Verdict, ChancesFollowTheMargins) {
  SmallJob small;
  double before = 0;
  for (const char* power : {"5 %", "10 %", "16 %", "20 %", "40 %", "70 %", "100 %"}) {
    const Verdict v = small.with("scan.power", power).verdict();
    EXPECT_GE(v.chance_marks, before);
    EXPECT_EQ(v.chance_marks >= 0.5, v.least_factor <= 1) << power;
    EXPECT_EQ(v.chance_spares >= 0.5, v.greatest_factor >= 1) << power;
    before = v.chance_marks;
  }
  EXPECT_GT(before, 0.97);
}

// The chance that a lognormal figure falls on the safe side, against numbers drawn from it.
TEST(Verdict, ChanceOfARecordKnownToOneSpread) {
  SmallJob small;
  small.with("scan.power", "17 %");
  const Scene scene = prepare(small.job);
  const double spread = std::hypot(scene.coat->removal_energy.spread,
                                   workpiece::optics_at(*scene.coat, 450e-9).absorptivity.spread);
  const Verdict v = small.verdict();
  std::mt19937 random(5);
  std::normal_distribution<double> normal;
  int holds = 0;
  constexpr int kDraws = 200'000;
  for (int i = 0; i < kDraws; ++i) holds += v.least_factor * std::exp(spread * normal(random)) <= 1;
  EXPECT_NEAR(v.chance_marks, double(holds) / kDraws, 4e-3);
}

}  // namespace
}  // namespace circumfluence::mark
