#include "motion/rotary.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::motion {
namespace {

using quantity::format;
using quantity::JobError;
using quantity::kPi;

constexpr double kAgrees = 0.005;  // [1] by which a driven diameter may differ from what the steps make

bool given(double value) {
  return !std::isnan(value);
}

double or_else(double value, double otherwise) {
  return given(value) ? value : otherwise;
}

// The value, which must be there.
double need(double value, const char* key, const char* why) {
  if (!given(value)) throw JobError(fmt::format("rotary.{} is missing ({})", key, why));
  return value;
}

double steps_a_turn(const Rotary& rotary) {
  constexpr const char* kWhy = "without it the steps of a turn are not known";
  const auto whole = [](int count) { return count > 0 ? double(count) : quantity::kUnset; };
  return need(whole(rotary.motor_steps), "motor_steps", kWhy) *
         need(whole(rotary.microsteps), "microsteps", kWhy) * need(rotary.reduction, "reduction", kWhy);
}

// [m] of the surface, a turn of the output.
double travel_a_turn(const Rotary& rotary, double diameter) {
  if (rotary.drive == Drive::chuck) return kPi * diameter;
  return kPi *
         need(rotary.roller_diameter, "roller_diameter", "rollers turn the part by their own circumference");
}

double contact_radius(const Rotary& rotary, const workpiece::Profile& profile) {
  return given(rotary.contact) ? profile.radius(rotary.contact) : profile.greatest_radius();
}

// [m] R but for slip.
double unslipped_radius(const Rotary& rotary, const workpiece::Profile& profile) {
  if (rotary.drive == Drive::chuck) return steps_a_turn(rotary) / (2 * kPi * rotary.set_steps);
  const double radius = contact_radius(rotary, profile);
  if (!given(rotary.set_steps)) return radius;
  return radius * steps_a_turn(rotary) / travel_a_turn(rotary, quantity::kUnset) / rotary.set_steps;
}

// Of a drive of one kind, what only the other has.
void check_drive(const Rotary& rotary) {
  if (rotary.drive == Drive::rollers) return;
  const auto refuse = [](double value, const char* key, const char* unit) {
    if (given(value))
      throw JobError(
          fmt::format("rotary.{} = {} (a chuck has none; expected with rotary.drive = \"rollers\")", key,
                      format(value, unit)));
  };
  refuse(rotary.roller_diameter, "roller_diameter", "mm");
  refuse(rotary.roller_gap, "roller_gap", "mm");
  refuse(rotary.contact, "contact", "mm");
  refuse(rotary.slip, "slip", "%");
  refuse(rotary.slip_spread, "slip_spread", "%");
}

void check_pairs(const Rotary& rotary) {
  if (given(rotary.slip_spread)) need(rotary.slip, "slip", "rotary.slip_spread is about it");
  if (given(rotary.backlash_spread)) need(rotary.backlash, "backlash", "rotary.backlash_spread is about it");
  if (given(rotary.roller_gap))
    need(rotary.roller_diameter, "roller_diameter", "rotary.roller_gap lies between rollers");
  if (given(rotary.set_steps)) {
    steps_a_turn(rotary);
    travel_a_turn(rotary, 1.0);
  }
}

// Where the widest diameter is an edge only, the part tips, and where it then rests is not known.
bool rests_level(const workpiece::Part& part) {
  if (part.shape == workpiece::Shape::tapered) return part.diameter == part.end_diameter;
  if (part.shape != workpiece::Shape::table) return true;
  double greatest = 0, held = 0;
  for (size_t i = 0; i < part.profile.size(); ++i) {
    greatest = std::max(greatest, part.profile[i].second);
    if (i > 0) held = std::max(held, std::min(part.profile[i].second, part.profile[i - 1].second));
  }
  return held == greatest;
}

void check_contact(const Rotary& rotary, const workpiece::Part& part) {
  if (rotary.drive == Drive::chuck) return;
  if (!given(rotary.contact)) {
    if (!rests_level(part))
      throw JobError(
          "rotary.contact is missing (this part touches level rollers at one place only; expected its axial "
          "position, "
          "about that of its centre of mass)");
    return;
  }
  if (rotary.contact < 0 || rotary.contact > part.length)
    throw JobError(fmt::format("rotary.contact = {} (beyond the part; expected from 0 mm to {})",
                               format(rotary.contact, "mm"), format(part.length, "mm")));
}

void check_driven(const Rotary& rotary, const workpiece::Profile& profile, const Mount& mount) {
  if (mount.hold == Hold::standing || !given(mount.drive_diameter)) return;
  if (rotary.drive == Drive::chuck && !given(rotary.set_steps)) return;
  const double made = 2 * unslipped_radius(rotary, profile);
  if (std::abs(mount.drive_diameter / made - 1) <= kAgrees) return;
  throw JobError(fmt::format(
      "mount.drive_diameter = {} ({}, the drive makes arcs true at a diameter of {}; expected the same "
      "within {}). "
      "Leave it out",
      format(mount.drive_diameter, "mm"),
      given(rotary.set_steps) ? "with rotary.set_steps as they are" : "on rollers, by what touches them",
      format(made, "mm"), format(kAgrees, "%")));
}

}  // namespace

