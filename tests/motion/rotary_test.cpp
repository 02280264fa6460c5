// Truth: closed forms of school geometry (circumference = pi d), motors turned step by step, circles and cones laid on
// circles, and draws. Of trials and their errors: common practice, no source.
#include "motion/rotary.h"

#include <gmock/gmock.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "motion/made_parts.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using quantity::JobError;
using quantity::kPi;
using quantity::kUnset;
using quantity::ValidityError;
using testing::HasSubstr;
using workpiece::Part;
using workpiece::Profile;
using workpiece::Shape;

Part straight(double diameter) {
  return made(Shape::straight, 0.18, diameter, kUnset, {});
}
Part table(double length, quantity::Pairs profile) {
  return made(Shape::table, length, kUnset, kUnset, std::move(profile));
}
Part capped() {  // a cap of 50 mm on a body of 73 mm, from 150 mm on
  return stepped({{0, 0.073}, {0.15, 0.05}});
}

Rotary rollers() {
  return {.drive = Drive::rollers,
          .motor_steps = 200,
          .microsteps = 16,
          .reduction = 3,
          .roller_diameter = 0.03,
          .roller_gap = 0.02};
}
Rotary chuck() {
  return {.drive = Drive::chuck, .motor_steps = 200, .microsteps = 16, .reduction = 3};
}

double driven(const Rotary& rotary, const Part& part, const Mount& mount = {}, double focus_at = 0.05) {
  return driven_radius(rotary, mount, Profile(part), focus_at);
}

template <class Error, class Work>
std::string message(const Work& work) {
  try {
    work();
  } catch (const Error& error) {
    return error.what();
  }
  return "no error";
}
std::string refused(const Rotary& rotary, const Part& part, const Mount& mount = {}) {
  return message<JobError>([&] { check(rotary, part, mount); });
}

double draw(double low, double high) {
  return low + (high - low) * *rc::gen::inRange(0, 1'000'001) * 1e-6;
}

// [rad] by which the part has turned after an arc was commanded: the motor counted, every wheel turned in its
// place.
double turned(const Rotary& rotary, double arc, double set, double part_radius) {
  const double motor_turns = arc * set / (rotary.motor_steps * rotary.microsteps);
  const double output = 2 * kPi * motor_turns / rotary.reduction;
  if (rotary.drive == Drive::chuck) return output;
  const double followed =
      output * rotary.roller_diameter / 2 * (1 - (std::isnan(rotary.slip) ? 0 : rotary.slip));
  return followed / part_radius;
}

TEST(Rotary, StepsOfRollersAndOfAChuck) {
  const Steps on_rollers = steps(rollers(), 0.073), in_chuck = steps(chuck(), 0.073);
  EXPECT_DOUBLE_EQ(on_rollers.a_turn, 9600);
  EXPECT_NEAR(on_rollers.travel, kPi * 0.03, 1e-15);
  EXPECT_NEAR(on_rollers.exact, 101859.16357881302, 1e-6);  // 320/pi a mm
  EXPECT_NEAR(on_rollers.stored, 101859, 1e-9);
  EXPECT_NEAR(on_rollers.smallest, 9.817477042468104e-6, 1e-18);
  EXPECT_NEAR(in_chuck.travel, kPi * 0.073, 1e-15);
  EXPECT_NEAR(in_chuck.exact, 41859.9302378684, 1e-6);  // 9600/(73 pi) a mm
  EXPECT_NEAR(steps(chuck(), 0.073, 1).stored, 41900, 1e-9);
  EXPECT_NEAR(steps(chuck(), 0.073, 0).stored, 42000, 1e-9);
  EXPECT_DOUBLE_EQ(steps(rollers(), 0.02).exact, on_rollers.exact);
}

TEST(Rotary, AnEmptySectionDrivesWhatTheMountSays) {
  EXPECT_DOUBLE_EQ(driven({}, taper(0.08, 0.06)), 0.035);
  EXPECT_DOUBLE_EQ(driven({}, taper(0.08, 0.06), {.drive_diameter = 0.05}), 0.025);
  const Mount standing{.hold = Hold::standing};
  EXPECT_DOUBLE_EQ(driven(rollers(), capped(), standing, 0.16), 0.025);
}

