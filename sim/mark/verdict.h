// What a prediction comes to: does it mark, does it over-burn, and by what margin.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "appearance/overview.h"
#include "mark/scene.h"
#include "response/factors.h"

namespace circumfluence::mark {

enum class Ruling { leaves_no_mark, under_marks, marks, over_burns };
inline constexpr const char* kRulingNames[4] = {"leaves no mark", "under-marks", "marks", "over-burns"};

struct Spot {
  double axial = 0, around = 0;  // [m]
};

struct Verdict {
  Ruling ruling = Ruling::leaves_no_mark;
  double wanted_area = 0, unwanted_area = 0;  // [m^2]
  std::array<double, 4> wanted{},
      unwanted{};           // [1] shares of those areas by outcome, in the order of Outcome
  double least_factor = 0;  // [1] on power: below it less than outcome.required of the wanted area is marked
  double greatest_factor = 0;  // [1] on power: above it more than outcome.tolerated is over-burned
  double chance_marks = 0;   // [1] that the margin down holds, from the spreads of the material figures alone
  double chance_spares = 0;  // [1] that the margin up holds
  bool over_limits = false;  // the margin up is the nearer one
  Spot limiting;             // where the nearer margin ends: the weakest or the hottest place
  double hottest = 0;        // [K]
  double duration = 0;       // [s]
  int lines = 0;             // over all passes
  std::vector<std::string> notes;     // where the model is stretched
  std::vector<std::string> cautions;  // what a person must mind
};

// What the traversal gathers beside the maps.
struct Tally {
  appearance::Overview overview;
  response::Factors mark;  // of the wanted cells
  response::Factors over;  // of all cells
  double hottest = 0;      // [K]
  Spot hottest_at;
};

Verdict judge(const Scene& scene, const workpiece::Surface& surface, const motion::Raster& raster,
              const response::Model& model, const Tally& tally);

// What a person must mind before switching on, for this wavelength and power, the part and its materials.
// Sources: the class limit as of IEC 60825-1 (any open beam above 0.5 W is class 4); the rest is common
// practice, no source. Local rules and the makers' instructions come first; a person must check those in
// force.
std::vector<std::string> cautions(const Scene& scene);

// A few lines for a person; the same for a script, as one JSON object in SI units.
std::string text(const Verdict& verdict);
std::string json(const Verdict& verdict);

}  // namespace circumfluence::mark