void check(const Rotary& rotary, const workpiece::Part& part, const Mount& mount) {
  check_drive(rotary);
  check_pairs(rotary);
  check_contact(rotary, part);
  const workpiece::Profile profile(part);
  if (given(rotary.roller_gap)) seat(rotary, profile);
  check_driven(rotary, profile, mount);
}

double driven_radius(const Rotary& rotary, const Mount& mount, const workpiece::Profile& profile,
                     double focus_at) {
  const bool drive_says = rotary.drive == Drive::rollers || given(rotary.set_steps);
  if (mount.hold == Hold::turning && drive_says)
    return unslipped_radius(rotary, profile) / (1 - or_else(rotary.slip, 0.0));
  return or_else(mount.drive_diameter, 2 * profile.radius(focus_at)) / 2;
}

Steps steps(const Rotary& rotary, double diameter, int decimals) {
  if (!(diameter > 0) || !std::isfinite(diameter))
    throw quantity::ValidityError(
        fmt::format("rotary: steps for a diameter of {} (expected one above 0 mm)", format(diameter, "mm")));
  if (decimals < 0 || decimals > 9)
    throw quantity::ValidityError(
        fmt::format("rotary: steps a mm of {} decimals (expected 0 to 9)", decimals));
  const double turn = steps_a_turn(rotary), travel = travel_a_turn(rotary, diameter);
  const double last = 1e3 * std::pow(10.0, -decimals);  // [1/m] the last decimal of 1/mm
  const double stored = std::round(turn / travel / last) * last;
  if (!(stored > 0))
    throw quantity::ValidityError(fmt::format("rotary: {} a mm is 0 at {} decimals (expected more decimals)",
                                              format(turn / travel, "1/mm"), decimals));
  return {
      .a_turn = turn, .exact = turn / travel, .stored = stored, .travel = travel, .smallest = travel / turn};
}

Seat seat(const Rotary& rotary, const workpiece::Profile& profile) {
  constexpr const char* kWhy = "without it, where the part lies is not known";
  const double roller = need(rotary.roller_diameter, "roller_diameter", kWhy) / 2;
  const double gap = need(rotary.roller_gap, "roller_gap", kWhy);
  const double radius = contact_radius(rotary, profile);
  if (gap >= 2 * radius)
    throw JobError(
        fmt::format("rotary.roller_gap = {} (wider than the part, which falls through; expected below {})",
                    format(gap, "mm"), format(2 * radius, "mm")));
  // The sphere within the cone that touches it at the contact's circle is what lies on the rollers.
  const double slope = given(rotary.contact) ? profile.slope(rotary.contact) : 0.0,
               stretch = std::hypot(1.0, slope);
  const double sphere = radius * stretch, far = sphere + roller, half = gap / 2 + roller;
  const double centre = std::sqrt((far - half) * (far + half)), sine = slope / stretch * far / centre;
  if (!(std::abs(sine) < 1))
    throw JobError(fmt::format("rotary.contact = {} (the part is too steep there to lie on these rollers)",
                               format(rotary.contact, "mm")));
  return {.contact = rotary.contact,
          .radius = radius,
          .above = centre - sine * slope * radius,
          .angle = std::asin(half / far),
          .tilt = std::asin(sine),
          .walk = 2 * kPi * sphere * std::abs(sine) * half / far};
}

double skew_walk(double radius, double skew) {
  if (!(radius > 0) || !(std::abs(skew) < kPi / 4))
    throw quantity::ValidityError(fmt::format(
        "rotary: a skew of {} (expected below 45 deg, of a radius above 0 mm)", format(skew, "deg")));
  return 2 * kPi * radius * std::tan(std::abs(skew));
}

double top(const Rotary& rotary, const workpiece::Profile& profile, double axial) {
  const double axle =
      need(rotary.axle_height, "axle_height", "without it, how high the part lies is not known");
  if (rotary.drive == Drive::chuck) return axle + profile.radius(axial);
  const Seat lies = seat(rotary, profile);
  const double lever = given(lies.contact) ? axial - lies.contact : 0.0;
  return axle + lies.above + lever * std::sin(lies.tilt) + profile.radius(axial) * std::cos(lies.tilt);
}

}  // namespace circumfluence::motion
