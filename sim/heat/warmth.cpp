#include "heat/warmth.h"

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
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

// Heat that comes back from the back face while the spot passes reaches the peak where v h / a is small: the first
// image adds exp(-v h / a) / (2 pi k h).
bool reaches_back(const Base& base, const exposure::SpotState& state) {
  return state.speed * base.wall / base.solid.diffusivity < 12;
}

bool flat_topped(const Orders& orders) {
  return orders.along != 2 || orders.across != 2;
}

}  // namespace

Stack stack_of_wall(const Base& base) {
  const Solid& solid = base.solid;
  Stack stack{{{base.wall, solid.conductivity, solid.conductivity / solid.diffusivity}}};
  if (base.back_transfer > 0) stack.back = Back::ambient, stack.back_transfer = base.back_transfer;
  return stack;
}

Warmth::Warmth(const Base& base, std::span<const exposure::SpotState> states)
    : profiles_(states.size() * kNodes) {
  const SpotTable table = table_over(states, base.solid);
  const Solid& solid = base.solid;
  const bool layered = !base.stack.layers.empty();
  const Stack stack = layered ? base.stack : stack_of_wall(base);
  std::vector<double> shares(states.size(), 0.0);
  quantity::for_bands({.count = static_cast<int>(states.size()), .band = 8}, [&](int first, int last, int) {
    for (int i = first; i < last; ++i) {
      const exposure::SpotState& state = states[size_t(i)];
      const std::span<float> profile(profiles_.data() + size_t(i) * kNodes, kNodes);
      table.profile(peclet(state, solid), state.along / state.across, profile);
      for (float& value : profile)
        value = static_cast<float>(value / (solid.conductivity * std::sqrt(state.along * state.across)));
      const float thick = profile[0];
      if (layered || reaches_back(base, state) || flat_topped(base.orders))
        LayeredSpot(stack, {state.along, state.across, state.speed}, base.z, base.orders).profile(profile);
      shares[size_t(i)] = layered || flat_topped(base.orders) ? 0.0 : std::max(0.0, 1 - double(thick) / profile[0]);
      for (float& value : profile) value *= static_cast<float>(base.absorptivity * state.speed);
    }
  });
  for (size_t i = 0; i < states.size(); ++i) {
    wall_share_ = std::max(wall_share_, shares[i]);
    greatest_ = std::max(greatest_, double(profiles_[i * kNodes]));
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
