// A strip along the top of a part that stands still while the head moves across it: how far from top dead
// centre what the job asks for still holds.
//
// y: lateral position of the head from top dead centre [m]; phi: azimuth there [rad]; s: arc on the surface
// [m]; r(u): radius at axial position u [m]. A beam straight from above meets the part at
//   y = r sin(phi),   s = r phi,   so   y = r sin(s/r),   s = r asin(y/r),   ds/dy = 1/cos(phi),
// where the surface lies at height r cos(phi) + lift - (r(u_f) + offset) above the nominal focus: u_f is
// where the focus was set, offset scan.focus_offset (negative: down the curve), lift what run-out raises the
// part. The strip |y| <= b ends where the first of three limits does:
//   (a) chance: an even fill comes out marked with the asked probability, a callable of the caller's;
//   (b) growth: neither radius of the spot has grown by more than g times its own waist, which by
//       beam/caustic.h it keeps while |z - z_a| <= zR_a sqrt(g^2 - 1); both axes together allow heights from
//       `lowest` to `highest`, and down from a top that lies within, the strip ends at `lowest`. With the
//       focus on the top of a round spot the sagitta is zR sqrt(g^2 - 1); with the top at `highest` twice
//       that, and the strip nearly sqrt(2) times as wide;
//   (c) stretch: ds/dy stays within what is asked.
// (b) and (c) are closed forms. (a) need not fall steadily with y, since above a low focus the middle fails
// first: y goes up in 12 steps to where (b) or (c) ends, a sag of three steps that a parabola through them
// puts below what is asked is looked at, and the first failure is bisected; about 20 calls a station. What
// held last is taken, within 1/1500 of the narrower of (b) and (c); a dip much narrower than a step is
// missed.
//
// Stations: where the radius varies, places along the art, both sides of kinks and steps among them; one for
// each piece of one radius. The part is taken to be the same on both sides of the top, and mount.beam_offset
// is left out: the strip lies about the part's own top.
//
// Accuracy: (b) and (c) to 1e-9; tabled half-widths, sagittas and arcs in tests/window/strip_test.cpp.
// Source: school geometry; ISO 11146-1 for the caustic.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "mark/scene.h"

namespace circumfluence::window {

double lateral(double radius, double arc);      // [m] r sin(s/r)
double arc(double radius, double lateral);      // [m] r asin(y/r), |y| <= r
double stretch(double radius, double lateral);  // [1] ds/dy = 1/cos(phi), |y| < r

// [m] above the nominal focus, between which both radii stay within `growth` times their own waist; lowest
// above highest when no height does.
struct Heights {
  double lowest, highest;
};
Heights heights(const beam::Caustic& caustic, double growth);

// [m] half-widths in y that one limit leaves, 0 when the top fails already. `axis`: height of the part's axis
// above the nominal focus. Within a picometre of a limit counts as within.
double half_width_by_growth(double radius, double axis, const Heights& allowed);
double half_width_by_stretch(double radius, double stretch);

// [1] probability that an even fill comes out marked at axial position [m], lateral distance from top dead
// centre [m], 0 or more, and focus offset [m]. Called from several threads at once.
using Chance = std::function<double(double axial, double lateral, double focus_offset)>;

// What ends a strip.
enum class Bound { chance, growth, stretch };
inline constexpr const char* kBoundNames[3] = {"chance", "growth", "stretch"};

struct Station {
  double axial, radius, slope;  // [m], [m], [1]
  // [m] half-widths in y by limit, in the order of Bound; chance: infinity when it holds as far as both
  // others.
  double by[3] = {quantity::kInfinity, 0, 0};

  Bound bound() const;
  double half_width() const { return by[int(bound())]; }
  double half_angle() const;  // [rad]
};

// At one focus offset.
struct Strip {
  double focus_offset = 0;        // [m]
  std::vector<Station> stations;  // along the axis
  int narrowest = 0;              // of them, in y
  int least_angle = 0;            // of them, in azimuth; only a chance makes it another one
  double growth = 0;              // [1] greatest of the spot in it; of the tops when it has no width
  std::string why;                // in words, when it has no width

  const Station& limiting() const { return stations[size_t(narrowest)]; }
  double half_width() const { return limiting().half_width(); }  // [m] in y
};

// The part as it stands under this laser, whatever the focus.
struct Standing {
  beam::Caustic caustic;
  double growth, stretch, chance;  // [1] the limits
  Heights allowed;
  double focus_radius, lift;      // [m] r(u_f), and what run-out raises the part
  std::vector<Station> stations;  // not measured yet

  // [m] of the part's axis above the nominal focus.
  double axis(double focus_offset) const { return lift - focus_radius - focus_offset; }
  // [1] the greater of both radii over its own waist, at a height above the nominal focus.
  double growth_at(double height) const;
};
Standing standing(const mark::Scene& scene, double growth, double stretch, double chance);

// A strip for each focus offset. Throws ValidityError when `chance` answers outside 0 to 1, and what it
// throws.
std::vector<Strip> strips(const Standing& part, const std::vector<double>& offsets, const Chance& chance,
                          int threads);

}  // namespace circumfluence::window
