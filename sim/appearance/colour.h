// From light to numbers: sRGB, CIE 1931 XYZ, CIE Lab and the colour difference CIEDE2000.
//
//   c = 12.92 l                        l <= 0.0031308     l, c in [0, 1]: linear light, sRGB value
//   c = 1.055 l^(1/2.4) - 0.055        above
//   L = 116 f(Y/Yn) - 16,  a = 500 (f(X/Xn) - f(Y/Yn)),  b = 200 (f(Y/Yn) - f(Z/Zn))
//
// XYZ is scaled so that white has Y = 100; white is D65 seen by the 2 degree observer. Colours a screen can
// not show are clipped channel by channel on their way to sRGB.
// Exactness: the published sRGB primaries to 1e-4 in Lab, all 34 published CIEDE2000 pairs to 1e-4.
// Sources: IEC 61966-2-1 (sRGB); CIE 15 (Lab); Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1), 21-30.
#pragma once

#include <array>
#include <cstdint>

namespace circumfluence::appearance {

using Colour = std::array<std::uint8_t, 3>;  // sRGB
using Linear = std::array<double, 3>;        // [1] red, green, blue as amounts of light, 1 is full

struct Xyz {
  double x, y, z;
};
struct Lab {
  double l, a, b;
};

inline constexpr Xyz kWhite{95.047, 100.0, 108.883};  // D65, 2 degrees

// One channel; arguments outside [0, 1] are clipped.
double linear_from_srgb(double value);
double srgb_from_linear(double light);

Linear linear_from_srgb(const Colour& colour);
Colour srgb_from_linear(const Linear& light);

Xyz xyz_from_linear(const Linear& light);
Linear linear_from_xyz(const Xyz& xyz);
Lab lab_from_xyz(const Xyz& xyz);
Lab lab_from_srgb(const Colour& colour);

// CIEDE2000 with kL = kC = kH = 1; symmetric, about 1 for a difference just seen, 100 from black to white.
// Hues that differ by 180 degrees to within 1e-9 count as exactly opposite, since rounding would otherwise
// decide which of two mean hues is taken.
double ciede2000(const Lab& one, const Lab& other);

}  // namespace circumfluence::appearance
