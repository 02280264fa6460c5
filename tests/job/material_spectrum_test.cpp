// Truth: the contract of material files; values converted and messages written by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "appearance/spectrum.h"
#include "job/material_file.h"
#include "job/same.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

const std::string kHead = "[material.alloy]\ntitle = \"an alloy\"\nkind = \"metal\"\n";
const std::string kGood =
    "wavelength = [\"0.4 um\", \"700 nm\"]\nn = [1.5, \"2.5\"]\nk = [3, 4.25]\nsource = \"a paper\"\n";

std::string refusal(const std::string& table) {
  try {
    parse_materials(kHead + table, "m.toml");
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(MaterialSpectrum, ReadsAndWrites) {
  const auto materials =
      parse_materials(kHead + "[material.alloy.oxide_spectrum]\n" + kGood + "[material.alloy.spectrum]\n" + kGood +
                          "[material.other]\n" + "title = \"another\"\nkind = \"metal\"\n",
                      "m.toml");
  ASSERT_EQ(materials.size(), 2u);
  for (const workpiece::Spectrum* s : {&materials[0].spectrum, &materials[0].oxide_spectrum}) {
    ASSERT_TRUE(s->known());
    EXPECT_THAT(s->wavelengths, ElementsAre(testing::DoubleNear(400e-9, 1e-20), testing::DoubleNear(700e-9, 1e-20)));
    EXPECT_THAT(s->n, ElementsAre(1.5, 2.5));
    EXPECT_THAT(s->k, ElementsAre(3.0, 4.25));
    EXPECT_EQ(s->source, "a paper");
  }
  EXPECT_FALSE(materials[1].spectrum.known());
  EXPECT_EQ(write_material(materials[1]).find("spectrum"), std::string::npos);
}

TEST(MaterialSpectrum, EveryBuiltInOneReadsBackAsItIs) {
  int found = 0;
  for (const workpiece::Material& material : built_in_materials()) {
    const workpiece::Material back = parse_materials(write_material(material), "m.toml").at(0);
    for (const auto member : {&workpiece::Material::spectrum, &workpiece::Material::oxide_spectrum}) {
      const workpiece::Spectrum &one = material.*member, &other = back.*member;
      EXPECT_EQ(one.wavelengths, other.wavelengths) << material.name;
      EXPECT_EQ(one.n, other.n) << material.name;
      EXPECT_EQ(one.k, other.k) << material.name;
      EXPECT_EQ(one.source, other.source) << material.name;
      if (!one.known()) continue;
      ++found;
      appearance::index_of(one, material.name.c_str());  // all of the visible, or it throws
    }
    EXPECT_EQ(difference(material, back), "");
  }
  EXPECT_EQ(found, 9 + 4);  // nine metals, four that oxidise
}

TEST(MaterialSpectrum, BeginsWithTheRecordsOpticsWhereBothAreKnown) {  // one paper, told twice: the blue index
  for (const workpiece::Material& material : built_in_materials()) {
    if (!material.spectrum.known()) continue;
    const workpiece::Optics& blue = workpiece::optics_at(material, 450e-9);
    const auto index = appearance::index_of(material.spectrum, material.name.c_str())[14];
    EXPECT_NEAR(index.real(), blue.n.value, 0.02) << material.name;
    EXPECT_NEAR(index.imag(), blue.k.value, 0.02) << material.name;
  }
}

TEST(MaterialSpectrum, Refusals) {
  const std::string address = "[material.alloy.spectrum]\n";
  const auto without = [&](const std::string& line) {
    std::string text = kGood;
    const size_t at = text.find(line);
    return address + text.erase(at, text.find('\n', at) + 1 - at);
  };
  const auto with = [&](const std::string& line, const std::string& other) {
    std::string text = kGood;
    const size_t at = text.find(line);
    return address + text.replace(at, text.find('\n', at) - at, other);
  };
  EXPECT_EQ(refusal(address + kGood), "accepted");
  EXPECT_EQ(
      refusal(without("source")),
      "m.toml:4:1: material.alloy.spectrum.source is missing (expected who says so: a publication, \"from memory\")");
  EXPECT_THAT(refusal(without("k =")),
              HasSubstr("m.toml:4:1: material.alloy.spectrum.k is missing (expected a list of 2 to 1000"));
  EXPECT_EQ(refusal(with("n =", "n = [1.5]")),
            "m.toml:6:5: material.alloy.spectrum.n = [ ... ] (holds 1; expected a list of 2 to 1000, each a number "
            "from 0.001 to "
            "100)");
  EXPECT_THAT(
      refusal(with("n =", "n = [1, 2, 3]")),
      HasSubstr(
          "material.alloy.spectrum.n holds 3 (expected a list of 2 to 1000, each a number from 0.001 to 100, as many "
          "as of wavelength)"));
  EXPECT_THAT(refusal(with("k =", "k = [-1, 2]")),
              HasSubstr("m.toml:7:6: material.alloy.spectrum.k = -1 (out of range"));
  EXPECT_THAT(refusal(with("k =", "k = \"3\"")), HasSubstr("material.alloy.spectrum.k = \"3\" (a text"));
  EXPECT_THAT(refusal(with("k =", "k = [nan, 2]")), HasSubstr("no finite number"));
  EXPECT_THAT(refusal(with("wavelength", "wavelength = [400, 700]")), HasSubstr("a number without a unit"));
  EXPECT_THAT(refusal(with("wavelength", "wavelength = [\"700 nm\", \"400 nm\"]")),
              HasSubstr("material.alloy.spectrum.wavelength has 400 nm after 700 nm (expected rising wavelengths)"));
  EXPECT_THAT(refusal(address + kGood + "shine = 1\n"), HasSubstr("material.alloy.spectrum.shine"));
  EXPECT_THAT(refusal("spectrum = 3\n"), HasSubstr("material.alloy.spectrum = 3 (a whole number; expected a table"));
}

TEST(MaterialSpectrum, ChecksRecordsBuiltInCode) {
  workpiece::Material m = parse_materials(kHead + "[material.alloy.spectrum]\n" + kGood, "m.toml")[0];
  check(m);
  m.spectrum.k.pop_back();
  EXPECT_THROW(check(m), quantity::JobError);
  m.spectrum.k.push_back(std::nan(""));
  EXPECT_THROW(check(m), quantity::JobError);
  m.spectrum.k.back() = 1;
  m.spectrum.source.clear();
  EXPECT_THROW(check(m), quantity::JobError);
}

}  // namespace
}  // namespace circumfluence::job
