// The visible spectrum in bands, and what the standard observer sees of it.
//
//   X = 100 sum S x R / sum S y   and so on, over 380 to 780 nm in steps of 5 nm
//   S: power of the light D65; x, y, z: CIE 1931 2-degree observer; R: share reflected
//
// Checked: published white and spectral locus; colours of films, thin_film.h.
// Source: CIE 15; tables in sim/appearance/cie1931_d65.csv.
#pragma once

#include <array>
#include <complex>

#include "appearance/colour.h"
#include "workpiece/material.h"

namespace circumfluence::appearance {

inline constexpr int kBands = 81;
inline constexpr double wavelength(int band) { return (380 + 5 * band) * 1e-9; }  // [m]

using Reflectance = std::array<double, kBands>;             // [1] by band
using Index = std::array<std::complex<double>, kBands>;     // n + ik by band

// White is kWhite exactly: the tables' own sum is scaled to it, channel by channel.
Xyz seen(const Reflectance& reflectance);
// Straight between the wavelengths on record. Throws ValidityError when the record does not cover 400 to 700 nm; beyond
// its ends the last value holds.
Index index_of(const workpiece::Spectrum& spectrum, const char* name);
Index even_index(std::complex<double> index);  // the same everywhere

}  // namespace circumfluence::appearance