TEST(Rotary, RollersTurnWhatTouchesThem) {
  EXPECT_DOUBLE_EQ(driven(rollers(), capped(), {}, 0.16), 0.0365);
  Rotary rotary = rollers();
  rotary.contact = 0.16;
  EXPECT_DOUBLE_EQ(driven(rotary, capped(), {}, 0.05), 0.025);
  rotary.slip = 0.02;
  EXPECT_DOUBLE_EQ(driven(rotary, capped()), 0.025 / 0.98);
}

RC_GTEST_PROP(Rotary, TheDrivenRadiusIsArcOverTurn, ()) {
  Rotary rotary = *rc::gen::arbitrary<bool>() ? rollers() : chuck();
  rotary.reduction = draw(0.5, 20), rotary.set_steps = draw(1e4, 2e5);
  if (rotary.drive == Drive::rollers) rotary.roller_diameter = draw(0.02, 0.06), rotary.slip = draw(0, 0.2);
  const Part part = straight(draw(0.02, 0.1));
  const double arc = draw(0.001, 0.3);
  const double azimuth = turned(rotary, arc, rotary.set_steps, part.diameter / 2);
  RC_ASSERT(std::abs(driven(rotary, part) * azimuth / arc - 1) < 1e-12);
}

TEST(Rotary, SteadyMembersPass) {
  EXPECT_NO_THROW(check({}, straight(0.073), {}));
  EXPECT_NO_THROW(check({}, taper(0.08, 0.06), {.drive_diameter = 0.05}));
  EXPECT_NO_THROW(check(rollers(), capped(), {.drive_diameter = 0.0732}));
  EXPECT_NO_THROW(check(chuck(), capped(), {.drive_diameter = 0.05}));
}

TEST(Rotary, SaysWhatDoesNotFitTogether) {
  Rotary rotary = rollers();
  rotary.roller_gap = 0.073;
  EXPECT_THAT(refused(rotary, straight(0.073)), HasSubstr("rotary.roller_gap = 73 mm (wider than the part"));
  rotary.roller_gap = 0.0729;
  EXPECT_EQ(refused(rotary, straight(0.073)), "no error");
  EXPECT_THAT(refused(rollers(), taper(0.08, 0.06)), HasSubstr("rotary.contact is missing"));
  rotary.contact = 0.2;
  EXPECT_THAT(refused(rotary, straight(0.073)), HasSubstr("rotary.contact = 200 mm (beyond the part"));
  EXPECT_THAT(refused({.slip = 0.01}, straight(0.073)), HasSubstr("rotary.slip = 1 % (a chuck has none"));
  rotary = rollers();
  rotary.slip_spread = 0.01;
  EXPECT_THAT(refused(rotary, straight(0.073)), HasSubstr("rotary.slip is missing"));
  EXPECT_THAT(refused({.set_steps = 8e4}, straight(0.073)), HasSubstr("rotary.motor_steps is missing"));
  EXPECT_THAT(refused({.backlash_spread = 1e-5}, straight(0.073)), HasSubstr("rotary.backlash is missing"));
}

TEST(Rotary, ADrivenDiameterAgreesWithTheSteps) {
  EXPECT_THAT(
      refused(rollers(), capped(), {.drive_diameter = 0.05}),
      HasSubstr(
          "mount.drive_diameter = 50 mm (on rollers, by what touches them, the drive makes arcs true at a "
          "diameter of 73 mm"));
  Rotary rotary = chuck();
  rotary.set_steps = steps(rotary, 0.073).stored;
  EXPECT_EQ(refused(rotary, capped(), {.drive_diameter = 0.073}), "no error");
  EXPECT_THAT(refused(rotary, capped(), {.drive_diameter = 0.05}),
              HasSubstr("with rotary.set_steps as they are"));
  EXPECT_EQ(refused(rotary, capped(), {.hold = Hold::standing, .drive_diameter = 0.05}), "no error");
}

