// Truth: a characteristic matrix written here (Abeles), closed forms at normal incidence and at Brewster's angle,
// values for oxide on steel worked out independently, and the hues of oxidised silicon.
#include "appearance/thin_film.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "job/material_file.h"

namespace circumfluence::appearance {
namespace {

using Complex = std::complex<double>;
constexpr double kPi = std::numbers::pi;
constexpr Complex kImaginary(0, 1);

// Another road: characteristic matrix of the film, admittances N cos t and N / cos t.
double by_matrix(const Film& f, double wavelength, double cosine, bool p) {
  const double sine = std::sqrt(1 - cosine * cosine);
  const auto admittance = [&](Complex n) {
    const Complex c = std::sqrt(1.0 - sine * sine / (n * n));
    return p ? n / c : n * c;
  };
  const Complex c1 = std::sqrt(1.0 - sine * sine / (f.film * f.film));
  const Complex phase = 2 * kPi * f.film * f.thickness * c1 / wavelength;
  const Complex e0 = p ? 1 / cosine : cosine, e1 = admittance(f.film), e2 = admittance(f.body);
  const Complex b = std::cos(phase) - kImaginary * std::sin(phase) / e1 * e2;
  const Complex c = -kImaginary * e1 * std::sin(phase) + std::cos(phase) * e2;
  return std::norm((e0 * b - c) / (e0 * b + c));
}

TEST(ThinFilm, IsTheCharacteristicMatrix) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> any(0, 1);
  for (int i = 0; i < 2000; ++i) {
    const Film f{
        {1.2 + 2 * any(random), 0.3 * any(random)}, {0.3 + 4 * any(random), 5 * any(random)}, 500e-9 * any(random)};
    const double w = (400 + 300 * any(random)) * 1e-9, c = 0.05 + 0.95 * any(random);
    const double twin = 0.5 * (by_matrix(f, w, c, false) + by_matrix(f, w, c, true));
    const double ours = reflectance(f, w, c);
    EXPECT_NEAR(ours, twin, 1e-12);
    EXPECT_GE(ours, 0);
    EXPECT_LE(ours, 1 + 1e-12);
  }
}

TEST(ThinFilm, PublishedValues) {        // worked out independently: Airy's sum and matrix agree to six digits
  const Complex steel(2.04395, 3.6732);  // Karlsson and Ribbing, half-way between 540 and 560 nm
  const double thick[] = {0, 20, 40, 60, 80, 100, 200};
  const double share[] = {0.640751, 0.427669, 0.119742, 0.361105, 0.615791, 0.687917, 0.618933};
  for (int i = 0; i < 7; ++i)
    EXPECT_NEAR(reflectance({2.3, steel, thick[i] * 1e-9}, 550e-9), share[i], 1e-6) << thick[i];
}

TEST(ThinFilm, NoFilmIsTheBareBody) {
  const Complex body(2.0440, 3.6732);
  const double bare = std::norm((1.0 - body) / (1.0 + body));
  EXPECT_NEAR(reflectance({2.3, body, 0}, 550e-9), bare, 1e-14);
  EXPECT_NEAR(reflectance({body, body, 70e-9}, 550e-9), bare, 1e-14);
  EXPECT_NEAR(bare_reflectance(even_index(body))[34], bare, 1e-14);
  for (const double c : {0.9, 0.5, 0.1})
    EXPECT_NEAR(reflectance({2.3, body, 0}, 550e-9, c), reflectance({1.7, body, 0}, 550e-9, c), 1e-13);
}

// Light along the field of p is not reflected at all at tan t = n; of s there is ((n^2 - 1) / (n^2 + 1))^2.
TEST(ThinFilm, Brewster) {
  for (const double n : {1.33, 1.5, 2.3}) {
    const double c = 1 / std::sqrt(1 + n * n), s = (n * n - 1) / (n * n + 1);
    EXPECT_NEAR(reflectance({n, n, 0}, 550e-9, c), 0.5 * s * s, 1e-14);
    EXPECT_NEAR(bare_reflectance(even_index(n), c)[10], 0.5 * s * s, 1e-14);
  }
}

// A quarter wave of sqrt(n) kills reflection; a half wave is not there.
TEST(ThinFilm, QuarterAndHalfWaves) {
  const double n = 1.5, film = std::sqrt(n);
  EXPECT_NEAR(reflectance({film, n, 550e-9 / 4 / film}, 550e-9), 0, 1e-14);
  EXPECT_NEAR(reflectance({film, n, 550e-9 / 2 / film}, 550e-9), 0.04, 1e-14);
}

TEST(ThinFilm, GrazingLightIsReflected) {
  EXPECT_NEAR(reflectance({2.3, {2, 3.6}, 40e-9}, 550e-9, 1e-7), 1, 1e-5);
  EXPECT_LE(reflectance({2.3, {2, 3.6}, 40e-9}, 550e-9, 0), 1);
}

double mean_by_force(Complex film, Complex body, double w, const Layer& layer) {
  double sum = 0, all = 0;
  for (int i = -4000; i <= 4000; ++i) {
    const double z = i * 1e-3, d = layer.thickness * (1 + layer.uneven * z);
    if (d < 0) continue;
    sum += std::exp(-0.5 * z * z) * reflectance({film, body, d}, w);
    all += std::exp(-0.5 * z * z);
  }
  return sum / all;
}

TEST(ThinFilm, UnevennessIsTheMeanOverIt) {
  const Complex bodies[] = {{2.0, 3.6}, {2.9, 2.9}}, films[] = {{2.3, 0}, {2.4, 0.1}};
  for (const double d : {3e-9, 45e-9, 150e-9, 400e-9})
    for (const double uneven : {0.05, 0.25, 0.6})
      for (int i = 0; i < 2; ++i) {
        const Layer layer{d, uneven};
        const Reflectance r = film_reflectance(even_index(films[i]), even_index(bodies[i]), layer);
        for (const int band : {4, 34, 70})
          EXPECT_NEAR(r[size_t(band)], mean_by_force(films[i], bodies[i], wavelength(band), layer),
                      uneven > 0.25 ? 1e-3 : 2e-4)
              << d << " " << uneven << " " << band;
      }
}

TEST(ThinFilm, NoUnevennessIsThePlainFilm) {
  const Reflectance r = film_reflectance(even_index(2.3), even_index({2, 3.6}), {45e-9, 1e-9});
  for (int i = 0; i < kBands; i += 10)
    EXPECT_NEAR(r[size_t(i)], reflectance({2.3, {2, 3.6}, 45e-9}, wavelength(i)), 1e-8);
}

// L*a*b* of oxide on steel under D65, worked out independently from the same n and k.
TEST(ThinFilm, ColoursOfOxideOnSteel) {
  const Index body = index_of(job::find_material("aisi_316", {}).spectrum, "steel");
  const double table[][4] = {{0, 84.09, 0.44, 3.51},     {10, 79.83, 0.56, 8.60},     {20, 71.67, 1.37, 20.45},
                             {30, 57.82, 7.92, 30.60},   {35, 49.79, 15.10, 15.07},   {40, 44.27, 19.69, -10.96},
                             {45, 44.77, 14.61, -28.04}, {50, 50.72, 3.99, -31.99},   {60, 65.69, -7.13, -23.50},
                             {80, 81.91, -5.56, -5.95},  {100, 85.90, -4.84, 8.71},   {120, 83.09, -7.21, 42.64},
                             {140, 71.20, 21.98, 25.72}, {160, 56.03, 45.67, -39.45}, {200, 79.34, -28.19, 1.17}};
  for (const auto& [nm, l, a, b] : table) {
    const Lab lab = lab_from_xyz(seen(film_reflectance(even_index(2.3), body, {nm * 1e-9, 0})));
    EXPECT_NEAR(lab.l, l, 0.05) << nm;
    EXPECT_NEAR(lab.a, a, 0.05) << nm;
    EXPECT_NEAR(lab.b, b, 0.05) << nm;
  }
}

TEST(ThinFilm, ColoursOfMagnetiteOnSteel) {  // the record's table of magnetite is thinned out: within half a unit
  const Index body = index_of(job::find_material("aisi_316", {}).spectrum, "steel");
  const Index film = index_of(job::find_material("mild_steel", {}).oxide_spectrum, "magnetite");
  const double table[][4] = {{20, 69.11, 0.93, 24.29},  {40, 31.15, 33.51, -32.11},  {60, 55.92, -6.11, -37.59},
                             {100, 78.34, -9.20, 8.02}, {160, 36.50, 60.28, -67.35}, {200, 65.46, -40.98, 3.89}};
  for (const auto& [nm, l, a, b] : table) {
    const Lab lab = lab_from_xyz(seen(film_reflectance(film, body, {nm * 1e-9, 0})));
    EXPECT_LT(ciede2000(lab, {l, a, b}), 0.5) << nm;
  }
}

// Aspnes & Studna 1983 (open table, CC0); silica after Malitson 1965.
Index silicon() {
  const double table[][3] = {
      {0.3757, 6.709, 1.32},  {0.3875, 6.062, 0.63},  {0.3999, 5.57, 0.387},  {0.4133, 5.222, 0.269},
      {0.4275, 4.961, 0.203}, {0.4428, 4.753, 0.163}, {0.4592, 4.583, 0.13},  {0.4769, 4.442, 0.09},
      {0.4959, 4.32, 0.073},  {0.5166, 4.215, 0.06},  {0.5391, 4.123, 0.048}, {0.5636, 4.042, 0.032},
      {0.5904, 3.969, 0.03},  {0.6199, 3.906, 0.022}, {0.6525, 3.847, 0.016}, {0.6888, 3.796, 0.013},
      {0.7293, 3.752, 0.01},  {0.7749, 3.714, 0.008}, {0.8266, 3.673, 0.005}};
  workpiece::Spectrum record;
  for (const auto& [um, n, k] : table)
    record.wavelengths.push_back(um * 1e-6), record.n.push_back(n), record.k.push_back(k);
  return index_of(record, "silicon");
}

Index silica() {
  Index out;
  for (int i = 0; i < kBands; ++i) {
    const double s = wavelength(i) * wavelength(i) * 1e12;
    out[size_t(i)] = std::sqrt(1 + 0.6961663 * s / (s - 0.0684043 * 0.0684043) +
                               0.4079426 * s / (s - 0.1162414 * 0.1162414) + 0.8974794 * s / (s - 9.896161 * 9.896161));
  }
  return out;
}

TEST(ThinFilm, HuesOfOxidisedSilicon) {  // an independent model, whose hues fit the laboratory's chart of 1964
  const double table[][2] = {{100, 288}, {120, 272}, {150, 253}, {200, 116}, {220, 93},  {270, 319},
                             {300, 283}, {310, 264}, {320, 243}, {340, 200}, {350, 177}, {370, 139},
                             {390, 111}, {410, 41},  {440, 330}, {460, 319}, {490, 273}};
  const Index film = silica(), body = silicon();
  for (const auto& [nm, hue] : table) {
    const Lab lab = lab_from_xyz(seen(film_reflectance(film, body, {nm * 1e-9, 0})));
    const double ours = std::atan2(lab.b, lab.a) * 180 / kPi, off = std::remainder(ours - hue, 360);
    EXPECT_NEAR(off, 0, 3) << nm;
  }
}

}  // namespace
}  // namespace circumfluence::appearance
