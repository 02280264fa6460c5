// Truth: the rise itself along the line (heat/layered_spot.h), and the half-space integral.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "heat/layered_spot.h"

namespace circumfluence::heat {
namespace {

const Layer kCoat{30e-6, 0.25, 2.1e6}, kSteel{INFINITY, 16.2, 3.95e6};

double between(const std::vector<LayeredSpot::Sample>& cycle, double time) {
  const auto after = std::lower_bound(cycle.begin(), cycle.end(), time,
                                      [](const LayeredSpot::Sample& s, double t) { return s.time < t; });
  if (after == cycle.begin() || after == cycle.end()) return 0;
  const LayeredSpot::Sample &b = *after, &a = *(after - 1);
  return a.rise + (b.rise - a.rise) * (time - a.time) / (b.time - a.time);
}

TEST(LayeredCycle, StraightLinesBetweenSamplesFollowTheRise) {
  for (const Orders& orders : {Orders{2, 2}, Orders{8, 8}})
    for (const double z : {0.0, 30e-6})
      for (const double y : {0.0, 50e-6})
        for (const double speed : {0.01, 0.5}) {
          const LayeredSpot spot({.layers = {kCoat, kSteel}}, {40e-6, 40e-6, speed}, z, orders);
          const double top = spot.peak(y).rise;
          const auto cycle = spot.cycle(y);
          ASSERT_LT(cycle.size(), 400u);
          double highest = 0;
          for (size_t i = 0; i < cycle.size(); ++i) {
            ASSERT_GT(cycle[i].time, i > 0 ? cycle[i - 1].time : -1.0);
            highest = std::max(highest, cycle[i].rise);
          }
          EXPECT_NEAR(highest / top, 1, 1e-4);
          for (double x = -500e-6; x < 200e-6; x += 7.3e-6) {
            const double rise = spot.rise(x, y), time = -x / speed;
            if (time > cycle.front().time && time < cycle.back().time)
              EXPECT_NEAR(between(cycle, time) / top, rise / top, 1e-3) << z << " " << y << " " << x;
            else
              EXPECT_LT(rise, 0.021 * top) << z << " " << y << " " << x;
          }
        }
}

TEST(LayeredCycle, FollowsTheHalfSpace) {
  const Spot spot{40e-6, 25e-6, 0.0417};
  const Solid steel{16.2, 16.2 / 3.95e6};
  const auto cycle = LayeredSpot({.layers = {kSteel}}, spot, 5e-6).cycle(10e-6, 0.005);
  const double top = peak(steel, spot, 10e-6, 5e-6).rise;
  for (const LayeredSpot::Sample& s : cycle)
    EXPECT_NEAR(s.rise / top, rise(steel, spot, {-spot.speed * s.time, 10e-6, 5e-6}) / top, 5e-5) << s.time;
  EXPECT_LT(cycle.front().time, 0);
  EXPECT_LE(cycle.front().rise, 0.005 * top);
  EXPECT_LE(cycle.back().rise, 0.005 * top);
}

}  // namespace
}  // namespace circumfluence::heat
