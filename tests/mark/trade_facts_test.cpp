// Truth: common practice, no source: what people who mark bottles with such lasers see. Records as shipped,
// nothing fitted. Melting powers: references' table for clean polished metal, read as +-40 %.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "heat/kirchhoff.h"
#include "heat/moving_spot.h"
#include "job/material_file.h"
#include "mark/small_job.h"

namespace circumfluence::mark {
namespace {

using testing::Contains;
using testing::HasSubstr;

// 10 W of blue light in 80 um, a filled patch.
SmallJob blue(const char* power, const char* speed) {
  SmallJob small;
  small.with("scan.power", power).with("scan.speed", speed).with("scan.spacing", "0.1 mm");
  return small;
}

class CoatOnAluminium : public testing::TestWithParam<std::pair<const char*, const char*>> {};

TEST_P(CoatOnAluminium, ComesOffToBrightMetalWithPowerToSpare) {
  for (const char* power : {"70 %", "80 %"}) {
    SmallJob small = blue(power, "2500 mm/min");
    small.with("workpiece.coat", GetParam().first).with("workpiece.coat_thickness", GetParam().second);
    const Verdict v = small.verdict();
    EXPECT_EQ(v.ruling, Ruling::marks);
    EXPECT_LT(v.least_factor, 0.8);  // also between the lines
    EXPECT_GT(v.greatest_factor, 2);
    EXPECT_LT(v.hottest, 293.15 + 150);  // metal unharmed
    EXPECT_EQ(v.wanted[3] + v.unwanted[3], 0);
  }
}

INSTANTIATE_TEST_SUITE_P(Coats, CoatOnAluminium,
                         testing::Values(std::pair{"polyester_powder_black", "60 um"},
                                         std::pair{"epoxy_powder_black", "60 um"},
                                         std::pair{"acrylic_paint_black", "30 um"},
                                         std::pair{"polyurethane_paint_black", "30 um"}));

TEST(BareStainless, FullPowerDarkensAndMeltsVerySlightly) {
  SmallJob small = blue("100 %", "1800 mm/min");
  small.bare("aisi_304", "0.5 mm");
  const MarkMap map = small.predicted();
  EXPECT_GT(map.verdict.hottest, map.scene.base.solidus.value);
  // So slightly that a sixth less power melts nothing, though the wall warms.
  EXPECT_GT(map.verdict.greatest_factor, 0.85);
  EXPECT_GT(map.verdict.wanted[2] + map.verdict.wanted[3], 0.3);  // lines, stripes between them
}

TEST(BareStainless, ASixthLessDarkensAndDoesNotMelt) {
  for (const char* power : {"82 %", "84 %"}) {
    SmallJob small = blue(power, "1800 mm/min");
    const MarkMap map = small.bare("aisi_304", "0.5 mm").predicted();
    EXPECT_LT(map.verdict.hottest, map.scene.base.solidus.value) << power;
    EXPECT_EQ(map.verdict.wanted[3] + map.verdict.unwanted[3], 0) << power;
    EXPECT_GT(map.verdict.hottest, map.scene.base.marking_onset.value) << power;
    EXPECT_GT(map.verdict.wanted[2], 0.15) << power;  // the middle of every line
  }
}

TEST(BareMetalsThatNeverMark, AtFullPowerAndAQuarterOfTheSpeed) {
  for (const char* metal : {"al_6061", "al_1050", "al_1100", "copper", "brass_70_30"}) {
    SmallJob small = blue("100 %", "600 mm/min");
    const Verdict v = small.bare(metal, "1 mm").verdict();
    EXPECT_EQ(v.ruling, Ruling::leaves_no_mark) << metal;
    EXPECT_EQ(v.wanted[2] + v.wanted[3] + v.unwanted[2] + v.unwanted[3], 0) << metal;
    EXPECT_GT(v.least_factor, 1.5) << metal;
  }
}

TEST(ClearGlass, LetsBlueLightThrough) {
  for (const char* glass : {"soda_lime_glass", "borosilicate_glass"}) {
    SmallJob small = blue("100 %", "600 mm/min");
    const Verdict v = small.bare(glass, "3 mm").verdict();
    EXPECT_EQ(v.ruling, Ruling::leaves_no_mark) << glass;
    EXPECT_EQ(v.wanted[0], 1) << glass;
    EXPECT_THAT(v.notes, Contains(HasSubstr("passes through the wall")));
    EXPECT_THAT(v.notes, Contains(HasSubstr("burn what lies behind")));
  }
}

// Incident watts that just melt, w = 40 um at 41.667 mm/s, constant conductivity.
double melting_power(const char* name, double conductivity, double wavelength) {
  const workpiece::Material m = job::find_material(name, {});
  const heat::Solid solid{conductivity, conductivity / (m.density.value * m.heat_capacity.value)};
  const double rise = heat::peak(solid, {40e-6, 40e-6, 41.667e-3}).rise;
  return (m.solidus.value - 293.15) / rise / workpiece::optics_at(m, wavelength).absorptivity.value;
}

TEST(MeltingPower, PublishedRatios) {
  const double steel = melting_power("aisi_304", 16.2, 450e-9);
  EXPECT_NEAR(steel, 6.1, 0.4 * 6.1);
  const std::tuple<const char*, double, double> rows[] = {{"titanium_grade_2", 16.4, 6.2},
                                                          {"mild_steel", 50, 14.9},
                                                          {"brass_70_30", 120, 19.3},
                                                          {"al_6061", 167, 122},
                                                          {"copper", 391, 91}};
  for (const auto& [name, conductivity, watts] : rows)
    EXPECT_NEAR(melting_power(name, conductivity, 450e-9) / steel / (watts / 6.1), 1, 0.4) << name;
  EXPECT_NEAR(melting_power("aisi_304", 16.2, 1064e-9) / steel / (8.2 / 6.1), 1, 0.4);
}

// The same through the whole road, with k(T): over-burn begins where the published 8.4 W stand (spot at
// rest).
TEST(MeltingPower, ThroughTheWholeRoad) {
  SmallJob small = blue("80 %", "2500 mm/min");
  const Verdict v = small.bare("aisi_304", "0.5 mm").verdict();
  EXPECT_NEAR(v.greatest_factor * v.power, 8.4, 0.4 * 8.4);
}

TEST(CardboardTube, WhatClearsACoatBurnsIt) {
  SmallJob tube = blue("75 %", "2500 mm/min");
  const MarkMap map = tube.bare("cardboard", "1.5 mm").predicted(true);
  EXPECT_EQ(map.verdict.ruling, Ruling::over_burns);
  EXPECT_GT(*std::max_element(map.maps.changed.cells().begin(), map.maps.changed.cells().end()), 1e-3);
}

TEST(CardboardTube, WeakerAndFasterMarksItAndServesAsATrial) {
  SmallJob tube = blue("10 %", "6000 mm/min");
  const Verdict v = tube.bare("cardboard", "1.5 mm").verdict();
  EXPECT_EQ(v.ruling, Ruling::marks);
  EXPECT_GT(v.greatest_factor, 5);
}

// The oxide is thickest, and the surface dimples, at full power and a slower speed.
TEST(BareStainless, TheDarkestMarkComesWithFullPowerAndLessSpeed) {
  const auto oxide = [](const char* power, const char* speed) {
    SmallJob small = blue(power, speed);
    const MarkMap map = small.bare("aisi_304", "0.8 mm").predicted(true);
    return std::pair(*std::max_element(map.maps.changed.cells().begin(), map.maps.changed.cells().end()),
                     map.verdict.melt.depth);
  };
  const auto [usual, no_dimple] = oxide("75 %", "2500 mm/min");
  const auto [slower, shallow] = oxide("100 %", "1800 mm/min");
  const auto [slowest, dimple] = oxide("100 %", "900 mm/min");
  EXPECT_GT(slower, 2 * usual);
  EXPECT_GT(slowest, slower);
  EXPECT_EQ(no_dimple, 0);
  EXPECT_GT(shallow, 0);
  EXPECT_GT(dimple, shallow);
}

TEST(DyedAnodicLayer, BleachesAndStays) {
  SmallJob small = blue("60 %", "3000 mm/min");
  small.with("workpiece.coat", "anodic_layer_dyed_black").with("workpiece.coat_thickness", "12 um");
  const MarkMap map = small.with("workpiece.wall", "2 mm").predicted(true);
  EXPECT_EQ(map.verdict.ruling, Ruling::marks);
  EXPECT_LE(*std::max_element(map.maps.changed.cells().begin(), map.maps.changed.cells().end()), 12.001e-6f);
}

// 10 mm of dense lines on a thin stainless wall: the wall warms by more than a hundred kelvin, and says what cures it.
TEST(ThinStainless, ADenseMotifWarmsTheWallAndThePauseCuresIt) {
  SmallJob small = blue("100 %", "1800 mm/min");
  small.bare("aisi_304", "0.4 mm").with("artwork.size_axial", "10 mm").with("grid.cell", "50 um");
  EXPECT_GT(small.verdict().warmest_wall - 293.15, 100);
  const Verdict hot = small.with("scan.power", "88 %").verdict();
  ASSERT_EQ(hot.ruling, Ruling::over_burns);
  EXPECT_THAT(hot.notes, Contains(HasSubstr("heat of earlier lines that over-burns")));
  EXPECT_THAT(hot.notes, Contains(HasSubstr("scan.pause")));
  // The pause it names is enough.
  const std::string& note = *std::find_if(hot.notes.begin(), hot.notes.end(), [](const std::string& n) {
    return n.find("scan.pause") != std::string::npos;
  });
  const size_t from = note.find("scan.pause = \"") + 14;
  const std::string pause = note.substr(from, note.find('"', from) - from);
  EXPECT_NE(small.with("scan.pause", pause).verdict().ruling, Ruling::over_burns) << pause;
}

}  // namespace
}  // namespace circumfluence::mark
