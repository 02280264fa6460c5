// What a prediction comes to: does it mark, does it over-burn, and by what margin.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "appearance/overview.h"
#include "mark/fill.h"
#include "response/factors.h"

namespace circumfluence::mark {

enum class Ruling { leaves_no_mark, under_marks, marks, over_burns };
inline constexpr const char* kRulingNames[4] = {"leaves no mark", "under-marks", "marks", "over-burns"};

struct Spot {
  double axial = 0, around = 0;  // [m]
};

// Where the base is hottest: how far from the line's middle it is above its solidus. By conduction alone; latent heat
// and stirring are left out.
struct Melt {
  double depth = 0, width = 0;  // [m]
};

struct Verdict {
  Ruling ruling = Ruling::leaves_no_mark;
  double wanted_area = 0, unwanted_area = 0;  // [m^2]
  // [1] shares of those areas by outcome, in the order of Outcome
  std::array<double, 4> wanted{}, unwanted{};
  double power = 0, rated_power = 0;  // [W] set at the source, and the most that it gives
  // [1] on power: below it less than outcome.required of the wanted area is marked, by cells and between the
  // lines of an even fill; infinity when no power
  // marks that much, NaN when the art wants nothing here. Good to the 1.1 % of response/factors.h.
  double least_factor = 0;
  // [1] on power: above it more than outcome.tolerated of the wanted area is over-burned, in it or beside it;
  // infinity when no power does.
  double greatest_factor = 0;
  double chance_marks = 0;   // [1] that the job marks as set, from the spreads of the material figures alone
  double chance_spares = 0;  // [1] that it doesn't over-burn as set, likewise
  const char* chances_from = "as far as the material figures are known";
  bool fill_limits = false;  // the even fill between its lines sets least_factor, not the map's cells
  bool stripes = false;      // lines are marked, but too little of what lies between them
  bool over_limits = false;  // the margin up is the nearer one, or already used up
  Spot limiting;             // where that margin ends: the weakest place, or the one that burns first
  double hottest = 0;        // [K]
  Melt melt;
  double softened = 0;       // [1] share of the lines' places where the wall is warm enough to soften the coat
  double warmest_wall = 0;   // [K] of the wall where and when a line came to it
  double duration = 0;       // [s]
  int lines = 0;             // over all passes
  std::vector<std::string> notes;     // where the model is stretched
  std::vector<std::string> cautions;  // what a person must mind
};

// The cell with the extreme factor on power so far; of equals the first in the order of rows and columns.
struct Extreme {
  double factor = 0;  // [1]; 0: none yet
  Spot at;
};

// What the traversal gathers beside the maps.
struct Tally {
  appearance::Overview overview;
  response::Factors mark;  // of the wanted cells
  response::Factors over;  // of all cells
  double hottest = 0;      // [K]
  Extreme last_to_mark;    // of the wanted cells that some power marks
  Extreme first_to_burn;   // of all cells
  double softened = 0;     // [1] share of the lines' places where the wall is warm enough to soften the coat
  bool wall_capped = false;  // the wall would have got hotter than it can
  double wall_mean = 0;    // [K] the same over all lines and places
  double wall_rise = 0;    // [K] the wall's greatest own rise when the beam came
  double wall_share = 0;   // [1] of the base's peak rise that is owed to its back face
};

// Everything that a verdict is drawn from.
struct Evidence {
  const Scene& scene;
  const workpiece::Surface& surface;
  const motion::Raster& raster;
  const response::Model& model;
  const Tally& tally;
};

Verdict judge(const Evidence& evidence);

Melt melt_of(const Evidence& evidence, const Line& line);

// Where the model is stretched and what the maps cannot show, in sentences; looks at the verdict's figures.
std::vector<std::string> notes(const Evidence& evidence, const Line& line, const Verdict& verdict);

// What a person must mind before switching on, for this wavelength and power, the part and its materials.
// Sources: the class limit as of IEC 60825-1 (any open beam above 0.5 W is class 4); the rest is common
// practice, no source. Local rules and the makers' instructions come first; a person must check those in
// force.
std::vector<std::string> cautions(const Scene& scene);

// "34 min 30 s"; "0.35 s" below ten
std::string clock(double seconds);
// "95 %"; "over 99 %", since no figure of a material is known well enough to be certain of anything.
std::string chance_text(double chance);

// A few lines for a person; the same for a script, as one JSON object in SI units.
std::string text(const Verdict& verdict);
std::string json(const Verdict& verdict);
// Pieces of JSON, RFC 8259; "null" for a number that is not finite.
std::string json_number(double value);
std::string json_text(const std::string& text);
std::string json_list(const std::vector<std::string>& texts);

}  // namespace circumfluence::mark
