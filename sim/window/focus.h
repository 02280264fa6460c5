// How a setting answers to height: what a fill comes to above and below the focus, how much height it
// forgives, whether the part moves by less, and at which focus it closes with the widest line spacing.
//
//   w_a(z) = w0_a sqrt(1 + ((z - z_a) / zR_a)^2),   z = -focus_offset as set
//
// z [m]: height of the surface above the nominal focus; w: 1/e^2 radius. At each height the fill is solved as
// in window/ends.h, on a wall as cold as the part; what one line alone marks is EvenFill::width.
//
// Room in height. From the job's own height outward over the heights looked at, the first step at which the
// fill no longer comes out as asked is bisected to 0.1 um; a dip narrower than a step is missed. Chances of
// draws (window/chance.h) are solved at no more than kChanceNodes heights; between them ln of each draw's
// ends lies on a curve: within 0.01 of their own solution (tested).
//
// What moves the surface. r: radius, R: run-out, e: how far the beam lies beside the axis, o: ovality, greatest
// less least diameter, whence the radius r + (o/4) cos(2 phi) lies within o/4 of its mean. A turning part then
// stays between circles of r - R - o/4 and r + R + o/4 about the turning axis, so that the surface under the
// beam stays between
//   sqrt((r -+ (R + o/4))^2 - e^2) - sqrt(r_f^2 - e^2)   [m] above where the focus was set, at radius r_f;
// each end is reached for some phase between run-out and ovality (exactly when e = 0). Sag, how far the
// part's own weight bends its axis within the art, counts both ways, since it is not known where along it the
// focus was set. Taper and the curve of a standing part count from the art's extent. mount.height_spread is
// not a movement: it is among the draws.
//
// Coarsest spacing. All distances in a fill grow with its spacing, so that the power it needs rises steadily
// with the spacing h, and so does the power that over-burns it: the widest h that marks is bisected within
// 1e-4, and is none when it over-burns, as all finer ones then do. One solution of the heat serves every
// spacing. A beam whose waists lie at one height is the same above and below them, so that two focus offsets
// serve equally: of both the one nearer to the job's is told, of equals the one with the focus above the
// surface, where the head stands further from the part.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "window/window.h"

namespace circumfluence::window {

struct FocusRequest {
  // [m] of the surface above the nominal focus, rising; none: heights_about().
  std::optional<std::vector<double>> heights = {};
  double chance = 0.95;  // [1] asked of coming out good
  double ovality = 0;    // [m] greatest less least diameter
  double sag = 0;        // [m]
  bool chances = true;   // draw the unknowns
  Draws draws = {};
  quantity::Progress progress = {};
};

inline constexpr int kChanceNodes = 33;

// Even steps over two Rayleigh lengths, the lesser ones, on both sides of both waists, and the job's own
// height; symmetric about 0.
std::vector<double> heights_about(const mark::Scene& scene, int count = 81);

struct HeightRow {
  double height;                         // [m]
  double along, across;                  // [m] 1/e^2 radii of the beam, along and across the lines
  double width;                          // [m] that one line alone marks; 0: nothing
  Ends ends;                             // [W] set
  double least_factor, greatest_factor;  // [1] on the power set: marks, burns
  mark::Ruling ruling;                   // at the power set
  double spacing;                        // [m] widest at which the fill comes out good; 0: none does
  Chances chances;                       // NaN where none were drawn
};

// What comes beyond an end; `range`: nothing within the heights looked at.
enum class HeightFault { range, too_little, over_burns };
inline constexpr const char* kHeightFaultNames[3] = {"range", "too little", "over-burn"};

struct HeightEnd {
  double height;  // [m]
  HeightFault fault;
};
// The heights about the job's own in which the fill comes out as asked; without extent when it does not at
// its own.
struct HeightRoom {
  double own = 0;      // [m]
  bool holds = false;  // at its own
  HeightEnd lowest{}, highest{};

  double down() const { return own - lowest.height; }  // [m]
  double up() const { return highest.height - own; }   // [m]
};

// [m] by which the surface comes to lie below and above the height at which the focus was set; 0 or more.
struct Excursion {
  double down = 0, up = 0;
};
struct Excursions {
  Excursion form, runout, ovality, sag;  // each alone: taper and curve, ...
  Excursion total;                       // the worst of all together
};
// Throws ValidityError: below 0, not finite, or so large that the beam would miss the part.
Excursions excursions(const mark::Scene& scene, double ovality, double sag);

// [1] share of the room that is used up, of the tighter side; more than 1: it does not fit; infinity: there
// is no room.
double used(const HeightRoom& room, const Excursion& excursion);

// Outward from the job's own height over the others, in any order; `fault`: what is wrong there, `range` for
// nothing.
HeightRoom room_in_height(double own, const std::vector<double>& heights,
                          const std::function<HeightFault(double height)>& fault);

// [m] the widest spacing at which an even fill of that line is marked and not over-burned at the job's power;
// 0: none from a 16th of the beam's radius on.
double coarsest_spacing(Look& look, const mark::Scene& scene, const mark::Line& line);

struct Coarsest {
  double focus_offset = 0;           // [m] as scan.focus_offset
  double other = quantity::kUnset;   // [m] equally good one beyond the waist; NaN: none
  double spacing = 0, duration = 0;  // [m], [s] of the job's art; 0: no spacing closes
  double safe_spacing = 0,
         safe_duration = 0;  // [m], [s] with the chance asked, at that focus; 0: none, or not drawn
  bool at_the_end = false;   // of the heights looked at: beyond it, it may be wider
};

// Of rows at rising heights; between them the best is searched.
Coarsest coarsest(const mark::Scene& scene, const std::vector<HeightRow>& rows);
// The same focus with the chance asked.
void add_safe(Coarsest& coarsest, const Doubt& doubt, double chance, const quantity::Progress& progress = {});

struct Focus {
  double power, speed, duration;  // [W] set, [m/s], [s]: the job's
  Fill fill;
  double chance;                // [1] asked
  bool drawn;                   // whether chances were asked for
  HeightRow set;                // at the job's own height
  std::vector<HeightRow> rows;  // by height
  HeightRoom nominal, likely;   // marked and not over-burned as the records say; with the chance asked
  Excursions moves;
  Coarsest coarsest;
  std::vector<std::string> notes;
};

// Throws ValidityError: heights empty, not rising or not finite, a chance outside 0 to 1, what excursions()
// throws, and a figure that the records lack; Interrupted.
Focus focus_study(const mark::Scene& scene, const FocusRequest& request = {});

// A few lines for a person; the same for a script, as one JSON object in SI; widths and outcome over height
// as a chart.
std::string text(const Focus& focus);
std::string json(const Focus& focus, const std::vector<std::string>& cautions = {});
void write_picture(const std::string& path, const Focus& focus, const std::string& title);

}  // namespace circumfluence::window