TEST(Rotary, ATableNeedsItsPlaceOnTheRollersUnlessItLiesLevel) {
  Part barrel = table(0.1, {{0, 0.06}, {0.05, 0.07}, {0.1, 0.06}});
  EXPECT_THAT(refused(rollers(), barrel), HasSubstr("rotary.contact is missing"));
  barrel.profile = {{0, 0.06}, {0.03, 0.07}, {0.06, 0.07}, {0.1, 0.06}};
  EXPECT_EQ(refused(rollers(), barrel), "no error");
}

// The gap at the seam: the part's circle, less what of it has passed under the beam.
RC_GTEST_PROP(Closure, IsWhatATurnedMotorLeavesOpen, ()) {
  Rotary rotary = *rc::gen::arbitrary<bool>() ? rollers() : chuck();
  if (rotary.drive == Drive::rollers) rotary.slip = draw(0, 0.1);
  if (*rc::gen::arbitrary<bool>()) rotary.set_steps = draw(1e4, 2e5);
  rotary.backlash = draw(0, 1e-4);
  const double entered = draw(0.02, 0.1), diameter = entered * draw(0.98, 1.02);
  const double set = std::isnan(rotary.set_steps) ? steps(rotary, entered, 2).stored : rotary.set_steps;
  const double whole = std::round(kPi * entered * set);
  const double passed = turned(rotary, whole / set, set, diameter / 2) * diameter / 2 - rotary.backlash;
  const Closure gap = closure(rotary, {.entered = entered, .diameter = diameter, .decimals = 2});
  RC_ASSERT(std::abs(gap.sum.value - (kPi * diameter - passed)) < 1e-12);
  RC_ASSERT(std::abs(gap.whole_steps.value) <= 0.5 * steps(rotary, diameter).smallest + 0.5 / set);
}

TEST(Closure, EachCauseByHand) {
  Rotary rotary = rollers();
  rotary.slip = 0.01, rotary.slip_spread = 0.002, rotary.backlash = 50e-6, rotary.backlash_spread = 10e-6;
  const Closure gap = closure(rotary, {.entered = 0.073, .diameter = 0.0731, .diameter_spread = 0.16e-3});
  EXPECT_NEAR(gap.diameter.value, kPi * 1e-4, 1e-15);
  EXPECT_NEAR(gap.diameter.spread, kPi * 0.16e-3, 1e-15);
  EXPECT_NEAR(gap.slip.value, kPi * 0.073 * 0.01, 1e-7);
  EXPECT_NEAR(gap.slip.spread, kPi * 0.073 * 0.002, 1e-8);
  EXPECT_NEAR(gap.set_steps.value, kPi * 0.073 * (101859.16357881302 / 101859 - 1), 1e-9);  // 0.37 um
  EXPECT_DOUBLE_EQ(gap.backlash.value, 50e-6);
  EXPECT_NEAR(gap.sum.spread, std::hypot(kPi * 0.16e-3, kPi * 0.073 * 0.002, 10e-6), 1e-8);
}

TEST(Closure, AChuckClosesWhateverTheDiameter) {
  const Closure gap =
      closure(chuck(), {.entered = 0.073, .diameter = 0.08, .diameter_spread = 1e-3, .decimals = 9});
  EXPECT_NEAR(gap.sum.value, 0, 1e-10);
  EXPECT_EQ(gap.sum.spread, 0);
  Rotary kept = chuck();  // steps of the flat axis left in the controller
  kept.set_steps = 80e3;
  EXPECT_NEAR(closure(kept, {.entered = 0.073}).sum.value, kPi * 0.073 * (1 - 80e3 / 41859.9302378684), 3e-6);
}

