#include "heat/warmth.h"

#include <algorithm>
#include <cmath>
#include <optional>

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

// The states of a taper or a standing part change little by little: between two that are this close the peaks in between
// are straight within 1e-4.
constexpr int kAnchor = 4;
constexpr double kClose = 0.05;

bool close(const exposure::SpotState& a, const exposure::SpotState& b) {
  const auto near = [](double x, double y) { return std::abs(x - y) <= kClose * y; };
  return near(a.along, b.along) && near(a.across, b.across) && near(a.speed, b.speed);
}

// One state's peaks [K/W], and the share of them that is owed to the back face.
class Peaks {
 public:
  Peaks(const Base& base, std::span<const exposure::SpotState> states)
      : base_(base), layered_(!base.stack.layers.empty() || flat_topped(base.orders)) {
    std::vector<exposure::SpotState> plain;  // those that a half-space serves
    for (const exposure::SpotState& s : states)
      if (!layered_ && !reaches_back(base, s)) plain.push_back(s);
    if (!plain.empty()) table_.emplace(table_over(plain, base.solid));
    stack_ = stack_of(base);
  }

  double work_out(const exposure::SpotState& state, std::span<float> profile) const {
    const Solid& solid = base_.solid;
    const Spot spot{state.along, state.across, state.speed};
    if (layered_ || reaches_back(base_, state)) {
      LayeredSpot(stack_, spot, base_.z, base_.orders).profile(profile);
      return layered_ ? 0.0 : std::max(0.0, 1 - peak(solid, spot).rise / profile[0]);
    }
    table_->profile(peclet(state, solid), state.along / state.across, profile);
    for (float& value : profile)
      value = static_cast<float>(value / (solid.conductivity * std::sqrt(state.along * state.across)));
    return 0;
  }

 private:
  const Base& base_;
  bool layered_;
  std::optional<SpotTable> table_;
  Stack stack_;
};

}  // namespace

Stack stack_of(const Base& base) {
  if (!base.stack.layers.empty()) return base.stack;
  const Solid& solid = base.solid;
  Stack stack{{{base.wall, solid.conductivity, solid.conductivity / solid.diffusivity}}};
  if (base.back_transfer > 0) stack.back = Back::ambient, stack.back_transfer = base.back_transfer;
  return stack;
}

Warmth::Warmth(const Base& base, std::span<const exposure::SpotState> states)
    : profiles_(states.size() * kNodes) {
  const Peaks peaks(base, states);
  const int count = static_cast<int>(states.size());
  const auto profile = [&](int i) { return std::span<float>(profiles_.data() + size_t(i) * kNodes, kNodes); };
  const auto between = [&](int i) {  // two anchors that stand for it
    const int low = i / kAnchor * kAnchor, high = low + kAnchor;
    return high < count && close(states[size_t(low)], states[size_t(i)]) && close(states[size_t(high)], states[size_t(i)]);
  };
  std::vector<double> shares(states.size(), 0.0);
  quantity::for_bands({.count = count, .band = 2 * kAnchor}, [&](int first, int last, int) {
    for (int i = first; i < last; ++i)
      if (i % kAnchor == 0 || !between(i)) shares[size_t(i)] = peaks.work_out(states[size_t(i)], profile(i));
  });
  for (int i = 0; i < count; ++i) {
    if (i % kAnchor == 0 || !between(i)) continue;
    const int low = i / kAnchor * kAnchor;
    const float share = float(i - low) / kAnchor;
    const auto from = profile(low), to = profile(low + kAnchor), out = profile(i);
    for (size_t n = 0; n < size_t(kNodes); ++n) out[n] = from[n] + share * (to[n] - from[n]);
  }
  for (int i = 0; i < count; ++i) {
    for (float& value : profile(i)) value *= static_cast<float>(base.absorptivity * states[size_t(i)].speed);
    wall_share_ = std::max(wall_share_, shares[size_t(i)]);
    greatest_ = std::max(greatest_, double(profile(i)[0]));
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
