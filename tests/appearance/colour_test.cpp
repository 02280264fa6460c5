// Truth: published values. sRGB and Lab of the primaries: IEC 61966-2-1 and CIE 15, 4 decimals;
// colour differences: Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1), 21-30, Table I, all 34 pairs.
#include "appearance/colour.h"

#include <gtest/gtest.h>

#include <cmath>
#include <tuple>

namespace circumfluence::appearance {
namespace {

struct Primary {
  Xyz xyz;
  Lab lab;
  Colour colour;
};

constexpr Primary kPrimaries[] = {
    {{41.24564, 21.26729, 1.93339}, {53.2408, 80.0925, 67.2032}, {255, 0, 0}},
    {{35.75761, 71.51522, 11.91920}, {87.7347, -86.1827, 83.1793}, {0, 255, 0}},
    {{18.04375, 7.21750, 95.03041}, {32.2970, 79.1875, -107.8602}, {0, 0, 255}},
};

TEST(Colour, PrimariesHaveTheirPublishedLab) {
  for (const Primary& primary : kPrimaries) {
    for (const Lab lab : {lab_from_xyz(primary.xyz), lab_from_srgb(primary.colour)}) {
      EXPECT_NEAR(lab.l, primary.lab.l, 1e-4);
      EXPECT_NEAR(lab.a, primary.lab.a, 1e-4);
      EXPECT_NEAR(lab.b, primary.lab.b, 1e-4);
    }
    EXPECT_EQ(srgb_from_linear(linear_from_xyz(primary.xyz)), primary.colour);
  }
}

TEST(Colour, MiddleGreyIs128) {
  EXPECT_EQ(srgb_from_linear(linear_from_xyz({20.516, 21.586, 23.5})), (Colour{128, 128, 128}));
}

TEST(Colour, WhiteIsWhite) {
  const Lab lab = lab_from_srgb({255, 255, 255});
  EXPECT_NEAR(lab.l, 100.0, 1e-4);
  EXPECT_NEAR(lab.a, 0.0, 1e-2);
  EXPECT_NEAR(lab.b, 0.0, 1e-2);
}

TEST(Colour, EveryGreySurvivesTheRoundTrip) {
  for (int i = 0; i < 256; ++i) {
    const auto value = static_cast<std::uint8_t>(i);
    const Colour grey{value, value, value};
    EXPECT_EQ(srgb_from_linear(linear_from_srgb(grey)), grey);
  }
}

// The two pieces of the curve meet at the knee within what the standard's rounding leaves.
TEST(Colour, TransferCurveIsContinuous) {
  EXPECT_NEAR(srgb_from_linear(0.0031308), srgb_from_linear(0.0031308 + 1e-12), 1e-7);
  EXPECT_NEAR(linear_from_srgb(0.04045), linear_from_srgb(0.04045 + 1e-12), 1e-7);
}

TEST(Colour, WhatNoScreenShowsIsClipped) {
  EXPECT_EQ(srgb_from_linear(Linear{-0.2, 1.5, 0.0}), (Colour{0, 255, 0}));
}

struct Pair {
  Lab one, other;
  double difference;
};

constexpr Pair kPairs[] = {
    {{50.0000, 2.6772, -79.7751}, {50.0000, 0.0000, -82.7485}, 2.0425},
    {{50.0000, 3.1571, -77.2803}, {50.0000, 0.0000, -82.7485}, 2.8615},
    {{50.0000, 2.8361, -74.0200}, {50.0000, 0.0000, -82.7485}, 3.4412},
    {{50.0000, -1.3802, -84.2814}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -1.1848, -84.8006}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -0.9009, -85.5211}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, 0.0000, 0.0000}, {50.0000, -1.0000, 2.0000}, 2.3669},
    {{50.0000, -1.0000, 2.0000}, {50.0000, 0.0000, 0.0000}, 2.3669},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0009}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0010}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0011}, 7.2195},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0012}, 7.2195},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0009, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0010, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0011, -2.4900}, 4.7461},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 0.0000, -2.5000}, 4.3065},
    {{50.0000, 2.5000, 0.0000}, {73.0000, 25.0000, -18.0000}, 27.1492},
    {{50.0000, 2.5000, 0.0000}, {61.0000, -5.0000, 29.0000}, 22.8977},
    {{50.0000, 2.5000, 0.0000}, {56.0000, -27.0000, -3.0000}, 31.9030},
    {{50.0000, 2.5000, 0.0000}, {58.0000, 24.0000, 15.0000}, 19.4535},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.1736, 0.5854}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2972, 0.0000}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 1.8634, 0.5757}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2592, 0.3350}, 1.0000},
    {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
    {{63.0109, -31.0961, -5.8663}, {62.8187, -29.7946, -4.0864}, 1.2630},
    {{61.2901, 3.7196, -5.3901}, {61.4292, 2.2480, -4.9620}, 1.8731},
    {{35.0831, -44.1164, 3.7933}, {35.0232, -40.0716, 1.5901}, 1.8645},
    {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
    {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
    {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, 0.0447}, 1.4441},
    {{90.9257, -0.5406, -0.9208}, {88.6381, -0.8985, -0.7239}, 1.5381},
    {{6.7747, -0.2908, -2.4247}, {5.8714, -0.0985, -2.2286}, 0.6377},
    {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082},
};

TEST(Ciede2000, AllThirtyFourPublishedPairs) {
  static_assert(std::size(kPairs) == 34);
  for (const Pair& pair : kPairs) {
    const auto number = &pair - kPairs + 1;
    EXPECT_NEAR(ciede2000(pair.one, pair.other), pair.difference, 1e-4) << "pair " << number;
    EXPECT_NEAR(ciede2000(pair.other, pair.one), pair.difference, 1e-4) << "pair " << number << " turned";
  }
}

TEST(Ciede2000, BlackToWhiteIsAHundred) {
  EXPECT_NEAR(ciede2000({0.0, 0.0, 0.0}, {100.0, 0.0, 0.0}), 100.0, 1e-9);
}

}  // namespace
}  // namespace circumfluence::appearance