TEST(Closure, ChanceByDraws) {
  Rotary rotary = rollers();
  rotary.slip = 0.001, rotary.slip_spread = 0.001, rotary.backlash = 0.1e-3, rotary.backlash_spread = 0.05e-3;
  const Closure gap = closure(rotary, {.entered = 0.073, .diameter_spread = 0.1e-3});
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  const int kDraws = 200'000;
  int closed = 0;
  const double set = steps(rotary, 0.073).stored, whole = std::round(kPi * 0.073 * set);
  for (int i = 0; i < kDraws; ++i) {
    Rotary drawn = rotary;
    drawn.slip += rotary.slip_spread * normal(random);
    const double backlash = rotary.backlash + rotary.backlash_spread * normal(random);
    const double diameter = 0.073 + 0.1e-3 * normal(random);
    const double left = kPi * diameter - turned(drawn, whole / set, set, 1.0) + backlash;
    closed += std::abs(left) <= 0.3e-3;
  }
  const double chance = gap.chance(0.3e-3);
  EXPECT_GT(chance, 0.2);
  EXPECT_LT(chance, 0.8);
  EXPECT_NEAR(double(closed) / kDraws, chance, 4 * std::sqrt(chance * (1 - chance) / kDraws));
  EXPECT_EQ(closure(rollers(), {.entered = 0.073}).chance(0.1e-3), 1);
  EXPECT_EQ(closure(rollers(), {.entered = 0.073, .diameter = 0.074}).chance(0.1e-3), 0);
}

TEST(Backlash, LinesOfBothWaysStayInStep) {
  EXPECT_EQ(chance_in_step({.backlash = 40e-6}, 0.1e-3), 1);
  EXPECT_EQ(chance_in_step({.backlash = 60e-6}, 0.1e-3), 0);
  EXPECT_DOUBLE_EQ(chance_in_step({.backlash = 50e-6, .backlash_spread = 20e-6}, 0.1e-3), 0.5);
  EXPECT_NEAR(chance_in_step({.backlash = 30e-6, .backlash_spread = 20e-6}, 0.1e-3), 0.8413447460685429,
              1e-12);
  EXPECT_THAT(message<JobError>([] { chance_in_step({}, 1e-4); }), HasSubstr("rotary.backlash is missing"));
}

TEST(Trials, AskedForAHundredGot97Point4) {
  const Correction put = correction(80e3, {.asked = 0.1, .got = 0.0974, .reading = 0.25e-3});
  EXPECT_NEAR(put.steps.value, 82135.52361396304, 1e-8);
  EXPECT_NEAR(put.art_scale.value, 1.0266940451745379, 1e-15);
  EXPECT_NEAR(put.left, 0.25 / 97.4, 1e-15);
  EXPECT_NEAR(put.steps.spread, put.steps.value * put.left, 1e-9);
  EXPECT_NEAR(0.0974 * put.steps.value / 80e3, 0.1, 1e-15);
  EXPECT_THROW(correction(80e3, {.asked = 0.1, .got = 0, .reading = 0}), ValidityError);
}

TEST(Trials, AShiftAtTheSeamGivesTheSlip) {
  Rotary rotary = rollers();
  rotary.slip = 0.013;
  const double set = steps(rotary, 0.073, 9).stored, way = 10 * kPi * 0.073;
  const double short_by = way - turned(rotary, way, set, 0.0365) * 0.0365;
  const Measure found = slip(std::vector{short_by}, {.turns = 10, .diameter = {0.073, 0}, .reading = 0.2e-3});
  EXPECT_NEAR(found.value, 0.013, 1e-9);
  EXPECT_NEAR(found.spread, 0.2e-3 / way, 1e-15);
  // With steps that are wrong by 2 %, which leave the turn open too.
  const double off = way - turned(rotary, way, 0.98 * set, 0.0365) * 0.0365;
  EXPECT_NEAR(slip(std::vector{off}, {.turns = 10, .diameter = {0.073, 0}, .reading = 0, .steps = 0.98}).value, 0.013, 1e-6);
  const std::vector<double> shifts = {3e-3, 4e-3, 5e-3};
  const Measure several = slip(shifts, {.turns = 2, .diameter = {0.08, 0.08e-3}, .reading = 0.1e-3});
  EXPECT_NEAR(several.value, 4e-3 / (0.16 * kPi), 1e-15);
  EXPECT_NEAR(several.spread, std::hypot(1e-3 / (0.16 * kPi), 1e-3), 1e-15);
  EXPECT_THROW(slip({}, {.turns = 1, .diameter = {0.08, 0}, .reading = 0}), ValidityError);
  EXPECT_THROW(slip(shifts, {.turns = 0, .diameter = {0.08, 0}, .reading = 0}), ValidityError);
}

