// The beam's profile across the line, as the share of the line's energy that falls on each cell of a row.
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

 private:
  float reach_, scale_;
  std::vector<float> table_;
};

}  // namespace circumfluence::exposure
