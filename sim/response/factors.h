// How a share of cells depends on power: a histogram of the cells' own factors, in steps of about 1.1 %.
#pragma once

#include <array>
#include <cstdint>
#include <span>

namespace circumfluence::response {

// Counts factors on power between 2^-32 and 2^31; those outside (and infinity) count as beyond every power.
class Factors {
 public:
  // Adds the cells of a row; where `chosen` is given, those whose byte is not 0.
  void add(std::span<const float> factors, std::span<const std::uint8_t> chosen = {});
  void add(const Factors& other);

  std::uint64_t cells() const { return cells_; }  // added, finite or not
  // The factor at which `count` of the cells have their factor at or below it (straight within a step);
  // infinity when no power brings that many.
  double at_count(double count) const;
  // [1] share of the cells whose factor is at or below this one (straight within a step); 0 without cells.
  double share_at(double factor) const;

 private:
  static constexpr int kSteps = 64;           // a factor of two
  static constexpr int kBins = 63 * kSteps;   // the bin of this number: beyond every power
  static constexpr int kNowhere = kBins + 1;  // where cells that are not chosen are put
  std::array<std::uint64_t, kBins + 2> bins_{};
  std::uint64_t cells_ = 0;
};

}  // namespace circumfluence::response