TEST(Trials, MarksFromBothSidesGiveTheBacklash) {
  const Measure found = backlash(std::vector{0.04e-3, 0.06e-3}, 0.01e-3);
  EXPECT_NEAR(found.value, 0.05e-3, 1e-18);
  EXPECT_NEAR(found.spread, 0.02e-3 / std::sqrt(2.0), 1e-18);
}

TEST(Diameters, FromAStripAndATape) {
  const Measure strip = diameter({.length = kPi * (0.073 + 0.1e-3), .thickness = 0.1e-3});
  EXPECT_NEAR(strip.value, 0.073, 1e-15);
  EXPECT_NEAR(strip.spread, 0.5e-3 / kPi, 1e-15);  // 0.16 mm
  // A tape that has climbed 10 mm when it meets itself.
  const double climb = 0.01, round = kPi * 0.073;
  const Measure tape = diameter({.length = std::hypot(round, climb), .askew = std::atan(climb / round)});
  EXPECT_NEAR(tape.value, 0.073, 1e-15);
}

TEST(Diameters, ATapeLaidAnyhow) {
  const Wrapped wrapped{.length = 0.23, .reading = 0.3e-3, .askew = 0.03, .askew_spread = 0.05};
  std::mt19937_64 random(11);
  std::normal_distribution<double> normal;
  const int kDraws = 400'000;
  double sum = 0, squares = 0;
  for (int i = 0; i < kDraws; ++i) {
    const double length = 0.23 + 0.3e-3 * normal(random);
    const double off = length * std::cos(0.03 + 0.05 * normal(random)) / kPi - 0.073;
    sum += off, squares += off * off;
  }
  const double mean = sum / kDraws, spread = std::sqrt(squares / kDraws - mean * mean);
  const Measure found = diameter(wrapped);
  EXPECT_NEAR(found.value, 0.073 + mean, 5 * spread / std::sqrt(kDraws));
  EXPECT_NEAR(found.spread / spread, 1, 0.015);
}

TEST(Diameters, FromACaliper) {
  EXPECT_DOUBLE_EQ(diameter(std::vector{0.073}).spread, 0.05e-3);
  const Measure four = diameter(std::vector{0.0730, 0.0732, 0.0730, 0.0732});
  EXPECT_NEAR(four.value, 0.0731, 1e-15);
  EXPECT_NEAR(four.spread, 0.1e-3 / std::sqrt(3.0), 1e-15);
  EXPECT_THROW(diameter({.length = 1e-4, .thickness = 1e-3}), ValidityError);
}

RC_GTEST_PROP(Seat, ThreeCirclesTouch, ()) {
  Rotary rotary = rollers();
  const double radius = draw(0.02, 0.06);
  rotary.roller_diameter = draw(0.01, 0.06), rotary.roller_gap = radius * draw(0.01, 1.98);
  const Seat lies = seat(rotary, Profile(straight(2 * radius)));
  const double aside = (rotary.roller_gap + rotary.roller_diameter) / 2;
  RC_ASSERT(std::abs(std::hypot(lies.above, aside) - radius - rotary.roller_diameter / 2) < 1e-15);
  RC_ASSERT(std::abs(std::tan(lies.angle) * lies.above / aside - 1) < 1e-9);
  RC_ASSERT(lies.tilt == 0 && lies.walk == 0);
}

// [m] between the tilted cone's surface at an axial position and a roller's, at the azimuth where they are
// nearest.
double free_of_rollers(const Rotary& rotary, const Seat& lies, double radius, double axial) {
  const double aside = (rotary.roller_gap + rotary.roller_diameter) / 2;
  double least = 1;
  for (double azimuth = 0; azimuth < kPi / 2; azimuth += 5e-5) {  // from straight below
    const double up = lies.above + std::sin(lies.tilt) * (axial - rotary.contact) -
                      radius * std::cos(azimuth) * std::cos(lies.tilt);
    least = std::min(least, std::hypot(radius * std::sin(azimuth) - aside, up) - rotary.roller_diameter / 2);
  }
  return least;
}

