// The beam's own profile along the line: dots of constant power per length, seen as means over cells.
#pragma once

#include <span>
#include <vector>

#include "beam/spot_profile.h"

namespace circumfluence::exposure {

// Weight of a dot that spans [from, to] in the mean over a cell of half-width `half` around 0, per unit of
// the dot's power per length; all in metres, `radius` the beam's 1/e^2 radius along the line:
//   (1 / 2 half) int_-half^half [Phi((y - from)/radius) - Phi((y - to)/radius)] dy
double dot_weight(const beam::SpotProfile& profile, double radius, double half, double from, double to);

// Weights of dots on the same grid as the cells: index m + pad is the dot m cells ahead.
std::vector<float> grid_weights(const beam::SpotProfile& profile, double radius, double cell, int pad);

// out[i] = sum over m = -pad..pad of weights[m + pad] * dots[i + m + pad]; dots holds out.size() + 2 pad
// values.
void blur(std::span<const float> dots, std::span<const float> weights, std::span<float> out);

// The same with weights that change from cell to cell: weights[(m + pad) * out.size() + i].
void blur_varied(std::span<const float> dots, std::span<const float> weights, std::span<float> out);

}  // namespace circumfluence::exposure
