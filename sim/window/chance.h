// How likely a fill comes out marked, and not over-burned, given all that is not known exactly.
//
// For each of a number of draws of the unknowns (window/unknown.h), quasi-random (window/sobol.h) and correlated as a fit
// settled them, the ends of the fill are solved anew (window/ends.h). Only the power that arrives is not drawn: it is an exact factor exp(s z) on what is set,
// whence in closed form, over draws i,
//   marks  = mean Phi(ln(P / marks_i) / s)              spares = mean Phi(ln(burns_i / P) / s)
//   good   = mean max(0, Phi(ln(P / marks_i) / s) - Phi(ln(P / burns_i) / s))
// P [W] set at the source, Phi the normal distribution, s [1] laser.power_spread; s = 0: counts of draws. At 128 draws
// chances are right to 0.012 (root mean square over windows of coated and bare parts, 0.04 at worst; against plain Monte
// Carlo of 4000 draws within 0.025, tested). Model error is not among the unknowns: what a law leaves out widens nothing.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "mark/predict.h"
#include "quantity/bands.h"
#include "window/ends.h"
#include "window/unknown.h"

namespace circumfluence::window {

struct Draws {
  int count = 128;         // 2 to 1000000, best a power of two
  std::uint64_t seed = 1;
  int threads = 0;         // 0: as many as the machine has
};

// [1] that outcome.required is marked, that it is not over-burned, both.
struct Chances { double marks, spares, good; };
// The 5th, 50th and 95th percentile.
struct Interval { double low, middle, high; };
Interval interval(std::vector<double> values);  // of values in any order; infinite ones count
double log_of(double power);  // ln of an end, kept finite where no power does it: 1e300 W stands for none

// One setting but for its power.
class Outlook {
 public:
  // ln of powers [W] by draw; spread of the power that arrives.
  Outlook(std::vector<double> marks, std::vector<double> burns, double spread);

  Chances at(double power) const;
  // [W] from which it marks, up to which it spares, with at least that chance; infinity and 0 when none does.
  double least(double chance) const;
  double greatest(double chance) const;
  // [W] set at the source up to `most` with the best chance of coming out good.
  double best(double most) const;
  const std::vector<double>& marks() const { return marks_; }
  const std::vector<double>& burns() const { return burns_; }

 private:
  double solve(double chance, bool marks) const;
  std::vector<double> marks_, burns_;
  double spread_;
};

// What a scene leaves open, drawn once.
class Doubt {
 public:
  // Throws ValidityError for a count out of bounds.
  explicit Doubt(const mark::Scene& scene, const Draws& draws = {});

  const mark::Scene& scene() const { return scene_; }
  const std::vector<Unknown>& unknowns() const { return unknowns_; }  // with the power
  double power_spread() const { return power_spread_; }
  int count() const { return static_cast<int>(scenes_.size()); }

  // By speed. Where there are more than a hand of them, each draw is solved at kNodes a decade.
  std::vector<Outlook> over(const Place& place, std::span<const double> speeds, std::span<const WallRise> walls = {},
                            const quantity::Progress& progress = {}) const;
  static constexpr int kNodes = 5;

  // A look at each draw, in any order and from several threads: work(draw, its scene, height [m] by which it is nearer to
  // the nominal focus than the job's).
  using Visit = std::function<void(int draw, const mark::Scene& scene, double height)>;
  void each(const Visit& visit, const quantity::Progress& progress = {}) const;

 private:
  mark::Scene scene_;
  Draws draws_;
  std::vector<Unknown> unknowns_;
  double power_spread_ = 0;
  std::vector<mark::Scene> scenes_;
};

// A prediction's figures with their doubt: how far each moves when the ends of its fill move. Shares follow the map's own
// factors on power; temperatures the peak rise under a line that meets the base bare. The wall's warming stays as it is.
struct Doubtful {
  double value;  // as predicted
  Interval interval;
};
struct Doubts {
  Doubtful least_factor, greatest_factor;  // [1] as a verdict's
  Doubtful marked, over_burned;            // [1] shares of the wanted area
  Doubtful hottest;                        // [K]
  double power;                            // [W] set
  Chances chances;                         // of this art, as set
  std::vector<double> moves;               // [1] by draw, rising: what marks, over what does as predicted
};
Doubts doubts(const Doubt& doubt, const mark::MarkMap& map);
// [1] [around][axial] the chance that a cell comes out marked, over-burned ones included: the share of moves within which
// its margin lies. Throws ValidityError where the map kept no margins.
quantity::Map<float> chance_map(const Doubts& doubts, const mark::MarkMap& map, int threads = 0);
std::string text(const Doubts& doubts);  // a line for a person
std::string json(const Doubts& doubts);  // an object: {"least_factor": [low, middle, high], ...}, SI

// Which unknown matters most for where the job's own setting ends: shares of the variance of ln(marks) and of ln(burns).
// Of those settled together each counts with what it adds to those before it in unknowns().
struct Rank {
  Unknown unknown;
  double marks_first, marks_total, burns_first, burns_total;  // [1] Sobol indices
};
struct Ranking {
  std::vector<Rank> ranks;           // the greatest total of either first
  double marks_spread, burns_spread;  // [1] standard deviation of ln(power)
  size_t settled = 0;                 // of the unknowns: settled together by a fit
};
Ranking rank(const mark::Scene& scene, const Place& place, const Draws& draws = {}, const quantity::Progress& progress = {});

// A chart of bars, of those with a share of kLeastShare or more; false, and no file, when there is none. Throws FileError.
inline constexpr double kLeastShare = 0.005;
enum class End { marks, burns };
bool write_ranking(const std::string& path, const Ranking& ranking, End end, const std::string& subtitle);
// Those as a small table for a person; all as a JSON list for a script.
std::string text(const Ranking& ranking);
std::string json(const Ranking& ranking);

// Of the job's fill of lines: how long, how long of that with the beam on, and the light the source gives.
struct Effort {
  double duration, beam_on, energy;  // [s], [s], [J]
};
Effort effort(const mark::Scene& scene);

// Parts that come out good with chance p each, one not depending on the other. Blanks to have at hand: the least n with
// P(binomial(n, p) >= parts) >= confidence, exact. Tries until all are good: parts / p on average.
struct Batch {
  int parts;
  double chance_good, confidence;                 // [1] p
  double duration = 0, energy = 0, handling = 0;  // [s], [J], [s] a part
  double mains_power = 0;                         // [W] drawn throughout
};
struct Supply {
  int blanks, spares;                 // with and beyond the parts
  double tries, expected_good;        // until all are good; good ones of as many tries as parts
  double time, energy, mains_energy;  // [s], [J], [J] of `tries`
};
Supply supply(const Batch& batch);  // throws ValidityError

}  // namespace circumfluence::window
