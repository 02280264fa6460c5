// A coupon of three fills and two single lines, of differing settings.
#pragma once

#include "calibration/coupon.h"

namespace circumfluence::calibration {

inline Coupon small_coupon(Ground ground = Ground::flat) {
  using motion::Direction;
  Coupon out{.ground = ground,
             .width = 36e-3,
             .height = 24e-3,
             .corner = 3e-3,
             .ink = {.power = 8, .speed = 0.03, .spacing = 0.1e-3},
             .letters = 1e-3,
             .slots = {}};
  out.slots = {
      {1, {.power = 2.5, .speed = 0.04, .spacing = 0.1e-3}, {5e-3, 17e-3, 4e-3, 3e-3}},
      {2, {.power = 7.5, .speed = 0.025, .spacing = 0.07e-3, .passes = 2}, {15e-3, 17e-3, 4e-3, 3e-3}},
      {3,
       {.power = 10, .speed = 1e-3, .spacing = 0.25e-3, .focus_offset = -1.5e-3, .direction = Direction::around},
       {26e-3, 17e-3, 4e-3, 3e-3}},
      {4, {.power = 1 / 3.0, .speed = 0.04, .spacing = 0}, {5e-3, 7e-3, 4e-3, 2e-3}},
      {5,
       {.power = 5, .speed = 0.0123456789, .spacing = 0, .passes = 3, .direction = Direction::around},
       {15e-3, 7e-3, 2e-3, 3e-3}},
  };
  return out;
}

inline bool within(const Rectangle& place, double x, double y, double slack = 1e-7) {
  return x >= place.x - slack && x <= place.x + place.width + slack && y >= place.y - slack &&
         y <= place.y + place.height + slack;
}

}  // namespace circumfluence::calibration