TEST(Seat, AConeTouchesAtOnePlace) {
  Rotary rotary = rollers();
  rotary.contact = 0.04;
  const Profile cone(taper(0.08, 0.06));
  const Seat lies = seat(rotary, cone);
  for (double axial = 0; axial <= 0.1; axial += 0.002) {
    const double free = free_of_rollers(rotary, lies, cone.radius(axial), axial);
    if (std::abs(axial - rotary.contact) < 1e-9) {
      EXPECT_NEAR(free, 0, 1e-10);
    } else {
      EXPECT_GT(free, 1e-7) << axial;
    }
  }
  EXPECT_LT(lies.tilt, -0.1);  // the wide end, at 0, up
}

// Rocked from where it lies, its centre of mass rises.
TEST(Seat, AConeLiesOverItsCentreOfMass) {
  Rotary rotary = rollers();
  const Profile cone(taper(0.08, 0.06));
  const auto lift = [&](double contact) {
    rotary.contact = contact;
    const Seat lies = seat(rotary, cone);
    return lies.above + std::sin(lies.tilt) * (0.05 - contact);  // of the centre of mass, at 50 mm
  };
  const double under = 0.054 / 1.01;  // contact + r r' = 50 mm, where r = 40 mm - 0.1 contact, r' = -0.1
  EXPECT_GT(lift(under - 1e-3), lift(under));
  EXPECT_GT(lift(under + 1e-3), lift(under));
}

// A point of the tilted part where it touches a roller, turned about the part's axis: how far it is carried
// along.
TEST(Seat, AConeWalksAtMostByItsTilt) {
  Rotary rotary = rollers();
  rotary.contact = 0.04;
  const Seat lies = seat(rotary, Profile(taper(0.08, 0.06)));
  const double axis[3] = {std::cos(lies.tilt), 0, std::sin(lies.tilt)};
  const double sphere = lies.radius * std::sqrt(1.01);  // the slope is 0.1
  const double arm[3] = {0, sphere * std::sin(lies.angle), -sphere * std::cos(lies.angle)};
  const double along = axis[1] * arm[2] - axis[2] * arm[1];
  EXPECT_NEAR(lies.walk, 2 * kPi * std::abs(along), 1e-12);
  EXPECT_GT(lies.walk, 1e-3);
  EXPECT_NEAR(skew_walk(0.0365, 0.01), 2 * kPi * 0.0365 * std::tan(0.01), 1e-15);
  EXPECT_THROW(skew_walk(0.0365, 1.0), ValidityError);
}

TEST(Seat, TheTopAboveTheBed) {
  Rotary rotary = chuck();
  EXPECT_THAT(message<JobError>([&] { top(rotary, Profile(capped()), 0); }),
              HasSubstr("rotary.axle_height is missing"));
  rotary.axle_height = 0.06;
  EXPECT_DOUBLE_EQ(top(rotary, Profile(capped()), 0.16), 0.085);
  rotary = rollers();
  rotary.axle_height = 0.02;  // 3-4-5: (35 + 15)^2 = 40^2 + (15 + 15)^2
  rotary.roller_gap = 0.03;
  EXPECT_NEAR(top(rotary, Profile(straight(0.07)), 0.05), 0.02 + 0.04 + 0.035, 1e-15);
  rotary.contact = 0.04;  // a cone, turned as a whole by its tilt
  const Profile cone(taper(0.08, 0.06));
  const Seat lies = seat(rotary, cone);
  const double slant = std::atan(-0.1) + lies.tilt;
  EXPECT_NEAR(top(rotary, cone, 0.09) - top(rotary, cone, 0.04), 0.05 * std::sqrt(1.01) * std::sin(slant),
              1e-15);
  EXPECT_NEAR(top(rotary, cone, 0.04), 0.02 + lies.above + 0.036 * std::cos(lies.tilt), 1e-15);
}

}  // namespace
}  // namespace circumfluence::motion
