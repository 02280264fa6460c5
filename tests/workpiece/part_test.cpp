// Truth: what a part can be; each refusal names the key at fault.
#include "workpiece/part.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>

#include "quantity/error.h"
#include "workpiece/made_parts.h"

namespace circumfluence::workpiece {
namespace {

TEST(Part, OfEveryShapeIsAccepted) {
  for (const Part& part : {straight_part(), tapered_part(), stepped_part(), table_part()})
    EXPECT_NO_THROW(check(part));
}

struct Wrong {
  const char* message;
  std::function<Part()> part;
};

class RefusedPart : public testing::TestWithParam<Wrong> {};

TEST_P(RefusedPart, SaysWhy) {
  EXPECT_THAT([&] { check(GetParam().part()); },
              testing::ThrowsMessage<quantity::JobError>(testing::HasSubstr(GetParam().message)));
}

template <class Change>
std::function<Part()> changed(Part part, const Change& change) {
  change(part);
  return [part] { return part; };
}

INSTANTIATE_TEST_SUITE_P(
    Parts, RefusedPart,
    testing::Values(
        Wrong{"workpiece.diameter is missing",
              changed(straight_part(), [](Part& p) { p.diameter = quantity::kUnset; })},
        Wrong{"workpiece.end_diameter is missing",
              changed(tapered_part(), [](Part& p) { p.end_diameter = quantity::kUnset; })},
        Wrong{"workpiece.diameter is missing",
              changed(tapered_part(), [](Part& p) { p.diameter = quantity::kUnset; })},
        Wrong{"workpiece.wall", changed(straight_part(), [](Part& p) { p.wall = 0.021; })},
        Wrong{"workpiece.wall", changed(tapered_part(), [](Part& p) { p.wall = 0.016; })},
        Wrong{"workpiece.wall", changed(table_part(), [](Part& p) { p.wall = 0.006; })},
        Wrong{"has 1 rows", changed(stepped_part(), [](Part& p) { p.profile.resize(1); })},
        Wrong{"does not start", changed(stepped_part(), [](Part& p) { p.profile[0].first = 1e-3; })},
        Wrong{"row 2 lies at", changed(stepped_part(), [](Part& p) { p.profile[1].first = 0; })},
        Wrong{"expected a diameter", changed(stepped_part(), [](Part& p) { p.profile[1].second = 0; })},
        Wrong{"expected a diameter",
              changed(stepped_part(), [](Part& p) { p.profile[1].second = quantity::kUnset; })},
        Wrong{"ends at", changed(table_part(), [](Part& p) { p.profile.back().first = 0.09; })},
        Wrong{"ends at", changed(stepped_part(), [](Part& p) { p.profile.back().first = 0.1; })},
        Wrong{"without workpiece.coat", changed(straight_part(), [](Part& p) { p.coat_thickness = 60e-6; })},
        Wrong{"coat_spread is given without workpiece.coat",
              changed(straight_part(), [](Part& p) { p.coat_spread = 0.2; })},
        Wrong{"coat_thickness is missing", changed(straight_part(), [](Part& p) { p.coat = "paint"; })}));

TEST(Part, FieldsHaveDistinctKeys) {
  std::vector<std::string> keys;
  for (const auto& field : part_fields()) keys.push_back(field.key);
  std::ranges::sort(keys);
  EXPECT_EQ(std::ranges::adjacent_find(keys), keys.end());
}

}  // namespace
}  // namespace circumfluence::workpiece
