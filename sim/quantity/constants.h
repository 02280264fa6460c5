// Physical and mathematical constants, SI. Source: CODATA 2018 (exact since the 2019 revision of the SI).
#pragma once

#include <numbers>

namespace circumfluence::quantity {

inline constexpr double kPi = std::numbers::pi;
inline constexpr double kRoomTemperature = 293.15;  // [K] 20 degC, where handbook figures are given

}  // namespace circumfluence::quantity
