// Truth: the SI brochure, 9th edition (prefixes, min, h), the international inch of 25.4 mm; round trips.
#include "quantity/unit.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

struct Written {
  const char* text;
  const char* like;
  double si;
};

class ParseQuantity : public testing::TestWithParam<Written> {};

TEST_P(ParseQuantity, GivesSi) {
  const Written& w = GetParam();
  EXPECT_NEAR(parse_quantity(w.text, w.like), w.si, 1e-14 * std::abs(w.si)) << w.text;
}

INSTANTIATE_TEST_SUITE_P(
    Units, ParseQuantity,
    testing::Values(Written{"2500 mm/min", "mm/s", 2.5 / 60}, Written{"0.1 mm", "m", 1e-4},
                    Written{"75 um", "mm", 75e-6}, Written{"75 µm", "mm", 75e-6},
                    Written{"75 μm", "mm", 75e-6}, Written{"5 W", "W", 5}, Written{"250 mW", "W", 0.25},
                    Written{"5 J/cm^2", "J/m^2", 5e4}, Written{"5 J/cm²", "J/m^2", 5e4},
                    Written{"3.7 J/mm^3", "J/m^3", 3.7e9}, Written{"16 W/(m K)", "W/(m K)", 16},
                    Written{"16 W/m/K", "W/(m K)", 16}, Written{"500 J/(kg K)", "J/(kg K)", 500},
                    Written{"0.5 kJ/kg/K", "J/(kg K)", 500}, Written{"7.9 g/cm^3", "kg/m^3", 7900},
                    Written{"254 lines/in", "1/m", 1e4}, Written{"90 deg", "rad", std::numbers::pi / 2},
                    Written{"1 rev", "rad", 2 * std::numbers::pi}, Written{"20 degC", "K", 293.15},
                    Written{"20 °C", "K", 293.15}, Written{"-40 degC", "K", 233.15},
                    Written{"300 K", "degC", 300}, Written{"35 %", "1", 0.35}, Written{"0.35", "1", 0.35},
                    Written{"2 h", "s", 7200}, Written{"5 kHz", "Hz", 5000}, Written{"450nm", "m", 450e-9},
                    Written{"  +1e-3  m ", "m", 1e-3}, Written{"-2 mm", "m", -2e-3}));

struct Wrong {
  const char* text;
  const char* like;
  const char* message;
};

class RefusedQuantity : public testing::TestWithParam<Wrong> {};

TEST_P(RefusedQuantity, SaysWhy) {
  const Wrong& w = GetParam();
  EXPECT_THAT([&] { parse_quantity(w.text, w.like); }, ThrowsMessage<JobError>(HasSubstr(w.message)))
      << w.text;
}

INSTANTIATE_TEST_SUITE_P(
    Units, RefusedQuantity,
    testing::Values(Wrong{"20", "W", "without a unit"}, Wrong{"20 m", "W", "a length"},
                    Wrong{"20 m", "W", "expected a power"}, Wrong{"nan W", "W", "finite"},
                    Wrong{"inf W", "W", "finite"}, Wrong{"1e308 km", "m", "finite"},
                    Wrong{"fast", "mm/s", "no finite number"}, Wrong{"", "m", "no finite number"},
                    Wrong{"3 furlong", "m", "unknown unit \"furlong\""}, Wrong{"3 m^x", "m", "power"},
                    Wrong{"3 m^99", "m", "power"}, Wrong{"3 kmin", "s", "unknown unit"}));

TEST(Unit, DegreesCountFromZeroOnlyWhenAlone) {
  EXPECT_DOUBLE_EQ(parse_quantity("16 W/(m degC)", "W/(m K)"), 16);
}

TEST(Unit, FormatWritesWhatParseReads) {
  for (const char* unit : {"mm", "um", "mm/min", "W", "J/cm^2", "degC", "deg", "%", "W/(m K)", "kg/m^3", "1"})
    for (const double value : {1.0, 0.123456789, 4321.5})
      EXPECT_NEAR(parse_quantity(format(value, unit, 15), unit), value, 1e-12 * value) << unit;
  EXPECT_EQ(format(0.041667, "mm/s", 5), "41.667 mm/s");
  EXPECT_EQ(format(0.3, "mm/min", 4), "18000 mm/min");  // written out, as a person sets it
  EXPECT_EQ(format(10.6e-6, "nm", 3), "10600 nm");
  EXPECT_EQ(format(-123.456, "mm", 3), "-123000 mm");
  EXPECT_EQ(format(1e40, "1/s", 3), "1e+40 1/s");
  EXPECT_EQ(format(0.25, "1"), "0.25");
  EXPECT_EQ(format(293.15, "degC"), "20 degC");
}

TEST(Unit, InUnitDividesByTheUnit) {
  EXPECT_DOUBLE_EQ(in_unit(1e-3, "um"), 1000);
  EXPECT_NEAR(in_unit(293.15, "degC"), 20, 1e-12);
}

TEST(Unit, DimensionsHaveNames) {
  EXPECT_EQ(name_of(parse_unit("J/cm^2").dimension), "an energy per area");
  EXPECT_EQ(name_of(parse_unit("mm/min").dimension), "a speed");
  EXPECT_EQ(name_of(parse_unit("%").dimension), "a ratio");
  EXPECT_EQ(name_of(parse_unit("m s").dimension), "a quantity in m s");
  EXPECT_EQ(name_of(parse_unit("kg^2/s^3").dimension), "a quantity in kg^2 s^-3");
}

}  // namespace
}  // namespace circumfluence::quantity
