// Which patches tell most about whether the wanted settings are safe.
//
// The outcome at the wanted settings Y* (four classes) has the entropy H(Y*) given what is known; of several settings it is
// the sum. A patch that comes out as y lowers it by the mutual information I(y; Y*) on average, worked out over draws of
// the unknowns (trial.h) by Bayes' rule; patches are chosen one by one, each with those before it, among the candidates:
// powers and speeds of a grid around the wanted ones, and spacings, passes, heights where asked. A hundredth of what a
// patch tells about the two ends of the window at the (first) wanted speed, taken as the fall of half log2 of their
// variances, is added, so that a job whose outcome seems sure still gets a coupon that tests it.
//
// The model is solved for a few hundred draws. ln of each end is then a quadratic in the deviates, fitted to them, plus
// what that leaves over, drawn along with it: thousands of draws for nothing (tested against solving them).
// Chaloner & Verdinelli 1995, Statistical Science 10, 273 [from memory].
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "calibration/fit.h"

namespace circumfluence::calibration {

struct Candidates {  // empty: chosen around the wanted settings, within what laser and machine can
  std::vector<double> power, speed, spacing, focus_offset;  // [W], [m/s], [m], [m]
  std::vector<int> passes;
};
inline constexpr size_t kMostCandidates = 2000;  // of all combinations
Candidates candidates_around(const mark::Scene& scene, const Patch& wanted);
Patch job_setting(const mark::Scene& scene);  // what the job is set to

struct PlanRequest {
  std::vector<Patch> wanted = {};        // settings to be sure of; empty: the job's own
  Candidates candidates = {};
  int patches = 12;                      // at most
  double duration = quantity::kUnset;    // [s] of the whole coupon, at most; NaN: no limit
  double width = 60e-3, height = 40e-3;  // [m] at most
  double side = 4e-3;                    // [m] of a patch
  Ground ground = Ground::flat;
  bool power_ladder = false, height_ladder = false;  // single lines as well, over powers, over heights
  const Fit* known = nullptr;            // results so far; none: the priors
  int draws = 256;                       // solved
  std::uint64_t seed = 1;
  int threads = 0;
  quantity::Progress progress = {};
};

struct Planned {
  Coupon coupon;                   // laid out: rows of one speed, powers rising along a row
  double entropy_before = 0;       // [bit] of the outcome at the wanted settings
  std::vector<double> entropies;   // [bit] expected after 1, 2, ... patches, in the order of `chosen`
  std::vector<int> chosen;         // slots' numbers, the most telling one first
  std::vector<std::string> notes;  // what did not fit, what seems sure already
};

// Throws ValidityError: nothing fits, wanted settings out of the laser's or machine's bounds; Interrupted.
Planned plan(const mark::Scene& scene, const PlanRequest& request = {});

// Single lines over a ladder of powers at the wanted speed, evenly in ln from where they barely show to full power, and
// over heights within three Rayleigh lengths of the waist (half of them within one, the rest beyond two, as ISO 11146-1
// asks) at full power and a speed at which the outermost shows: enough for regression.h. Throws ValidityError where even
// full power would not show.
std::vector<Patch> power_ladder(const mark::Scene& scene, const Patch& wanted, int lines = 8);
std::vector<Patch> height_ladder(const mark::Scene& scene, const Patch& wanted, int lines = 9);

// Patches laid out in rows within a width, height and duration, with corner marks and labels; as many as fit, in their
// order. Numbers go row by row from the upper left. Letters are as large as leaves room for all, from 1.8 mm down to 0.8 mm
// or eight spots. The coupon is no larger than it has to be. Throws ValidityError where not even one fits.
Coupon lay_out(const mark::Scene& scene, const std::vector<Patch>& patches, const PlanRequest& request);

// What corner marks and labels are burnt with: at the wanted speed, or if need be down to a quarter of it, the least power
// that marks or burns with a chance of kSurelySeen, else the laser's whole.
struct Ink {
  Patch patch;
  double marks;  // [1] chance that it does
};
inline constexpr double kSurelySeen = 0.98;
Ink ink_for(const mark::Scene& scene, const PlanRequest& request);

// After results: the next most telling patch, or that one may stop.
struct Next {
  bool stop = false;
  Patch patch;               // with stop: the one that would tell most all the same
  double entropy = 0;        // [bit] now
  double gain = 0;           // [bit] expected of that patch
  std::string why;           // a sentence
};
inline constexpr double kSettled = 0.15;  // [bit] of entropy: one outcome with some 98 %
inline constexpr double kIdle = 0.02;     // [bit] of gain, below which no single patch helps much
Next next(const mark::Scene& scene, const Fit& known, const PlanRequest& request = {});

// Chances by draw of what is not known: the mixture over draws is what can be expected. Of candidates as a person reports
// them, slips included; of the wanted settings as they come out.
struct Foreseen {
  Eigen::MatrixXf candidates, wanted;  // [draw][4 patch + class]
  Eigen::MatrixXf ends;                // [draw][2] ln [W] that marks, that over-burns at the first wanted setting
};
// Of candidates and request.wanted, for that many draws. Throws what Trials throws, Interrupted.
Foreseen foresee(const mark::Scene& scene, const std::vector<Patch>& candidates, const PlanRequest& request, int draws);

// What patches tell. Outcomes of those taken are simulated for some draws in turn held to be the truth: the last `truths`
// rows; the others are weighed by how well they foretell them.
class Telling {
 public:
  Telling(Foreseen foreseen, size_t truths, std::uint64_t seed);

  double entropy() const;  // [bit] expected, of the outcomes at the wanted settings after what was taken
  struct Gain {
    double outcome, ends;  // [bit]
    double total() const { return outcome + 0.01 * ends; }
  };
  Gain gain(size_t candidate) const;
  void take(size_t candidate);
  double effective() const;  // draws that count still, in the mean
  std::vector<double> outcome(size_t wanted) const;  // [1] chance of each class, before all

 private:
  Foreseen sample_, truths_;
  Eigen::MatrixXf base_;           // [draw][4 wanted + class, then ends and their squares]
  Eigen::MatrixXf logs_, weights_;  // [truth][draw]; one row as long as nothing was taken
  std::uint64_t state_;
};

}  // namespace circumfluence::calibration
