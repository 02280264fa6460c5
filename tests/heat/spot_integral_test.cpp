// Truth: finite differences of the integral itself for its slopes; a scan along the track for its crest.
#include "heat/spot_integral.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace circumfluence::heat {
namespace {

TEST(SpotIntegral, SlopesMatchFiniteDifferences) {
  for (const double drift : {0.0, 0.05, 1.0, 40.0})
    for (const Point at : {Point{-0.7, 0.4, 0}, {0.3, 1.2, 0}, {-1.5, 0.2, 0.3}}) {
      SpotIntegral integral({1.3, 0.8, drift}, kFine, at.z > 0);
      const Slopes here = integral.at(at);
      const double d = 2e-4;
      const Slopes right = integral.at({at.x + d, at.y, at.z}), left = integral.at({at.x - d, at.y, at.z});
      const double up = integral.at({at.x, at.y + d, at.z}).value,
                   down = integral.at({at.x, at.y - d, at.z}).value;
      EXPECT_NEAR(here.x, (right.value - left.value) / (2 * d), 2e-5 * here.value);
      EXPECT_NEAR(here.xx, (right.x - left.x) / (2 * d), 1e-4 * here.value);
      EXPECT_NEAR(here.y, (up - down) / (2 * d), 2e-5 * here.value);
    }
}

TEST(SpotIntegral, QuickIsCloseToFine) {
  for (const double drift : {0.0, 0.01, 0.3, 10.0, 1000.0})
    for (const double along : {0.05, 1.0, 20.0})
      for (const double y : {0.0, 1.0, 5.0}) {
        SpotIntegral fine({along, 1, drift}, kFine, false), quick({along, 1, drift}, kQuick, false);
        const double top = fine.crest(0, 0).value;
        EXPECT_NEAR(quick.crest(y, 0).value / top, fine.crest(y, 0).value / top, 2e-5);
      }
}

TEST(SpotIntegral, TakesTheHigherOfSkirtAndSpreadHeat) {
  // At high speed both exist beside the line; which one wins changes between 1 and 2 beam radii.
  SpotIntegral integral({1, 1, 100}, kFine, false);
  EXPECT_GT(integral.crest(1.0, 0).x, -1);
  EXPECT_LT(integral.crest(2.0, 0).x, -100);
  for (const double y : {1.0, 1.3, 1.5, 1.7, 2.0}) {
    double scanned = 0;
    for (double x = 0.01; x < 1e4; x *= 1.01) scanned = std::max(scanned, integral.at({-x, y, 0}).value);
    EXPECT_NEAR(integral.crest(y, 0).value / scanned, 1, 2e-3);
    EXPECT_GE(integral.crest(y, 0).value, scanned * (1 - 1e-9));
  }
}

TEST(SpotIntegral, NeitherOfTwoCrestsIsOverlooked) {
  // States close to the kink, with both crests alive: slow and very short spots, and crests near each other.
  const struct {
    double peclet, along, y;
  } rows[] = {{53.4933, 2.67019, 1.25},        {0.00272382, 0.0248278, 1.85719},
              {0.0059623, 0.0565998, 1.85632}, {0.0032673, 0.0327364, 1.8618},
              {1.48664, 0.0623719, 1.125},     {6109.48, 15.9829, 1.3125}};
  for (const auto& row : rows) {
    SpotIntegral integral({row.along, 1, row.peclet / (4 * row.along)}, kFine, false);
    double scanned = 0;
    for (double x = 1e-4 * row.along; x < 1e5; x *= 1.02)
      scanned = std::max(scanned, integral.at({-x, row.y, 0}).value);
    EXPECT_GE(integral.crest(row.y, 0).value, scanned * (1 - 1e-9)) << row.peclet;
    EXPECT_NEAR(integral.crest(row.y, 0).value / scanned, 1, 1e-3) << row.peclet;
  }
}

TEST(SpotIntegral, CrestIsFoundWhereHeatArrivesLate) {
  // Just beside the beam nothing has reached this depth yet, so the search starts on an empty integrand.
  const double along = 0.0264221, z = 0.00918715;
  const Shape shape{along, 1, 4403.57 / (4 * along)};
  for (const Precision& precision : {kFine, kQuick}) {
    double last = HUGE_VAL;
    for (double y = 0; y < 8; y += 0.25) {
      const Crest crest = SpotIntegral(shape, precision, true).crest(y, z);
      EXPECT_GT(crest.value, 0) << y;
      EXPECT_LT(crest.value, last) << y;
      last = crest.value;
    }
  }
}

TEST(SpotIntegral, FarAheadOfAFastSpotThereIsNothing) {
  SpotIntegral integral({1, 1, 100}, kFine, false);
  EXPECT_EQ(integral.at({50, 0, 0}).value, 0);
}

}  // namespace
}  // namespace circumfluence::heat
