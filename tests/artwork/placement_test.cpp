// Truth: closed form (plane geometry of a rectangle and its quarter turns).
#include "artwork/placement.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "artwork/tone.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using ::testing::HasSubstr;

Image blank(int width, int height) {
  return {width, height, std::vector<std::uint16_t>(static_cast<std::size_t>(width) * height), {}};
}

std::string failure(const Placement& placement) {
  try {
    extent(placement, blank(30, 20));
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "no error";
}

TEST(Extent, OneSizeKeepsPixelsSquare) {
  for (int quarter = -4; quarter <= 4; ++quarter) {
    Placement placement{.axial = 0.1, .around = -0.02, .turn = quarter * quantity::kPi / 2};
    const bool sideways = quarter % 2 != 0;
    const double pixels_axial = sideways ? 20 : 30, pixels_around = sideways ? 30 : 20;

    placement.size_axial = 0.06;
    const Extent by_axial = extent(placement, blank(30, 20));
    EXPECT_DOUBLE_EQ(by_axial.axial_from, 0.07);
    EXPECT_DOUBLE_EQ(by_axial.axial_to, 0.13);
    EXPECT_NEAR(by_axial.around_to - by_axial.around_from, 0.06 / pixels_axial * pixels_around, 1e-15);
    EXPECT_NEAR(by_axial.around_to + by_axial.around_from, -0.04, 1e-15);

    placement.size_axial = quantity::kUnset;
    placement.size_around = 0.06;
    const Extent by_around = extent(placement, blank(30, 20));
    EXPECT_NEAR(by_around.axial_to - by_around.axial_from, 0.06 / pixels_around * pixels_axial, 1e-15);
    EXPECT_NEAR(by_around.around_to - by_around.around_from, 0.06, 1e-15);
  }
}

TEST(Extent, BothSizesStandAsGiven) {
  const Placement placement{.size_axial = 0.05, .size_around = 0.09, .axial = 0, .turn = quantity::kPi / 2};
  const Extent all = extent(placement, blank(30, 20));
  EXPECT_DOUBLE_EQ(all.axial_to - all.axial_from, 0.05);
  EXPECT_DOUBLE_EQ(all.around_to - all.around_from, 0.09);
}

TEST(Extent, RefusesWhatItCannotPlace) {
  EXPECT_THAT(failure({.axial = 0.1}), HasSubstr("artwork.size_axial and artwork.size_around are missing"));
  EXPECT_THAT(failure({.size_axial = 0.1}), HasSubstr("artwork.axial is missing"));
  EXPECT_THAT(failure({.size_axial = 0.1, .axial = 0.1, .turn = 1.0}), HasSubstr("quarter turn"));
  EXPECT_THAT(failure({.size_axial = -0.1, .axial = 0.1}), HasSubstr("artwork.size_axial = -100 mm"));
  EXPECT_THAT(failure({.size_axial = 0.1, .size_around = 0.0, .axial = 0.1}),
              HasSubstr("artwork.size_around"));
}

TEST(Check, EveryQuarterIsATurn) {
  for (int quarter = -4; quarter <= 4; ++quarter)
    EXPECT_NO_THROW(check({.size_axial = 0.1, .turn = quarter * quantity::kPi / 2}));
  EXPECT_THROW(check({.size_axial = 0.1, .turn = 45 * quantity::kPi / 180}), quantity::JobError);
}

TEST(Fields, KeysAreDistinctAndHelped) {
  std::vector<std::string> keys;
  for (const auto& field : placement_fields()) {
    keys.push_back(field.key);
    EXPECT_STRNE(field.help, "") << field.key;
    EXPECT_LE(field.low, field.high) << field.key;
  }
  std::ranges::sort(keys);
  EXPECT_EQ(std::ranges::adjacent_find(keys), keys.end());
}

}  // namespace
}  // namespace circumfluence::artwork
