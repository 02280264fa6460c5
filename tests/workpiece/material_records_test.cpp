// Truth: what the sources of the built-in records say, worked out again from the records' figures (heat tints
// of an hour, scales of a furnace, decomposition peaks), and what any record of its kind must have.
#include <gtest/gtest.h>

#include <cmath>

#include "job/material_file.h"
#include "workpiece/material.h"

namespace circumfluence::workpiece {
namespace {

Material record(const std::string& name) {
  for (const auto& material :
       job::read_material_folder(std::string(CIRCUMFLUENCE_SOURCE) + "/sim/workpiece/materials"))
    if (material.name == name) return material;
  ADD_FAILURE() << "no record of " << name;
  return {};
}

double oxide_after(const Material& material, double kelvin, double seconds) {  // [m]
  const double rate = material.oxide_rate.value * std::exp(-material.oxide_activation.value / kelvin);
  return std::sqrt(rate * seconds);
}

// Where half is converted in a hold.
double half_at(const quantity::Figure& rate, const quantity::Figure& activation, double seconds) {
  return activation.value / std::log(rate.value * seconds / std::log(2.0));
}

// Kissinger's peak on heating by 10 K/min: beta E/(R T^2) = A exp(-E/RT).
double oven_peak(const quantity::Figure& rate, const quantity::Figure& activation) {
  double low = 300, high = 1500;
  for (int i = 0; i < 60; ++i) {
    const double t = 0.5 * (low + high);
    const bool before = 10.0 / 60 * activation.value / (t * t) > rate.value * std::exp(-activation.value / t);
    (before ? low : high) = t;
  }
  return low;
}

TEST(Records, GrowTheOxideOfTheTintCharts) {
  for (const char* name : {"aisi_304", "aisi_316"})
    EXPECT_NEAR(oxide_after(record(name), 723, 3600), 40e-9, 2e-9);
  EXPECT_NEAR(oxide_after(record("titanium_grade_2"), 773, 1800), 45e-9, 3e-9);
  EXPECT_NEAR(oxide_after(record("mild_steel"), 583, 600), 46e-9, 3e-9);
}

TEST(Records, GrowTheScaleOfTheFurnace) {
  // 304L in air at 1473 K: 8.83e-2 exp(-352700 / R T) m^2/s; iron at 1273 K 6.8e-11 m^2/s.
  EXPECT_NEAR(oxide_after(record("aisi_304"), 1473, 1e-3) / 5.2e-9, 1, 0.05);
  EXPECT_NEAR(std::pow(oxide_after(record("mild_steel"), 1273, 1), 2) / 6.8e-11, 1, 0.05);
}

// The laws that could have been meant, at 1400 K for 1 ms, lie within two spreads of the rate.
TEST(Records, AreAsUnsureOfTheOxideAsTheLawsDiffer) {
  const Material steel = record("aisi_304");
  const double middle = oxide_after(steel, 1400, 1e-3),
               factor = std::exp(steel.oxide_rate.spread);  // two, of x
  EXPECT_NEAR(middle, 4.0e-9, 0.2e-9);
  EXPECT_LT(middle / factor, 0.1e-9);
  EXPECT_GT(middle * factor * 1.6, 343e-9);
}

TEST(Records, DecomposeWhereOvensSay) {
  const Material board = record("cardboard"), leather = record("leather"), cork = record("cork");
  EXPECT_NEAR(oven_peak(board.char_rate, board.char_activation), 624.3, 1.0);
  EXPECT_NEAR(half_at(board.char_rate, board.char_activation, 1e-3), 987.85, 1.0);
  EXPECT_NEAR(oven_peak(leather.char_rate, leather.char_activation), 600, 3);
  // 46 % of cork is gone after an hour at 350 degC, within a third; a quarter stays as char.
  const double gone =
      1 - std::exp(-cork.char_rate.value * std::exp(-cork.char_activation.value / 623.15) * 3600);
  EXPECT_NEAR(0.75 * gone / 0.46, 1, 0.34);
  const Material layer = record("anodic_layer_dyed_black");
  EXPECT_NEAR(oven_peak(layer.bleach_rate, layer.bleach_activation), 573, 3);
  EXPECT_NEAR(half_at(layer.bleach_rate, layer.bleach_activation, 12 * 3600.0), 477, 8);
}

TEST(Records, HaveWhatTheirKindNeeds) {
  for (const auto& m :
       job::read_material_folder(std::string(CIRCUMFLUENCE_SOURCE) + "/sim/workpiece/materials")) {
    EXPECT_TRUE(m.emissivity.known()) << m.name;
    if (m.kind == Kind::metal) {
      EXPECT_TRUE(m.latent_heat.known()) << m.name;
    }
    if (m.kind == Kind::organic) {
      EXPECT_TRUE(m.char_rate.known() && m.char_activation.known()) << m.name;
    }
    EXPECT_EQ(m.oxide_rate.known(), m.oxide_activation.known()) << m.name;
    EXPECT_EQ(m.oxide_rate.known(), m.oxide_native.known()) << m.name;
    EXPECT_EQ(m.oxide_rate.known(), m.oxide_to.known()) << m.name;
    EXPECT_EQ(m.bleach_rate.known(), m.bleach_activation.known()) << m.name;
    EXPECT_EQ(m.char_rate.known(), m.char_activation.known()) << m.name;
    if (m.oxide_to.known()) {
      EXPECT_LT(m.oxide_from.value, m.oxide_to.value) << m.name;
    }
    if (m.softening.known()) {
      EXPECT_LT(m.softening.value, m.discolouring.value) << m.name;
      EXPECT_LT(m.discolouring.value, m.removal_temperature.value) << m.name;
    }
  }
}

// Measured absorptivity of delivered, hot or oxidised metal lies within two spreads.
TEST(Records, AreAsUnsureOfAbsorptivityAsMeasurementsDiffer) {
  const auto off = [](const Material& m, double wavelength, double measured) {
    const auto& a = optics_at(m, wavelength).absorptivity;
    return std::log(measured / a.value) / a.spread;
  };
  EXPECT_LT(off(record("aisi_304"), 1064e-9, 0.65), 2);
  EXPECT_LT(off(record("aisi_316"), 1064e-9, 0.46), 2);
  EXPECT_LT(off(record("copper"), 450e-9, 0.70), 2);
}

}  // namespace
}  // namespace circumfluence::workpiece
