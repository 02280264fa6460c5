// Truth: the section's own description: the keys a job uses, their bounds and what stands when they are left
// out.
#include "response/limits.h"

#include <gtest/gtest.h>

#include <map>
#include <string>

namespace circumfluence::response {
namespace {

std::map<std::string, const quantity::Field<Limits>*> by_key() {
  std::map<std::string, const quantity::Field<Limits>*> out;
  for (const auto& field : limits_fields()) out[field.key] = &field;
  return out;
}

TEST(Limits, EveryKeySetsItsMember) {
  const auto fields = by_key();
  ASSERT_EQ(fields.size(), 7u);
  Limits limits;
  const auto number = [&](const char* key, double value) {
    limits.*std::get<double Limits::*>(fields.at(key)->member) = value;
  };
  number("coat_left", 0.1);
  number("char_depth", 1e-4);
  number("oxide", 2e-8);
  number("required", 0.8);
  number("tolerated", 0.02);
  std::get<quantity::Choice<Limits>>(fields.at("removal")->member).set(limits, 1);
  std::get<quantity::Choice<Limits>>(fields.at("over_burn")->member).set(limits, 1);
  EXPECT_EQ(limits.coat_left, 0.1);
  EXPECT_EQ(limits.char_depth, 1e-4);
  EXPECT_EQ(limits.oxide, 2e-8);
  EXPECT_EQ(limits.required, 0.8);
  EXPECT_EQ(limits.tolerated, 0.02);
  EXPECT_EQ(limits.removal, RemovalLaw::blow_off);
  EXPECT_EQ(limits.over_burn, OverBurn::liquidus);
}

TEST(Limits, WordsAreInTheOrderOfTheirValues) {
  EXPECT_STREQ(by_key().at("removal")->choices, "steady blow_off");
  EXPECT_STREQ(by_key().at("over_burn")->choices, "solidus liquidus");
}

TEST(Limits, MayBeLeftOutAndDefaultsLieWithinTheBounds) {
  const Limits limits;
  for (const auto& field : limits_fields()) {
    EXPECT_FALSE(field.required) << field.key;
    EXPECT_GT(std::string(field.help).size(), 5u) << field.key;
    if (const auto* member = std::get_if<double Limits::*>(&field.member)) {
      EXPECT_GE(limits.**member, field.low) << field.key;
      EXPECT_LE(limits.**member, field.high) << field.key;
    }
  }
}

}  // namespace
}  // namespace circumfluence::response
