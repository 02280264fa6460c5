// Truth: school geometry worked out here by hand (steps a turn over a circumference, a circle on two circles,
// sums of heights, stretch of a circle seen from above); for the card tube, whole predictions of the job that
// is proposed.
#include "mark/set_up.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "mark/on_rollers.h"
#include "quantity/constants.h"

namespace circumfluence::mark {
namespace {

using quantity::kPi;
using testing::Contains;
using testing::Field;
using testing::HasSubstr;
using testing::Not;

SetUp sheet_of(const SmallJob& small) {
  return set_up(prepare(small.job));
}

std::vector<std::string> keys(const SetUp& sheet) {
  std::vector<std::string> out;
  for (const Lacking& one : sheet.lacking) out.push_back(one.key);
  return out;
}

TEST(SetUp, StepsPutTheArtsPlaceRight) {
  Rollers rollers;
  const mark::SetUp on_rollers = sheet_of(rollers);
  EXPECT_NEAR(on_rollers.turning->steps->exact, 8000 / (kPi * 25e-3), 1e-6);
  EXPECT_NEAR(on_rollers.turning->driven, 60e-3, 1e-12);
  Rollers chuck;
  chuck.job.rotary.drive = motion::Drive::chuck;
  chuck.job.rotary.roller_diameter = chuck.job.rotary.roller_gap = quantity::kUnset;
  chuck.job.rotary.set_steps = 80e3;  // of the flat bed, still
  const mark::SetUp in_chuck = sheet_of(chuck);
  EXPECT_NEAR(in_chuck.turning->steps->exact, 8000 / (kPi * 60e-3), 1e-6);
  EXPECT_NEAR(in_chuck.turning->driven, 8000 / (kPi * 80e3), 1e-9);
  // Half a turn of the part for what was drawn as half of the driven one.
  ASSERT_EQ(in_chuck.bands.size(), 1u);
  EXPECT_NEAR(in_chuck.bands[0].scale_around, in_chuck.turning->driven / 60e-3, 1e-9);
}

TEST(SetUp, TheHeadIsRaisedByTheStackOfMountPartAndFocus) {
  Rollers small;
  small.job.scan.focus_offset = 1e-3;
  const mark::SetUp sheet = sheet_of(small);
  // Axes 42.5 mm apart, 22.5 mm aside: 36.06 mm above the rollers'.
  const double axis = 22e-3 + std::sqrt(42.5e-3 * 42.5e-3 - 22.5e-3 * 22.5e-3);
  EXPECT_NEAR(sheet.stack.axis, axis, 1e-9);
  EXPECT_NEAR(sheet.stack.surface(), axis + 30e-3, 1e-9);
  EXPECT_NEAR(sheet.stack.raise(), axis + 30e-3 + 20e-3 + 1e-3 - 75e-3, 1e-9);
  EXPECT_NEAR(sheet.stack.clearance, 21e-3, 1e-9);
  small.job.mount.beam_offset = 6e-3;  // the surface there lies lower
  EXPECT_NEAR(sheet_of(small).stack.surface(), axis + std::sqrt(900e-6 - 36e-6), 1e-9);
}

TEST(SetUp, AStepUpInTheHeadsWayCostsClearance) {
  Rollers small;
  small.job.rotary = {};
  small.job.rotary.axle_height = 50e-3;
  small.job.workpiece.shape = workpiece::Shape::stepped;
  small.job.workpiece.diameter = quantity::kUnset;
  small.job.workpiece.profile = {{0.0, 60e-3}, {24e-3, 90e-3}};
  // The art ends at 22 mm, the run-up at 25 mm, over the step of 15 mm.
  EXPECT_NEAR(sheet_of(small).stack.clearance, 5e-3, 1e-9);
  small.job.workpiece.profile = {{0.0, 60e-3}, {26e-3, 90e-3}};
  EXPECT_NEAR(sheet_of(small).stack.clearance, 20e-3, 1e-9);
  small.job.workpiece.profile = {{0.0, 60e-3}, {24e-3, 110e-3}};
  EXPECT_NEAR(sheet_of(small).stack.clearance, -5e-3, 1e-9);
}

// Art of 4 mm by 3 mm about axial 20 mm on the top line, 30 lines, 3 mm of run-up.
TEST(SetUp, TheBeamStartsWhereTheFirstLineBegins) {
  SmallJob small;
  const Start plain = *sheet_of(small).start;
  EXPECT_NEAR(plain.axial, 15e-3, 1e-9);
  EXPECT_NEAR(plain.around, -1.45e-3, 1e-9);
  EXPECT_NEAR(plain.head_from, 15e-3, 1e-9);
  EXPECT_NEAR(plain.head_to, 25e-3, 1e-9);
  const Start around = *sheet_of(small.with("scan.direction", "around")).start;
  EXPECT_NEAR(around.axial, 18.05e-3, 1e-9);
  EXPECT_NEAR(around.around, -4.5e-3, 1e-9);
  EXPECT_NEAR(around.head_to, 21.95e-3, 1e-9);
}

TEST(SetUp, AFeedAgainstTheSurfaceStartsAtTheOtherEnd) {
  using enum motion::Toward;
  SmallJob small;
  face(small, right, right, back);
  EXPECT_NEAR(sheet_of(small).start->axial, 15e-3, 1e-9);
  EXPECT_NEAR(sheet_of(small).start->around, -1.45e-3, 1e-9);
  face(small, right, left, back);
  EXPECT_NEAR(sheet_of(small).start->axial, 25e-3, 1e-9);
  EXPECT_NEAR(sheet_of(small).start->around, -1.45e-3, 1e-9);
  face(small, right, right, front);
  EXPECT_NEAR(sheet_of(small).start->axial, 15e-3, 1e-9);
  EXPECT_NEAR(sheet_of(small).start->around, 1.45e-3, 1e-9);
}

TEST(SetUp, AFullTurnsSeamByEachCause) {
  Rollers small;
  small.job.artwork.size_around = 60e-3 * kPi - 0.4e-3;
  small.job.rotary.backlash = 0.1e-3;
  // What the art is short of the turn, and the backlash; half a step and the third decimal of steps a mm at
  // most beside.
  EXPECT_NEAR(sheet_of(small).turning->seam->sum.value, 0.5e-3, 7e-6);
  small.job.rotary.slip = 0.01, small.job.rotary.slip_spread = 0.002;
  const motion::Measure slipping = sheet_of(small).turning->seam->sum;
  EXPECT_NEAR(slipping.value, 0.5e-3 + 0.01 * (60e-3 * kPi - 0.4e-3), 7e-6);
  EXPECT_NEAR(slipping.spread, 0.002 * (60e-3 * kPi - 0.4e-3), 1e-7);
  small.job.artwork.size_around = 100e-3;
  EXPECT_FALSE(sheet_of(small).turning->seam);
  Rollers chuck;
  chuck.job.rotary.drive = motion::Drive::chuck;
  chuck.job.rotary.roller_diameter = chuck.job.rotary.roller_gap = quantity::kUnset;
  chuck.job.artwork.size_around = 60e-3 * kPi - 0.4e-3;
  EXPECT_NEAR(sheet_of(chuck).turning->seam->sum.value, 0.4e-3, 20e-6);
}

TEST(SetUp, AStandingPartStretchesTowardTheEdge) {
  SmallJob small;
  small.with("mount.hold", "standing").with("artwork.size_around", "36 mm");
  const mark::SetUp sheet = sheet_of(small);
  EXPECT_FALSE(sheet.turning);
  EXPECT_TRUE(sheet.bands.empty());
  EXPECT_NEAR(sheet.edge_stretch, 1 / 0.8, 1e-9);  // 18 mm aside at a radius of 30 mm
}

TEST(SetUp, LighterOrDarker) {
  SmallJob small;  // black coat on bright metal
  EXPECT_GT(sheet_of(small).polarity->marked, sheet_of(small).polarity->ground + 30);
  EXPECT_TRUE(sheet_of(small).polarity->inverts);
  EXPECT_FALSE(sheet_of(small.with("artwork.burns", "light")).polarity->inverts);
  SmallJob card;
  card.bare("cardboard", "1 mm");
  EXPECT_LT(sheet_of(card).polarity->marked, sheet_of(card).polarity->ground);
  EXPECT_FALSE(sheet_of(card).polarity->inverts);
  EXPECT_TRUE(sheet_of(card.with("artwork.burns", "light")).polarity->inverts);
}

TEST(SetUp, SaysWhatTheJobLacks) {
  const std::vector<std::string> bare = keys(sheet_of(SmallJob()));
  for (const char* key : {"rotary.motor_steps", "rotary.microsteps", "rotary.reduction", "rotary.set_steps",
                          "rotary.flat_steps", "rotary.axle_height", "laser.focus_distance",
                          "mount.head_height", "mount.mouth, mouth_faces, axial_feed, around_feed"})
    EXPECT_THAT(bare, Contains(key));
  EXPECT_TRUE(std::isnan(sheet_of(SmallJob()).stack.raise()));
  Rollers full;
  using enum motion::Toward;
  face(full, left, right, front);
  full.job.rotary.set_steps = 101859;
  EXPECT_THAT(keys(sheet_of(full)), testing::IsEmpty());
  SmallJob standing;
  EXPECT_THAT(keys(sheet_of(standing.with("mount.hold", "standing"))), Not(Contains("rotary.motor_steps")));
}

size_t place_of_check(const std::vector<std::string>& checks, const char* words) {
  size_t i = 0;
  while (i < checks.size() && checks[i].find(words) == std::string::npos) ++i;
  EXPECT_LT(i, checks.size()) << words;
  return i;
}

TEST(SetUp, ChecksComeInAnOrderThatIsSafe) {
  Rollers small;
  const std::vector<std::string> checks = sheet_of(small).checks;
  const char* order[] = {"Mains off",
                         "Switch off homing",
                         "Power on, beam off",
                         "Jog 5 mm",
                         "one full turn, 188.496 mm",
                         "Beam off, go round",
                         "card tube first",
                         "burn, and stay",
                         "put back 80 steps/mm"};
  for (size_t i = 1; i < std::size(order); ++i)
    EXPECT_LT(place_of_check(checks, order[i - 1]), place_of_check(checks, order[i])) << order[i];
  EXPECT_THAT(checks.front(), HasSubstr("unplug the motor"));
  EXPECT_THAT(checks.back(), HasSubstr("mains off, and only then swap the motors"));
  EXPECT_THAT(checks, Contains(HasSubstr("the beam at its faintest")));
  small.job.laser.wavelength = 1064e-9;  // cannot be seen
  EXPECT_THAT(sheet_of(small).checks, Not(Contains(HasSubstr("faintest"))));
  SmallJob standing;
  const mark::SetUp still = sheet_of(standing.with("mount.hold", "standing"));
  EXPECT_THAT(still.checks, Not(Contains(HasSubstr("homing"))));
}

// The prediction of the whole job, cells, edges and warm wall and all.
void expect_a_gentle_mark(const TubeTrial& trial) {
  ASSERT_TRUE(trial.job) << trial.why;
  Request request;
  const Verdict v = predict(*trial.job, request).verdict;
  EXPECT_EQ(v.ruling, Ruling::marks) << text(v);
  EXPECT_LT(v.least_factor, 0.9);
  EXPECT_GT(v.greatest_factor, 1.4);
  EXPECT_NEAR(v.power, trial.power, 1e-9);
  EXPECT_NEAR(v.duration, trial.duration, 1e-6);
  EXPECT_LE(trial.marks, 1 / 1.5 + 1e-9);
  EXPECT_GE(trial.burns, 1.5 - 1e-9);
}

TEST(TubeTrial, MarksTheTubeWithoutBurningThrough) {
  for (const auto& picture : {Picture{}, island()}) {
    const SmallJob small(picture);
    const TubeTrial trial = tube_trial(prepare(small.job));
    expect_a_gentle_mark(trial);
    EXPECT_NEAR(trial.diameter, 60e-3, 1e-12);
    EXPECT_NEAR(trial.speed, small.job.scan.speed, 1e-12);
  }
}

TEST(TubeTrial, AThinWallTakesLessPowerThanAThickOne) {
  const SmallJob small;
  const Scene scene = prepare(small.job);
  const TubeTrial thin = tube_trial(scene, 0.4e-3), thick = tube_trial(scene, 4e-3);
  expect_a_gentle_mark(thin);
  expect_a_gentle_mark(thick);
  EXPECT_LT(thin.power / thin.speed, thick.power / thick.speed);
  EXPECT_NEAR(thick.marks, 1.0 / 3, 0.02);  // plenty, and no more
}

TEST(TubeTrial, AStrongLaserGoesFaster) {
  SmallJob small;
  small.with("laser.rated_power", "100 W").with("scan.power", "10 %");
  const TubeTrial trial = tube_trial(prepare(small.job));
  expect_a_gentle_mark(trial);
  EXPECT_GT(trial.speed, small.job.scan.speed * 1.2);
  EXPECT_GE(trial.power, 2 - 1e-9);  // 2 % of what it gives
  small.with("scan.top_speed", "2500 mm/min");
  const TubeTrial none = tube_trial(prepare(small.job));
  EXPECT_FALSE(none.job);
  EXPECT_THAT(none.why, HasSubstr("without burning through"));
}

TEST(TubeTrial, SaysWhyThereIsNone) {
  SmallJob small;
  small.job.laser.wavelength = 532e-9;
  const TubeTrial trial = tube_trial(prepare(small.job));
  EXPECT_FALSE(trial.job);
  EXPECT_THAT(trial.why, testing::AllOf(HasSubstr("cardboard"), HasSubstr("532 nm")));
}

TEST(TubeTrial, OnAPartOfSeveralDiametersTheTubeIsThatUnderTheFocus) {
  Rollers small;
  small.tapered(50e-3);
  small.job.rotary.contact = 10e-3;
  const TubeTrial trial = tube_trial(prepare(small.job));
  expect_a_gentle_mark(trial);
  EXPECT_NEAR(trial.diameter, 55e-3, 1e-9);
  EXPECT_NEAR(prepare(*trial.job).reference_radius, 27.5e-3, 1e-9);
}

}  // namespace
}  // namespace circumfluence::mark
