#include "exposure/light.h"

#include <algorithm>
#include <cmath>

namespace circumfluence::exposure {
namespace {

constexpr int kMostAlone = 512;    // levels when only one of the two varies
constexpr int kMostTogether = 64;  // levels of each when both do

int level(double value, const States::Range& range, int levels) {
  if (levels == 1) return 0;
  const double at = (value - range.low) / (range.high - range.low) * (levels - 1);
  return static_cast<int>(std::lround(std::clamp(at, 0.0, levels - 1.0)));
}

double value(int i, const States::Range& range, int levels) {
  return levels == 1 ? (range.low + range.high) / 2 : range.low + (range.high - range.low) * i / (levels - 1);
}

}  // namespace

States::States(const Light& light, motion::Direction direction, Range height, Range speed)
    : height_(height), log_speed_{std::log(speed.low), std::log(speed.high)} {
  const bool heights = height.high - height.low > 1e-9, speeds = log_speed_.high - log_speed_.low > 1e-6;
  const int most = heights && speeds ? kMostTogether : kMostAlone;
  heights_ = heights ? most : 1;
  speeds_ = speeds ? most : 1;
  for (int h = 0; h < heights_; ++h) {
    const Radii radii = light.radii(value(h, height_, heights_));
    const bool axial = direction == motion::Direction::axial;
    for (int s = 0; s < speeds_; ++s)
      states_.push_back({axial ? radii.axial : radii.around, axial ? radii.around : radii.axial,
                         std::exp(value(s, log_speed_, speeds_))});
  }
}

std::uint16_t States::index(double height, double speed) const {
  return static_cast<std::uint16_t>(level(height, height_, heights_) * speeds_ +
                                    level(std::log(speed), log_speed_, speeds_));
}

}  // namespace circumfluence::exposure
