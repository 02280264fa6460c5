// Truth: the contract of material files; values converted and messages written by hand.
#include "job/material_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "job/same.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

constexpr const char* kHead = "[material.alloy]\ntitle = \"an alloy\"\nkind = \"metal\"\n";

std::string refusal(const std::string& text) {
  try {
    parse_materials(text, "m.toml");
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(MaterialFile, ReadsFiguresAndOptics) {
  const auto materials = parse_materials(
      std::string(kHead) +
          "solidus = { value = \"1400 degC\", spread = \"2 %\", source = \"a table\" }\n"
          "removal_energy = { value = \"3.7 J/mm^3\", source = \"a paper\" }\n"
          "ground_colour = \"#a0B1c2\"\n"
          "[[material.alloy.optics]]\nwavelength = \"1064 nm\"\nn = { value = 2.5, source = \"x\" }\n"
          "k = { value = \"3.5\", source = \"x\" }\n"
          "[[material.alloy.optics]]\nwavelength = { value = \"450 nm\", spread = \"1 %\", source = \"a "
          "label\" }\n",
      "m.toml");
  ASSERT_EQ(materials.size(), 1u);
  const workpiece::Material& alloy = materials[0];
  EXPECT_EQ(alloy.name, "alloy");
  EXPECT_EQ(alloy.origin, "m.toml");
  EXPECT_DOUBLE_EQ(alloy.solidus.value, 1673.15);
  EXPECT_DOUBLE_EQ(alloy.solidus.spread, 0.02);
  EXPECT_EQ(alloy.solidus.source, "a table");
  EXPECT_DOUBLE_EQ(alloy.removal_energy.value, 3.7e9);
  EXPECT_EQ(alloy.removal_energy.spread, 0.0);
  EXPECT_FALSE(alloy.liquidus.known());
  ASSERT_EQ(alloy.optics.size(), 2u);
  EXPECT_DOUBLE_EQ(alloy.optics[0].wavelength.value, 450e-9);  // by wavelength, whatever the file's order
  EXPECT_EQ(alloy.optics[1].n.value, 2.5);
  EXPECT_EQ(alloy.optics[1].k.value, 3.5);
  EXPECT_EQ(difference(parse_materials(write_material(alloy), "m.toml")[0], alloy), "");
}

TEST(MaterialFile, RefusesFiguresWithoutASource) {
  EXPECT_EQ(refusal(std::string(kHead) + "density = \"7900 kg/m^3\""),
            "m.toml:4:11: material.alloy.density = \"7900 kg/m^3\" (a text; expected { value, spread, source "
            "} with "
            "a density from 1 kg/m^3 to 30000 kg/m^3). Did you mean { value = \"7900 kg/m^3\", source = "
            "\"...\" }?");
  EXPECT_EQ(
      refusal(std::string(kHead) + "density = { value = \"7900 kg/m^3\" }"),
      "m.toml:4:11: material.alloy.density.source is missing (expected who says so: a publication, \"from "
      "memory\", or \"common practice, no source\")");
  EXPECT_EQ(
      refusal(std::string(kHead) + "density = { value = \"7900 kg/m^3\", source = \"\" }"),
      "m.toml:4:45: material.alloy.density.source = \"\" (empty; expected who says so: a publication, \"from "
      "memory\", or \"common practice, no source\")");
}

TEST(MaterialFile, RefusesMalformedFigures) {
  EXPECT_EQ(refusal(std::string(kHead) + "density = { value = \"79 g\", source = \"x\" }"),
            "m.toml:4:21: material.alloy.density.value = \"79 g\" (a mass; expected a density from 1 kg/m^3 "
            "to 30000 "
            "kg/m^3). Did you mean \"79 kg/m^3\"?");
  EXPECT_EQ(
      refusal(std::string(kHead) + "density = { value = \"79 kg/m^3\", spread = 3, source = \"x\" }"),
      "m.toml:4:43: material.alloy.density.spread = 3 (a number without a unit; expected a ratio from 0 % to "
      "1000 %). Did you mean \"3 %\"?");
  EXPECT_EQ(refusal(std::string(kHead) + "density = { value = \"79 kg/m^3\", sourc = \"x\" }"),
            "m.toml:4:34: material.alloy.density.sourc = \"x\" (unknown key; expected one of value, spread, "
            "source). "
            "Did you mean material.alloy.density.source?");
  EXPECT_EQ(refusal(std::string(kHead) + "density = {}"),
            "m.toml:4:11: material.alloy.density.value is missing (expected a density from 1 kg/m^3 to 30000 "
            "kg/m^3)");
}

TEST(MaterialFile, RefusesRecordsThatContradictThemselves) {
  EXPECT_EQ(refusal(std::string(kHead) +
                    "solidus = { value = \"900 K\", source = \"x\" }\nliquidus = { value = \"800 "
                    "K\", source = \"x\" }"),
            "m.toml:4:11: material.alloy.solidus = 900 K (above the liquidus, 800 K)");
  EXPECT_EQ(refusal(std::string(kHead) +
                    "oxide_from = { value = \"900 K\", source = \"x\" }\noxide_to = { value = \"800 K\", source = \"x\" }"),
            "m.toml:4:14: material.alloy.oxide_from = 900 K (above oxide_to, 800 K)");
  EXPECT_THAT(refusal(std::string(kHead) + "char_rate = { value = \"1e9 1/s\", source = \"x\" }"),
              testing::HasSubstr("material.alloy.char_activation is missing (a rate and its activation belong together)"));
  EXPECT_EQ(refusal(std::string(kHead) + "threshold = { value = \"1 J/cm^2\", source = \"x\" }"),
            "m.toml:1:1: material.alloy.threshold_dwell is missing (a measured threshold holds for the dwell "
            "it was "
            "measured with)");
  EXPECT_EQ(refusal(std::string(kHead) + "over_colour = \"red\""),
            "m.toml:4:15: material.alloy.over_colour = \"red\" (no colour; expected red, green and blue as "
            "\"#rrggbb\")");
  EXPECT_THAT(
      refusal(std::string(kHead) +
              "[[material.alloy.optics]]\nwavelength = \"450 nm\"\nn = { value = 2, source = \"x\" }"),
      testing::HasSubstr("material.alloy.optics at 450 nm has n or k without the other"));
}

TEST(MaterialFile, RefusesWhatIsNoRecord) {
  EXPECT_EQ(refusal(""), "accepted");
  EXPECT_THAT(refusal("[laser]"),
              testing::StartsWith("m.toml:1:2: [laser] (unknown section; expected one of material)"));
  EXPECT_EQ(refusal("material = 3"),
            "m.toml:1:12: material = 3 (a whole number; expected tables [material.NAME])");
  EXPECT_EQ(refusal("[material]\na = 3"),
            "m.toml:2:5: material.a = 3 (a whole number; expected a table [material.a])");
  EXPECT_EQ(refusal("[material.\"a b\"]"),
            "m.toml:1:11: [material.\"a b\"] (no name; expected up to 64 letters, digits, underscores and "
            "hyphens)");
  EXPECT_EQ(
      refusal(std::string(kHead) + "optics = 3"),
      "m.toml:4:10: material.alloy.optics = 3 (a whole number; expected tables [[material.alloy.optics]])");
  EXPECT_EQ(
      refusal(std::string(kHead) + "optics = [3]"),
      "m.toml:4:11: material.alloy.optics = 3 (a whole number; expected tables [[material.alloy.optics]])");
  EXPECT_EQ(
      refusal(std::string(kHead) + "optics = [{}]"),
      "m.toml:4:11: material.alloy.optics.wavelength is missing (expected a length from 200 nm to 20000 nm)");
}

TEST(MaterialFile, ReadsBackAnyLegalRecord) {
  EXPECT_TRUE(rc::check("parse_materials(write_material(m))", [] {
    workpiece::Material material = random_section(workpiece::material_fields());
    material.name = "any-Name_1";
    material.ground_colour = material.marked_colour = material.over_colour = "";
    material.threshold_dwell = {1e-3, 0.0, "x"};
    if (material.solidus.known()) material.liquidus = material.solidus;
    if (material.oxide_from.known()) material.oxide_to = material.oxide_from;
    for (auto [rate, activation] : {std::pair(&material.oxide_rate, &material.oxide_activation),
                                    std::pair(&material.bleach_rate, &material.bleach_activation),
                                    std::pair(&material.char_rate, &material.char_activation)})
      if (rate->known() != activation->known()) *rate = *activation = {};
    workpiece::Optics optics = random_section(workpiece::optics_fields());
    if (optics.n.known() != optics.k.known()) optics.n = optics.k = {};
    material.optics = {optics};
    RC_ASSERT(difference(parse_materials(write_material(material), "m").at(0), material) == "");
  }));
}

}  // namespace
}  // namespace circumfluence::job
