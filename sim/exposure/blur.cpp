#include "exposure/cross_section.h"

#include <algorithm>

#include "quantity/lanes.h"

namespace circumfluence::exposure {
namespace {

CIRCUMFLUENCE_LANES void add_scaled(const float* in, float weight, float* out, int n) {
  for (int i = 0; i < n; ++i) out[i] += weight * in[i];
}

CIRCUMFLUENCE_LANES void add_product(const float* in, const float* weight, float* out, int n) {
  for (int i = 0; i < n; ++i) out[i] += weight[i] * in[i];
}

}  // namespace

double dot_weight(const beam::SpotProfile& profile, double radius, double half, double from, double to) {
  const auto ramp = [&](double y) { return profile.ramp(y / radius); };
  const double weight =
      radius / (2 * half) * (ramp(half - from) - ramp(-half - from) - ramp(half - to) + ramp(-half - to));
  return weight > 1e-9 ? weight : 0.0;  // four large numbers cancel: what is left far out is rounding
}

std::vector<float> grid_weights(const beam::SpotProfile& profile, double radius, double cell, int pad) {
  std::vector<float> weights;
  for (int m = -pad; m <= pad; ++m)
    weights.push_back(
        static_cast<float>(dot_weight(profile, radius, cell / 2, (m - 0.5) * cell, (m + 0.5) * cell)));
  return weights;
}

void blur(std::span<const float> dots, std::span<const float> weights, std::span<float> out) {
  std::fill(out.begin(), out.end(), 0.0f);
  for (size_t m = 0; m < weights.size(); ++m)
    if (weights[m] != 0.0f) add_scaled(dots.data() + m, weights[m], out.data(), static_cast<int>(out.size()));
}

void blur_varied(std::span<const float> dots, std::span<const float> weights, std::span<float> out) {
  std::fill(out.begin(), out.end(), 0.0f);
  const size_t n = out.size();
  for (size_t m = 0; m * n < weights.size(); ++m)
    add_product(dots.data() + m, weights.data() + m * n, out.data(), static_cast<int>(n));
}

}  // namespace circumfluence::exposure
