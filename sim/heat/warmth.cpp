#include "heat/warmth.h"

#include <algorithm>
#include <cmath>

#include "heat/thin_wall.h"
#include "quantity/lanes.h"

namespace circumfluence::heat {
namespace {

constexpr int kNodes = SpotTable::kNodes;

double peclet(const exposure::SpotState& state, const Solid& solid) {
  return state.speed * state.along / (2 * solid.diffusivity);
}

SpotTable table_over(std::span<const exposure::SpotState> states, const Solid& solid) {
  SpotTable::Range pe{1e300, 0}, aspect{1e300, 0};
  for (const exposure::SpotState& s : states) {
    const double p = peclet(s, solid), a = s.along / s.across;
    pe = {std::min(pe.low, p), std::max(pe.high, p)};
    aspect = {std::min(aspect.low, a), std::max(aspect.high, a)};
  }
  return SpotTable(pe, aspect);
}

inline float between(const float* profile, float eta) {
  float at = eta * float(SpotTable::kStepsPerRadius);
  at = at > float(kNodes - 2) ? float(kNodes - 2) : at;
  const int i = static_cast<int>(at);
  return profile[i] + (at - float(i)) * (profile[i + 1] - profile[i]);
}

struct Columns {
  const float *etas, *halves, *angles;
  const std::uint16_t* states;
  float nearer;  // 1 to measure from the cell's nearest point, 0 from its centre
};

CIRCUMFLUENCE_LANES void fill(const float* profiles, const Columns& columns, float* out, int n) {
  const float *etas = columns.etas, *halves = columns.halves, *angles = columns.angles;
  const std::uint16_t* states = columns.states;
  const float nearer = columns.nearer;
  for (int i = 0; i < n; ++i) {
    const float eta = etas[i] - nearer * halves[i];
    out[i] = angles[i] * between(profiles + int(states[i]) * kNodes, eta > 0.0f ? eta : 0.0f);
  }
}

}  // namespace

Warmth::Warmth(const Base& base, std::span<const exposure::SpotState> states)
    : profiles_(states.size() * kNodes) {
  const SpotTable table = table_over(states, base.solid);
  for (size_t s = 0; s < states.size(); ++s) {
    const std::span<float> profile(profiles_.data() + s * kNodes, kNodes);
    table.profile(peclet(states[s], base.solid), states[s].along / states[s].across, profile);
    const double spot = 1 / (base.solid.conductivity * std::sqrt(states[s].along * states[s].across));
    const double wall = wall_excess(base.solid, base.wall, states[s].speed);
    wall_share_ = std::max(wall_share_, wall / (profile[0] * spot + wall));
    for (float& value : profile)
      value = static_cast<float>(base.absorptivity * states[s].speed * (value * spot + wall));
    greatest_ = std::max(greatest_, double(profile[0]));
  }
}

float Warmth::at(const exposure::EventRow& event, Within within) const {
  const float eta = within == Within::nearest ? std::max(0.0f, event.eta - event.half) : event.eta;
  return event.angle * between(profiles_.data() + size_t(event.state) * kNodes, eta);
}

void Warmth::row(const exposure::EventRow& event, Within within, std::span<float> out) const {
  fill(profiles_.data(),
       {event.etas, event.halves, event.angles, event.states, within == Within::nearest ? 1.0f : 0.0f},
       out.data(), static_cast<int>(out.size()));
}

}  // namespace circumfluence::heat
