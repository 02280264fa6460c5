// Truth: each note against a job made so that its reason holds, and one beside it where it doesn't; stripes
// and the wall's heat by arithmetic of their own.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "mark/small_job.h"

namespace circumfluence::mark {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;

std::vector<std::string> said(const SmallJob& small) {
  return small.verdict().notes;
}

TEST(Note, NothingToSayOfAnEverydayJob) {
  EXPECT_THAT(said(SmallJob()), testing::IsEmpty());
}

TEST(Note, NothingWanted) {
  Picture blank;
  blank.tone.assign(1200, 255);
  EXPECT_THAT(said(SmallJob(blank)), Contains(HasSubstr("wants no mark anywhere")));
}

TEST(Note, StripesBetweenLines) {
  // One line removes 2 w sqrt(ln(F0 / F) / 2) wide, F the fluence that just clears the coat: here 40 um (2
  // x 1.35).
  SmallJob small;
  small.with("scan.spacing", "0.15 mm");
  EXPECT_THAT(said(small), Contains(HasSubstr("Stripes stay")));
  EXPECT_THAT(said(small.with("scan.spacing", "0.08 mm")), Not(Contains(HasSubstr("Stripes"))));
  SmallJob steel;
  steel.bare("aisi_304", "0.5 mm").with("scan.power", "85 %").with("scan.speed", "1800 mm/min");
  EXPECT_THAT(said(steel), Contains(HasSubstr("Stripes stay")));
  EXPECT_THAT(said(steel.with("scan.spacing", "0.03 mm")), Not(Contains(HasSubstr("Stripes"))));
}

TEST(Note, CoarseGrid) {
  SmallJob small;
  EXPECT_THAT(said(small.with("grid.cell", "80 um")), Contains(HasSubstr("coarse beside a spot")));
}

TEST(Note, ThinWall) {
  SmallJob small;
  small.bare("al_6061", "0.15 mm").with("scan.power", "100 %").with("scan.speed", "1000 mm/min");
  EXPECT_THAT(said(small), Contains(HasSubstr("taken as insulated")));
  EXPECT_THAT(said(small.with("workpiece.wall", "3 mm")), Not(Contains(HasSubstr("insulated"))));
}

TEST(Note, HeatOfEarlierLines) {
  SmallJob small;
  small.bare("aisi_304", "0.5 mm")
      .with("scan.power", "85 %")
      .with("scan.speed", "1800 mm/min")
      .with("scan.spacing", "0.05 mm");
  const Verdict v = small.verdict();
  const double share = v.wanted_area / (v.wanted_area + v.unwanted_area);
  // Were nothing lost to the rest of the part and to the air.
  const double most = 0.3974 * 8.5 / (0.03 * 0.05e-3) * share / (7900 * 500 * 0.5e-3);
  const double rise = v.warmest_wall - 293.15;
  EXPECT_GT(rise, 0.02 * most);
  EXPECT_LT(rise, most);
  EXPECT_THAT(v.notes, Contains(HasSubstr("by up to " + std::to_string(std::lround(rise)) + " K")));
  EXPECT_THAT(said(small.with("workpiece.wall", "20 mm")), Not(Contains(HasSubstr("Earlier lines"))));
}

TEST(Note, AWallThatWouldMeltStopsThere) {
  SmallJob small;
  small.bare("aisi_304", "0.05 mm").with("scan.speed", "900 mm/min").with("scan.spacing", "0.03 mm");
  const Verdict v = small.with("laser.rated_power", "40 W").with("scan.power", "100 %").with("artwork.size_axial", "15 mm").with("grid.cell", "60 um").verdict();
  EXPECT_THAT(v.notes, Contains(HasSubstr("melts or chars")));
  EXPECT_THAT(v.notes, Contains(HasSubstr("melts through")));
  EXPECT_LT(v.warmest_wall, 1673.1);
}

TEST(Note, NearTheThresholdOfRemoval) {
  SmallJob small;
  EXPECT_THAT(said(small.with("scan.power", "0.6 %")), Contains(HasSubstr("times what starts removal")));
}

TEST(Note, SlowRemovalGoesLessDeep) {
  SmallJob small;
  small.with("scan.speed", "300 mm/min");
  EXPECT_THAT(said(small), Contains(HasSubstr("less deep than predicted")));
  EXPECT_THAT(said(SmallJob().with("scan.speed", "6000 mm/min")), Not(Contains(HasSubstr("less deep"))));
}

TEST(Note, FastSpotOnSteel) {
  SmallJob small;
  small.bare("aisi_304", "0.5 mm").with("scan.power", "100 %").with("laser.rated_power", "40 W");
  EXPECT_THAT(said(small.with("scan.speed", "30000 mm/min")), Contains(HasSubstr("up to 10 % higher")));
  EXPECT_THAT(said(small.with("scan.speed", "2000 mm/min")), Not(Contains(HasSubstr("up to 10 % higher"))));
}

TEST(Note, ThinCoat) {
  SmallJob small;
  EXPECT_THAT(said(small.with("workpiece.coat_thickness", "8 um")), Contains(HasSubstr("is thin")));
}

TEST(Note, MeltedBase) {
  SmallJob small;
  small.bare("aisi_304", "0.5 mm").with("scan.power", "100 %").with("scan.speed", "300 mm/min");
  EXPECT_THAT(said(small), Contains(HasSubstr("Latent heat")));
}

TEST(Note, EdgesSetTheMargin) {
  Picture dots;
  for (int i = 0; i < 1200; ++i) dots.tone[size_t(i)] = i % 4 < 2 && i / 40 % 4 < 2 ? 0 : 255;
  SmallJob small(dots);
  EXPECT_THAT(said(small.with("artwork.size_axial", "3 mm").with("scan.power", "20 %")),
              Contains(HasSubstr("edges and fine lines")));
}

TEST(Note, ShortRunUpAndPulses) {
  SmallJob small;
  small.with("scan.power_habit", "constant").with("scan.run_up", "0.1 mm").with("scan.speed", "6000 mm/min");
  EXPECT_THAT(said(small), Contains(HasSubstr("run-up")));
  SmallJob pulsed;
  pulsed.job.laser.modulation = beam::Modulation::pulsed;
  pulsed.job.laser.carrier = 500;  // 83 um apart
  EXPECT_THAT(said(pulsed), Contains(HasSubstr("Pulses lie 83.3 um apart")));
  pulsed.job.laser.carrier = 20'000;
  EXPECT_THAT(said(pulsed), Not(Contains(HasSubstr("Pulses"))));
}

}  // namespace
}  // namespace circumfluence::mark
