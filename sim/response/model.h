// The part's answer to light as numbers: which film is removed and at what price, and which temperatures of
// the base mean what. Made once a job from the material records; every figure a law needs is asked for here.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "exposure/states.h"
#include "heat/kirchhoff.h"
#include "heat/warmth.h"
#include "response/row.h"
#include "workpiece/material.h"
#include "workpiece/part.h"

namespace circumfluence::response {

// coated: light removes the coat, then warms the base; bare: it warms the base; organic: it chars the body
// away.
enum class Body { coated, bare, organic };

struct Surroundings {
  const workpiece::Part& part;
  const workpiece::Material& base;
  const workpiece::Material* coat;  // null on a bare part
  double wavelength;                // [m]
  heat::Orders orders{};            // of the spot
};

struct Model {
  Body body;
  std::optional<Film> film;
  std::vector<float> thresholds;    // [J/m^2] absorbed, by spot state; empty without a film
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

// Throws ValidityError naming a figure that the records lack.
Model make_model(const Surroundings& surroundings, const Limits& limits,
                 const std::vector<exposure::SpotState>& states);

}  // namespace circumfluence::response
