// How wide art may be on a part that stands still, where to set the focus for it, how to draw art so that it
// looks right on the curve, and in how many indexed strips a wider motif is burnt. Symbols: window/strip.h.
//
// The best focus offset. Between those at which the top of every station stays within the growth allowed,
// nine and 0 are tried; from the two best peaks among them the neighbours at half the distance, and again (5
// times when a chance is asked, else until nothing changes). Two, since a chance may be best on either side
// of focus: where lines leave stripes at the waist and close up away from it. Of equal widths the one with
// the least growth wins, which puts the strip in the middle of the focus depth. It's rounded to a micrometre,
// to the side that keeps its width, and never narrower than the offset set. Where growth alone counts the top
// lies at the end of the focus depth, and the width is that of the doubled sagitta: the middle is then as far
// out of focus as the edges, and a focus any lower loses the middle first.
//
// Indexed strips lie alpha apart in azimuth, and one covers at most twice the least asin(b(u)/r(u)) of all
// stations. Neighbours should meet at alpha/2 from either centre; where they put that line instead follows
// from the equations of the strip. With S = sin(alpha/2), the gap on the surface (negative: burnt twice) is
//   plain     r alpha - 2 r asin(alpha/2)                 art burnt as it is, its edge at y = r alpha/2
//   diameter  r alpha - 2 r asin(q S), q = r_entered/r    ~ -2 (r_entered - r) tan(alpha/2)
//   offset    r (alpha - asin(S + e/r) - asin(S - e/r))   ~ -(e^2/r) tan(alpha/2)/cos^2(alpha/2)
//   index     r beta
// plain leaves the arc r asin(y/r) where the art has y. diameter: pre-distortion and index angle both come
// from the diameter entered, and alpha is the angle turned. offset: the axis stands e beside where the head
// believes it; the whole motif moves by r asin(e/r), its joints only in second order. index: every turn is
// beta too far, and the gaps add up. An overlap of the strips hides gaps up to its width.
//
// Accuracy: exact for the model but for the chance (window/strip.h) and the micrometre of the focus; checked
// in tests/window/width_test.cpp against closed forms, and joints against vertical lines cut with a turned
// circle. The job may turn its part: the answer is what it would be standing. Source: school geometry.
#pragma once

#include "quantity/constants.h"
#include "window/strip.h"

namespace circumfluence::window {

// What may be wrong at the machine; the values are a yardstick, not a claim about any machine.
struct SetupErrors {
  double diameter = 0.1e-3;             // [m] entered, too large by
  double offset = 0.1e-3;               // [m] of the part's axis, sideways
  double index = quantity::kPi / 1800;  // [rad] turned too far: 0.1 deg
};

struct WidthLimits {
  double growth = 1.1;              // [1] 1 to 1000
  double stretch = 1.05;            // [1] 1 to 100
  double chance = 0.95;             // [1] 0 to 1
  double motif = quantity::kUnset;  // [m] arc to cover at the reference radius; NaN: the art's own
  double overlap = 0;               // [m] arc by which strips overlap
  SetupErrors errors = {};          // what joints are asked about
  int rows = 41;                    // of the table, 3 to 100000
  int threads = 0;                  // 0: as many as the machine has
};

void check(const WidthLimits& limits);  // throws ValidityError that names the limit

// Art drawn at arc s looks right when the head burns it at y: on the narrowest station, from edge to edge.
struct ArcRow {
  double arc, lateral;                 // [m] s, y
  double stretch;                      // [1] ds/dy
  double drop;                         // [m] below the top: the sagitta
  double growth_axial, growth_around;  // [1] each radius over its own waist
  double incidence;                    // [1] cos(theta) = cos(phi)/sqrt(1 + r'^2)
};

// What is to be covered in strips; arcs at the reference radius.
struct Cover {
  double motif, overlap;  // [m]
  double usable;          // [rad] that one strip covers at most
  double radius;          // [m]
};

// Strips of equal width: the first and the last end where the motif does, or close on each other.
struct Turns {
  static constexpr int kMost = 100000;
  int count = 0;        // of strips; 0: nothing is usable, or more than kMost would be needed
  double index = 0;     // [rad] from strip to strip
  double strip = 0;     // [m] arc of one strip, its overlaps counted
  bool closed = false;  // all the way around

  int joints() const { return closed ? count : count > 0 ? count - 1 : 0; }
};

// count = ceil((motif - overlap) / (usable - overlap)), or ceil(turn / (usable - overlap)) once around.
// Throws JobError: a motif of no length or more than once around, an overlap below 0 or as wide as the strip.
Turns turns(const Cover& cover);

// [m] gap at each joint, negative where strips overlap; infinity when an edge is burnt beside the part.
struct Joint {
  double plain = 0, diameter = 0, offset = 0, index = 0;
};
Joint joint(double radius, double index, const SetupErrors& errors);

struct Width {
  WidthLimits limits;
  Strip set, best;            // at the job's focus offset, and at the best one
  std::vector<ArcRow> table;  // of `best`; empty when it has no width
  double motif = 0;           // [m] arc that is covered
  Turns turns;                // with `best`
  Joint joint;                // where the least azimuth is; all 0 without joints
  bool asked_chance = false;  // whether (a) counted
  std::vector<std::string> notes;
};

// The chance that the job's own power, speed and fill come out good, neither under-marked nor over-burned, over 64 draws
// of what is not known (window/chance.h). From a table over the heights that limits.growth allows and the tilts up to
// limits.stretch; beyond them as at their end. Empty when limits.chance asks for nothing. Takes up to a second, several
// on bare parts.
Chance standing_chance(const mark::Scene& scene, const WidthLimits& limits);

// Throws ValidityError for limits out of bounds, and what strips() and turns() throw.
Width usable_width(const mark::Scene& scene, const WidthLimits& limits = {}, const Chance& chance = {});

// The table as text, lengths in mm, a header row first.
std::string comma_separated(const std::vector<ArcRow>& table);

}  // namespace circumfluence::window
