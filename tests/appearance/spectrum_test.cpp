// Truth: the published white of D65 and a second way of writing each definition; the published
// spectral locus.
#include "appearance/spectrum.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

Reflectance even(double share) {
  Reflectance out;
  out.fill(share);
  return out;
}

TEST(Spectrum, WhiteIsTheStandardsWhite) {
  const Xyz white = seen(even(1));
  EXPECT_NEAR(white.x, 95.047, 1e-10);
  EXPECT_NEAR(white.y, 100.0, 1e-10);
  EXPECT_NEAR(white.z, 108.883, 1e-10);
  const Lab lab = lab_from_xyz(white);
  EXPECT_NEAR(lab.l, 100, 1e-10);
  EXPECT_NEAR(lab.a, 0, 1e-10);
  EXPECT_NEAR(lab.b, 0, 1e-10);
  EXPECT_EQ(srgb_from_linear(linear_from_xyz(white)), (Colour{255, 255, 255}));
}

TEST(Spectrum, IsLinear) {
  Reflectance ramp, rest;
  for (int i = 0; i < kBands; ++i) ramp[size_t(i)] = i / 80.0, rest[size_t(i)] = 1 - i / 80.0;
  EXPECT_NEAR(seen(ramp).x + seen(rest).x, kWhite.x, 1e-10);
  EXPECT_NEAR(seen(ramp).z + seen(rest).z, kWhite.z, 1e-10);
  EXPECT_NEAR(seen(even(0.18)).y, 18, 1e-10);
  EXPECT_EQ(seen(even(0)).y, 0);
}

// Where light of one band alone is reflected, its colour lies where the diagram of 1931 has it: x = X / (X + Y + Z).
// Published chromaticities of the spectral locus (CIE 15, from memory), which hold to the scaling of the white.
TEST(Spectrum, SingleBandsLieOnTheSpectralLocus) {
  const struct {
    double nm, x, y;
  } locus[] = {{450, 0.1566, 0.0177},
               {520, 0.0743, 0.8338},
               {550, 0.3016, 0.6923},
               {600, 0.6270, 0.3725},
               {650, 0.7260, 0.2740}};
  for (const auto& point : locus) {
    Reflectance one = even(0);
    one[size_t((point.nm - 380) / 5)] = 1;
    const Xyz c = seen(one);
    EXPECT_NEAR(c.x / (c.x + c.y + c.z), point.x, 2e-4) << point.nm;
    EXPECT_NEAR(c.y / (c.x + c.y + c.z), point.y, 2e-4) << point.nm;
  }
}

TEST(Spectrum, HuesOfFilters) {
  Reflectance red = even(0), blue = even(0);
  for (int i = 0; i < kBands; ++i) (wavelength(i) > 600e-9 ? red : wavelength(i) < 480e-9 ? blue : red)[size_t(i)] = 1;
  for (int i = 0; i < kBands; ++i)
    if (wavelength(i) <= 600e-9) red[size_t(i)] = 0;
  const Linear r = linear_from_xyz(seen(red)), b = linear_from_xyz(seen(blue));
  EXPECT_GT(r[0], 3 * std::abs(r[1]));
  EXPECT_GT(b[2], 3 * std::abs(b[1]));
}

TEST(Spectrum, IndexIsStraightBetweenAndHeldBeyond) {
  const workpiece::Spectrum record{{400e-9, 500e-9, 700e-9}, {1, 2, 3}, {0.5, 0.1, 0.3}, "made up"};
  const Index index = index_of(record, "it");
  EXPECT_EQ(index[0], std::complex<double>(1, 0.5));  // 380 nm
  EXPECT_NEAR(index[4].real(), 1, 1e-12);             // 400 nm
  EXPECT_NEAR(index[14].real(), 1.5, 1e-12);          // 450 nm
  EXPECT_NEAR(index[14].imag(), 0.3, 1e-12);
  EXPECT_NEAR(index[44].real(), 2.5, 1e-12);           // 600 nm
  EXPECT_EQ(index[80], std::complex<double>(3, 0.3));  // 780 nm
  EXPECT_EQ(even_index({2, 1})[40], std::complex<double>(2, 1));
}

TEST(Spectrum, RefusesARecordThatDoesNotCoverTheVisible) {
  EXPECT_THAT(
      [] {
        index_of({{450e-9, 700e-9}, {1, 1}, {0, 0}, "x"}, "tin");
      },
      ThrowsMessage<ValidityError>(HasSubstr("the spectrum of tin does not reach from 400 nm")));
  EXPECT_THROW(index_of({{400e-9, 650e-9}, {1, 1}, {0, 0}, "x"}, "tin"), ValidityError);
  EXPECT_THROW(index_of({}, "tin"), ValidityError);
  EXPECT_THROW(index_of({{400e-9, 700e-9}, {1}, {0, 0}, "x"}, "tin"), ValidityError);
}

}  // namespace
}  // namespace circumfluence::appearance
