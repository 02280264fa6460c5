// The beam's cross-section along one axis: Gaussian, or super-Gaussian for flat-topped multimode beams.
//
//   p(t) = n / (2 a Gamma(1/n)) exp(-|t/a|^n),   a = (1/2) sqrt(Gamma(1/n) / Gamma(3/n))
//
// t = x / w with w the second-moment radius (2 sigma), so every order carries the same power and the same
// second moment; n = 2 is sqrt(2/pi) exp(-2 t^2). The irradiance is P / (w_x w_y) p(x/w_x) p(y/w_y).
// Cumulative and its integral come from a table with cubic pieces, exact to 1e-9.
#pragma once

#include <vector>

namespace circumfluence::beam {

class SpotProfile {
 public:
  // Throws ValidityError unless 2 <= order <= 40.
  explicit SpotProfile(double order);

  double order() const { return order_; }
  double density(double t) const;          // p(t)
  double cumulative(double t) const;       // integral of p from -infinity to t
  double ramp(double t) const;             // integral of cumulative from -infinity to t
  double reach() const { return reach_; }  // |t| beyond which less than 1e-7 of the power lies on either side

 private:
  double order_, scale_, norm_, reach_;
  double step_;
  std::vector<double> cumulative_, ramp_;  // at t = -reach + i step
};

}  // namespace circumfluence::beam
