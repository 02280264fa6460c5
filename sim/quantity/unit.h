// Units at the door: text such as "2500 mm/min" becomes an SI number and back. Inside, everything is SI.
//
// A unit is a product of symbols from a closed set (m, g, s, K, rad, W, J, Hz, min, h, in, deg, rev, %, ...),
// with SI prefixes where they are usual, powers (cm^2, cm²) and one or more divisions ("W/(m K)", "J/cm^2").
// Source of the factors: the SI brochure, 9th edition; the international inch is 25.4 mm.
#pragma once

#include <array>
#include <string>
#include <string_view>

namespace circumfluence::quantity {

// Exponents of metre, kilogram, second, kelvin, radian.
using Dimension = std::array<int, 5>;

struct Unit {
  double factor = 1.0;  // SI value of one unit
  double offset = 0.0;  // [K], for degC alone
  Dimension dimension{};
};

// Throws JobError naming the symbol that is not known.
Unit parse_unit(std::string_view unit);

// "a length", "a power", ...; the exponents spelt out when the dimension has no name.
std::string name_of(const Dimension& dimension);

// "2500 mm/min" as an SI number. `like` is a unit of the expected dimension ("mm/s", "%", "1").
// Throws JobError: no number, no unit, unknown unit, another dimension, not finite.
double parse_quantity(std::string_view text, std::string_view like);

// An SI value in `unit`, with up to `digits` significant figures: "41.667 mm/s"; "1" and "" print no unit.
std::string format(double si, std::string_view unit, int digits = 6);

// The bare number of `format`.
double in_unit(double si, std::string_view unit);

}  // namespace circumfluence::quantity
