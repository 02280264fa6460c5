// Settings worth choosing: the fastest that are safe enough, and what time buys in safety.
//
// At a speed, powers from the least that marks with the asked chance up to the greatest that spares the part with the
// asked chance, or to the rated power, will do; of them the one with the best chance of coming out good is taken. Speeds
// are searched over a window's own range on a grid in ln(speed) and between the last that will do and the first that will
// not, then rounded down to three figures and solved again. Of several fills the fastest wins.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "window/window.h"

namespace circumfluence::window {

struct Wish {
  double marks = 0.95;  // [1] least chance of marking
  double burns = 0.05;  // [1] greatest chance of over-burning
};

struct Setting {
  double power = 0, speed = 0;              // [W] set at the source, [m/s]
  Fill fill{};
  double duration = 0;                      // [s]
  Chances chances{};
  double power_low = 0, power_high = 0;     // [W] within which the wish holds at this speed
  Interval least_factor{}, greatest_factor{};  // [1] on power, as a verdict's
};

// The setting with its chances, the powers that meet the wish, up to `rated` [W], and the intervals of its factors.
// Power, speed, fill and duration stay as they are.
Setting appraised(Setting setting, const Outlook& outlook, const Wish& wish, double rated);

// One limit that, alone, would have to give way for the wish to be met, and how far.
struct Relaxation {
  std::string what;   // "laser.rated_power", "chance of marking", "scan.speed", ...
  double from, to;    // SI
  const char* unit;   // to print it in
};

struct Recommendation {
  std::optional<Setting> fastest;
  std::vector<Setting> trade;             // the best at each speed, by rising time, each safer than all faster ones
  std::vector<Relaxation> relaxations;    // where there is no fastest; empty too when no single one helps
  std::vector<std::string> notes;
};

// `outlooks`: of the window, as outlooks() gives them. Relaxations are looked for on a cold wall. Throws ValidityError unless
// both chances lie in 0 to 1 and there is one outlook a solution; Interrupted.
Recommendation recommend(const Doubt& doubt, const Window& window, const std::vector<Outlook>& outlooks, const Wish& wish = {},
                         const quantity::Progress& progress = {});

// A few lines for a person; the same for a script, as one JSON object in SI.
std::string text(const mark::Scene& scene, const Recommendation& recommendation, const Wish& wish);
std::string json(const Recommendation& recommendation, const Wish& wish);
// The same of one setting.
std::string text(const mark::Scene& scene, const Setting& setting);
std::string json(const Setting& setting);
// "lines 0.1 mm apart, 1 pass, focus on the surface"
std::string text(const Fill& fill);
// Time against safety as a small table: of the trade so many rows or fewer, from the first with any prospect to the safest.
std::string trade_text(const Recommendation& recommendation, int rows = 6);

}  // namespace circumfluence::window
