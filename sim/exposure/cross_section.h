// The beam's profile across a line and along it: the share of the line's energy that falls on each cell of a
// row, and dots of constant power per length, seen as means over cells.
#pragma once

#include <span>
#include <vector>

#include "beam/spot_profile.h"

namespace circumfluence::exposure {

// The cumulative profile as a float table with linear pieces (error below 1e-6), for loops over columns.
class CrossSection {
 public:
  explicit CrossSection(const beam::SpotProfile& profile);

  struct Columns {
    std::span<const float> near, far;       // [m] distances of the cell's two edges from the line, near < far
    std::span<const float> inverse_radius;  // [1/m] of the beam across the line
    std::span<const float> inverse_width;   // [1/m] of the cell, over the true surface
  };
  // shares[i] = (Phi(far/w) - Phi(near/w)) inverse_width; etas[i] = |near + far| / 2w
  void shares(const Columns& columns, std::span<float> shares, std::span<float> etas) const;

  // Phi(t)
  float at(float t) const {
    float place = (t + reach_) * scale_;
    place = place < 0.0f ? 0.0f : place;
    place = place > kLast ? kLast : place;
    const int i = static_cast<int>(place);
    return table_[size_t(i)] + (place - float(i)) * (table_[size_t(i) + 1] - table_[size_t(i)]);
  }
  // out[i] = Phi(from + i step)
  void row(float from, float step, std::span<float> out) const;

 private:
  static constexpr float kLast = 4096;
  float reach_, scale_;
  std::vector<float> table_;
};

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
