// The part's answer to light as numbers: which film is removed and at what price, and which temperatures of
// the base mean what. Made once a job from the material records; every figure a law needs is asked for here.
#pragma once

#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "exposure/light.h"
#include "heat/kirchhoff.h"
#include "heat/warmth.h"
#include "response/kinetics.h"
#include "response/row.h"
#include "workpiece/material.h"
#include "workpiece/part.h"

namespace circumfluence::response {

// coated: light removes the coat, then warms the base; bare: it warms the base, which oxidises and melts; dyed: it
// warms a layer whose dye bleaches; organic: it chars the body and carries it away.
enum class Body { coated, bare, dyed, organic };
inline constexpr const char* kBodyNames[] = {"coated", "bare", "dyed", "organic"};
// A coat whose dye bleaches, and that nothing removes, is a dyed layer, but for an organic base, which burns before. `coat`
// is null on a bare part.
Body body_of(const workpiece::Material& base, const workpiece::Material* coat);

struct Surroundings {
  const workpiece::Part& part;
  const workpiece::Material& base;
  const workpiece::Material* coat;  // null on a bare part
  double wavelength;                // [m]
  heat::Orders orders{};            // of the spot
};

inline constexpr double kCleared = 5;  // dose at which a dye is gone to 0.7 %
inline constexpr double kNeverReached = std::numeric_limits<double>::infinity();

// A reaction that a passage's heat drives; doses of passages add up.
struct Reacting {
  static constexpr int kSteps = 220;
  static constexpr double kLowest = -100, kOctaves = 110;

  Dose dose;              // of the middle one of the job's states
  double need, faint;     // doses from which a cell is marked, and from which it may be
  double spread;          // of the rate, lognormal
  double greatest;        // [K] linear rise up to which doses are told apart
  double onset_rise;      // [K] linear, of one passage that marks; infinity when none does
  std::vector<float> scale;  // [1] by spot state: how much longer a passage lasts
  std::vector<float> rises;  // [K] linear, of one passage, by even steps of log2(dose / need); see reacting.cpp
  double native = 0;         // [m] of oxide before the job
};

struct Model {
  Body body;
  std::optional<Film> film;
  std::vector<float> thresholds;    // [J/m^2] absorbed, by spot state; empty without a film
  std::optional<Reacting> reacting;    // of a bare base that oxidises, or of a dyed layer
  std::optional<CharDepth> char_depth;  // of an organic body
  double melt_rise = kNeverReached;  // [K] linear, at which a bare base begins to melt
  double ceiling_rise = kNeverReached;  // [K] linear, above which a dyed layer is clear and warms no further
  double layer = 0;                 // [m] thickness of a dyed layer
  double discolours = kNeverReached;  // [1] absorbed fluence over threshold at which a coat that stays does; infinity: unknown
  double start;                     // [K]
  heat::Conductivity conductivity;  // of the base
  heat::Base base;
  double onset;        // [K] peak temperature from which a bare base is marked
  double faint;        // [K] from which it may be: the onset's lower figure, one spread down
  double limit;        // [K] from which it counts as over-burned
  double transmitted;  // [1] share of the light that passes through the whole base, for clear bodies
  std::vector<std::string> notes;  // where an assumption is stretched, in sentences

  double onset_rise() const { return heat::linear_rise(conductivity, onset - start); }
  double limit_rise() const { return heat::linear_rise(conductivity, limit - start); }
};

// [K] the linear rise whose single passage gives the dose; infinity when none up to `greatest` does.
double rise_for(const Dose& dose, double wanted, double greatest);
// Parts of make_model.
std::optional<Reacting> oxidising(const workpiece::Material& base, const Limits& limits, const Model& model,
                                  const std::vector<exposure::SpotState>& states);
std::optional<Reacting> bleaching(const workpiece::Material& coat, const Limits& limits, const Model& model,
                                  const std::vector<exposure::SpotState>& states);
std::optional<CharDepth> charring(const workpiece::Material& body, const Model& model,
                                  const std::vector<exposure::SpotState>& states);
void note_oxide(Model& model, const workpiece::Material& base);

// Throws ValidityError naming a figure that the records lack.
Model make_model(const Surroundings& surroundings, const Limits& limits,
                 const std::vector<exposure::SpotState>& states);

}  // namespace circumfluence::response
