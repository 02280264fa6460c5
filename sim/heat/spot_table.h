// The peak rise beside the line, dimensionless, as a table: built once, it serves every metal, power and
// speed.
//
//   T_peak(y) = P / (k sqrt(w_along w_across)) * profile(Pe, aspect, y / w_across)
//   Pe = v w_along / (2 a) [1], aspect = w_along / w_across [1], P absorbed power [W]
//
// A table covers a range of Pe and aspect; a range without width is a single state and costs well below 1 ms.
#pragma once

#include <span>
#include <vector>

namespace circumfluence::heat {

class SpotTable {
 public:
  struct Range {
    double low, high;
  };
  static constexpr double kReach = 8.0;  // [1] y / w_across covered; beyond it the last value decays as 1/y
  static constexpr int kStepsPerRadius = 32;  // nodes of a profile a beam radius
  static constexpr int kNodes = 8 * kStepsPerRadius + 2;

  // Interpolation in ln Pe and ln aspect; error below 1e-3 of the peak (tested). Throws ValidityError outside
  // Pe 0..1e4 (0 allowed: standing spot) and aspect 1/50..50.
  SpotTable(Range peclet, Range aspect);

  // profile at eta = i / kStepsPerRadius for i = 0..kNodes-1, linear interpolation between nodes good to 1e-3
  // of the peak. Clamped to the table's range.
  void profile(double peclet, double aspect, std::span<float> out) const;

  // One value, by the same interpolation.
  double at(double peclet, double aspect, double eta) const;

 private:
};

}  // namespace circumfluence::heat
