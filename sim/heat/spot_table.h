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

  // Cubic interpolation of ln T in ln(1 + (2 + 1/aspect) Pe) and ln aspect; error below 1e-3 of the peak
  // (tested). A range whose low equals its high is a single state. Throws ValidityError outside Pe 0..1e4 (0
  // allowed: standing spot) and aspect 1/50..50.
  SpotTable(Range peclet, Range aspect);

  // profile at eta = i / kStepsPerRadius for i = 0..kNodes-1, linear interpolation between nodes good to 1e-3
  // of the peak. Clamped to the table's range.
  void profile(double peclet, double aspect, std::span<float> out) const;

  // One value, by the same interpolation.
  double at(double peclet, double aspect, double eta) const;

 private:
  // Evenly spaced points of a range, and the polynomial through the (up to four) nearest.
  struct Axis {
    Axis(double low, double high, double spacing);
    struct Place {
      int first, count;
      double weight[4];
    };
    Place place(double x) const;
    double low, step;
    int count;
  };
  double share(double peclet, double aspect) const;  // of the way from the lowest to the highest Pe
  void blend(double peclet, double aspect, int node, std::span<float> out) const;

  Range range_;              // of Pe
  Axis peclet_;              // in the share, 0 to 1
  Axis aspect_;              // in ln aspect
  std::vector<float> rows_;  // [peclet][aspect][kNodes], ln of the profile
};

}  // namespace circumfluence::heat
