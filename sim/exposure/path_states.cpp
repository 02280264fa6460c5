#include <algorithm>
#include <cmath>

#include "exposure/light.h"

namespace circumfluence::exposure {
namespace {

constexpr double kSlowest = 1e-7;  // [m/s]
constexpr double kStep = 0.01;     // of the speed's logarithm
constexpr int kMostStates = 4096, kMostHeights = 512, kFewHeights = 32;

bool round_beam(const Light& light, const States::Range& height) {
  for (const double z : {height.low, (height.low + height.high) / 2, height.high}) {
    const Radii radii = light.radii(z);
    if (std::abs(radii.axial / radii.around - 1) > 0.005) return false;
  }
  return true;
}

std::vector<double> directions(const PathStates::Ranges& ranges) {
  if (ranges.oblique) return {0, 0.146447, 0.5, 0.853553, 1};
  std::vector<double> out;
  if (ranges.around) out.push_back(0);
  if (ranges.axial) out.push_back(1);
  return out.empty() ? std::vector<double>{1} : out;
}

}  // namespace

int PathStates::step(double speed) {
  return static_cast<int>(std::lround(std::clamp(std::log(speed / kSlowest) / kStep, 0.0, kSteps - 1.0)));
}

double PathStates::speed(int step) {
  return kSlowest * std::exp(kStep * step);
}

// Neighbouring steps are merged, two, four, ... at a time, until the states are few enough.
PathStates::PathStates(const Light& light, const Ranges& ranges)
    : height_(ranges.height), alongs_(directions(ranges)), speed_of_step_(kSteps, 0) {
  if (round_beam(light, height_)) alongs_ = {1};
  const auto occurs = [](const States::Range& speed) { return speed.low <= speed.high; };
  const auto occurring = std::count_if(ranges.speeds.begin(), ranges.speeds.end(), occurs);
  if (height_.high - height_.low > 1e-9)
    heights_ = occurring > 1 || alongs_.size() > 1 ? kFewHeights : kMostHeights;
  const int most = kMostStates / heights_ / static_cast<int>(alongs_.size());
  for (int merged = 1;; merged *= 2) {
    speeds_.clear();
    for (int first = 0; first < kSteps; first += merged) {
      const int last = std::min(first + merged, kSteps);
      const auto from = ranges.speeds.begin() + first, to = ranges.speeds.begin() + last;
      States::Range all{1e300, 0};
      for (auto speed = from; speed != to; ++speed)
        all = {std::min(all.low, speed->low), std::max(all.high, speed->high)};
      if (!occurs(all)) continue;
      std::fill(speed_of_step_.begin() + first, speed_of_step_.begin() + last,
                static_cast<int>(speeds_.size()));
      speeds_.push_back(std::sqrt(all.low * all.high));
    }
    if (static_cast<int>(speeds_.size()) <= most) break;
  }
  if (speeds_.empty()) speeds_.push_back(1e-3);
  for (int h = 0; h < heights_; ++h) {
    const double share = heights_ > 1 ? double(h) / (heights_ - 1) : 0.5;
    const Radii radii = light.radii(height_.low + share * (height_.high - height_.low));
    const double a = radii.axial * radii.axial, c = radii.around * radii.around;
    for (const double along : alongs_)
      for (const double speed : speeds_)
        states_.push_back(
            {std::sqrt(a * along + c * (1 - along)), std::sqrt(c * along + a * (1 - along)), speed});
  }
}

std::uint16_t PathStates::index(double height, double speed, double along) const {
  int h = 0, direction = 0;
  if (heights_ > 1) {
    const double at = (height - height_.low) / (height_.high - height_.low) * (heights_ - 1);
    h = static_cast<int>(std::lround(std::clamp(at, 0.0, heights_ - 1.0)));
  }
  for (int i = 1; i < static_cast<int>(alongs_.size()); ++i)
    if (std::abs(alongs_[size_t(i)] - along) < std::abs(alongs_[size_t(direction)] - along)) direction = i;
  return static_cast<std::uint16_t>((h * static_cast<int>(alongs_.size()) + direction) *
                                        static_cast<int>(speeds_.size()) +
                                    speed_of_step_[size_t(step(speed))]);
}

}  // namespace circumfluence::exposure
