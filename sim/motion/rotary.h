// What turns the part: section [rotary]. Its steps, how it sits, whether a full turn closes, what trials say
// of it, and the art for parts of more than one diameter.
//
// N = motor_steps microsteps reduction: steps a turn of the output. A metre of surface takes k steps [1/m],
//   k = N / (pi q), q the rollers' diameter, whatever lies on them;   k = N / (pi D) in a chuck, for a diameter D.
// With k' as set, an arc c is c k' steps, and the part turns by c / R, R [m] being the driven radius,
//   R = r(contact) (k / k') / (1 - slip) on rollers,   R = N / (2 pi k') in a chuck.
// k' not stated is taken as right: R = r(contact) / (1 - slip), or half mount.drive_diameter, or else r(focus_at).
// Assumes parallel, level rollers without play; slip is a share of the travel. Exact; checked against closed forms and
// draws (docs/theory/rotary.md). Source: school geometry; the trials are common practice, no source.
#pragma once

#include <span>
#include <vector>

#include "motion/mount.h"
#include "workpiece/profile.h"

namespace circumfluence::motion {

// chuck: the part turns with the output; rollers: it rests on two and is turned by their surfaces.
enum class Drive { chuck, rollers };

struct Rotary {
  Drive drive = Drive::chuck;
  int motor_steps = 0;                        // full steps a turn of the motor; 0: not given
  int microsteps = 0;                         // a full step; 0: not given
  double reduction = quantity::kUnset;        // [1] motor turns a turn of the output
  double roller_diameter = quantity::kUnset;  // [m]
  double roller_gap = quantity::kUnset;       // [m] free width between the two surfaces
  double contact = quantity::kUnset;          // [m] axial position that rests on the rollers; NaN: the widest
  double axle_height = quantity::kUnset;      // [m] of the turning axis, or the rollers' axes, above the bed
  double set_steps = quantity::kUnset;        // [1/m] now in the controller
  double flat_steps = quantity::kUnset;       // [1/m] of the flat axis, to be put back
  double slip = quantity::kUnset;             // [1] share of the travel that is lost; NaN: none
  double slip_spread = quantity::kUnset;      // [1] standard deviation, from job to job
  double backlash = quantity::kUnset;         // [m] lost at each reversal, at the driven surface
  double backlash_spread = quantity::kUnset;  // [m] standard deviation
};

const quantity::Fields<Rotary>& rotary_fields();

// Throws JobError when the members do not fit each other, the part or the mount: one that falls between the rollers, a
// mount.drive_diameter that is not what the steps make (0.5 %).
void check(const Rotary& rotary, const workpiece::Part& part, const Mount& mount);

// [m] R above; standing parts and an empty section: half mount.drive_diameter, or else the radius at focus_at.
double driven_radius(const Rotary& rotary, const Mount& mount, const workpiece::Profile& profile, double focus_at);

// Steps that put `diameter` [m] right. Throws JobError naming the member it lacks.
struct Steps {
  double a_turn;    // [1] N
  double exact;     // [1/m] k
  double stored;    // [1/m] k as a controller keeps it, of so many decimals of 1/mm
  double travel;    // [m] of the surface, a turn of the output
  double smallest;  // [m] of the surface, one step
};
Steps steps(const Rotary& rotary, double diameter, int decimals = 3);

// How a part lies on two rollers: level where its surface is, else on one place, the wide end up; its centre of mass is
// then r r' beyond it. With l = sqrt(1 + r'^2), q the rollers' diameter, f = l r + q/2, and the height of that centre
// H = sqrt(f^2 - ((q + gap)/2)^2): above = H - r r' sin(tilt), sin(tilt) = r' f / (l H), sin(angle) = (q + gap)/(2 f).
struct Seat {
  double contact, radius;  // [m] axial position, NaN where all of the widest counts; its radius
  double above;            // [m] the part's axis, at `contact`, above the rollers'
  double angle;            // [rad] at which the rollers bear, from the vertical
  double tilt;             // [rad] of the part's axis, up towards greater positions
  double walk;             // [m] a turn, along the axis, if one roller alone grips: 2 pi l r sin(tilt) sin(angle)
};
Seat seat(const Rotary& rotary, const workpiece::Profile& profile);
double skew_walk(double radius,
                 double skew);  // [m] along the axis, a turn: 2 pi r tan(skew) between axis and rollers
// [m] above the bed, of the part's top at an axial position: to raise the head by. Throws JobError without
// axle_height.
double top(const Rotary& rotary, const workpiece::Profile& profile, double axial);

struct Measure {
  double value, spread;  // SI; standard deviation
};

// What a commanded full turn pi D_e leaves open (+) or overlaps (-) at the seam [m], at the driven diameter
// D, by cause. Rollers: D - D_e opens it; a chuck turns by angle, whatever D. Backlash counts once: set off
// against the last way.
struct FullTurn {
  double entered;                      // [m] D_e
  double diameter = quantity::kUnset;  // [m] D; NaN: as entered
  double diameter_spread = 0.0;        // [m] standard deviation of D
  int decimals = 3;                    // of steps a mm, where set_steps is not stated
};
struct Closure {
  Measure diameter, whole_steps, set_steps, slip, backlash, sum;  // [m]
  double chance(double most) const;                               // [1] that |sum| <= most
};
Closure closure(const Rotary& rotary, const FullTurn& turn);

// [1] that lines around, burnt two-way, are displaced against each other by at most half a spacing [m].
double chance_in_step(const Rotary& rotary, double spacing);

// Asked for a travel, got another: steps that put it right, or, where they cannot be changed, the art's scale
// along it; `left` is what the reading's error leaves of a travel.
struct Trial {
  double asked, got, reading;  // [m]; standard deviation of `got`
};
struct Correction {
  Measure steps, art_scale;  // [1/m], [1]: asked / got
  double left;               // [1]
};
Correction correction(double set_steps, const Trial& trial);

// After turns of pi `diameter` each, a way w, how far the last mark falls short of the first: x is a slip of
// 1 - (1 - x / w) k / k'. One shift has the spread of its reading, several their own; a wrong diameter cannot be told from
// slip, and stays however many turns.
struct SeamTrial {
  int turns;
  Measure diameter;  // [m]
  double reading;    // [m] standard deviation of a shift
  double steps = 1;  // [1] k'/k, those set over the right ones
};
Measure slip(std::span<const double> shifts, const SeamTrial& trial);
// Marks made at one place from both sides: how far apart.
Measure backlash(std::span<const double> distances, double reading);

// [m] a diameter from round the part: D = L cos(askew) / pi - t for a strip, string or tape of thickness t.
struct Wrapped {
  double length;            // [m] L where the end meets the start
  double reading = 0.5e-3;  // [m] standard deviation; a millimetre scale: common practice, no source
  double thickness = 0.0;   // [m]
  double askew = 0.0, askew_spread = 0.0;  // [rad] from square to the axis; normal
};
Measure diameter(const Wrapped& wrapped);
// Across it, by caliper, several turned against each other.
Measure diameter(std::span<const double> across, double reading = 0.05e-3);

// Where the art comes out true when it is drawn in lengths of the surface: multiply its size around by R / r
// and along the axis by (axial length) / (surface length) = 1 / sqrt(1 + r'^2), for a head that moves level.
struct Band {
  double from, to;                // [m] axial
  double radius;                  // [m] half way
  double scale_around;            // [1] half way
  double around_from, around_to;  // [1] at its ends: what a taper's art must be wedged by
  double scale_axial;             // [1]
  double level;                   // [rad] tilt of the axis that lays its top level: -atan(mean slope)
};
// Cut where the radius steps and where the surface bends by more than 0.5 % of scale_axial.
std::vector<Band> bands(const workpiece::Part& part, double from, double to, double driven_radius);

}  // namespace circumfluence::motion
