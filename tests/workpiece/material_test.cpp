// Truth: a figure nobody knows is an error that says which; optics hold within 3 % of their wavelength.
#include "workpiece/material.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "quantity/error.h"

namespace circumfluence::workpiece {
namespace {

using quantity::ValidityError;
using testing::AllOf;
using testing::HasSubstr;
using testing::ThrowsMessage;

Material steel() {
  Material material;
  material.name = "steel";
  material.density.value = 7900;
  material.optics.resize(2);
  material.optics[0].wavelength.value = 450e-9;
  material.optics[0].absorptivity.value = 0.4;
  material.optics[1].wavelength.value = 1064e-9;
  material.optics[1].absorptivity.value = 0.3;
  return material;
}

TEST(Material, GivesWhatIsKnownAndNamesWhatIsNot) {
  EXPECT_EQ(value_of(steel(), &Material::density, "warming"), 7900);
  EXPECT_THAT([] { value_of(steel(), &Material::removal_energy, "removal"); },
              ThrowsMessage<ValidityError>(
                  AllOf(HasSubstr("steel"), HasSubstr("removal_energy"), HasSubstr("removal"))));
}

TEST(Material, EveryFigureIsNamedByItsOwnKey) {
  const Material nothing;
  for (const auto& field : material_fields())
    if (const auto* member = std::get_if<quantity::Figure Material::*>(&field.member)) {
      EXPECT_THAT([&] { value_of(nothing, *member, "a test"); },
                  ThrowsMessage<ValidityError>(HasSubstr(std::string("has no ") + field.key + " ")));
    }
}

TEST(Optics, AreFoundWithinThreePercent) {
  const Material material = steel();
  EXPECT_EQ(optics_at(material, 450e-9).absorptivity.value, 0.4);
  EXPECT_EQ(optics_at(material, 445e-9).absorptivity.value, 0.4);
  EXPECT_EQ(optics_at(material, 463e-9).absorptivity.value, 0.4);
  EXPECT_EQ(optics_at(material, 1070e-9).absorptivity.value, 0.3);
}

TEST(Optics, ElsewhereAreAnErrorThatListsTheKnownOnes) {
  const Material material = steel();
  EXPECT_THAT(
      [&] { optics_at(material, 470e-9); },
      ThrowsMessage<ValidityError>(AllOf(HasSubstr("470 nm"), HasSubstr("450 nm"), HasSubstr("1064 nm"))));
  EXPECT_THAT([] { optics_at(Material{}, 450e-9); }, ThrowsMessage<ValidityError>(HasSubstr("none")));
}

}  // namespace
}  // namespace circumfluence::workpiece
