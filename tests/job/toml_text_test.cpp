// Truth: the TOML 1.0 grammar, and a stack that must hold whatever a file nests.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "job/toml_value.h"

namespace circumfluence::job {
namespace {

std::string refusal(const std::string& text) {
  try {
    parse_toml(text, "x.toml");
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "accepted";
}

std::string repeated(const std::string& text, int times) {
  std::string out;
  for (int i = 0; i < times; ++i) out += text;
  return out;
}

TEST(TomlText, PlacesSyntaxErrors) {
  EXPECT_THAT(refusal("a = 1\na = 2"), testing::StartsWith("x.toml:2:5: not TOML ("));
  EXPECT_THAT(refusal("[a]\n[a]"), testing::StartsWith("x.toml:2:1: not TOML ("));
  EXPECT_THAT(refusal("a = 80 %"), testing::StartsWith("x.toml:1:8: not TOML ("));
  EXPECT_THAT(refusal("a = 30 µm"), testing::StartsWith("x.toml:1:8: not TOML ("));
  EXPECT_THAT(refusal("a = \"\xff\""), testing::HasSubstr("not TOML ("));
  EXPECT_THAT(refusal("a = 99999999999999999999"), testing::HasSubstr("not TOML ("));
}

TEST(TomlText, RefusesAbsurdNesting) {
  const std::string expected = ": tables within tables (expected at most 32 levels)";
  EXPECT_EQ(refusal("a" + repeated(".a", 1000000) + " = 1"), "x.toml:1:66" + expected);
  EXPECT_EQ(refusal("\n[a" + repeated(".\"a\"", 100) + "]"), "x.toml:2:131" + expected);
  EXPECT_EQ(refusal("a = " + repeated("[", 1000000)), "x.toml:1:37" + expected);
  EXPECT_EQ(refusal("a = " + repeated("{a=", 1000000)), "x.toml:1:101" + expected);
}

TEST(TomlText, CountsNeitherTextNorComments) {
  const std::string dots = repeated(".[{", 1000);
  EXPECT_EQ(refusal("a = \"" + dots + "\\\"" + dots + "\"\nb = '" + dots + "' # " + dots), "accepted");
  EXPECT_EQ(
      refusal("a = \"\"\"" + dots + "\n\"" + dots + "\"\"\"\"\"\nb = '''" + dots + "\n''" + dots + "'''"),
      "accepted");
  EXPECT_EQ(refusal(repeated("[[a]]\nb = [[1.5, 2.5], [3.5]]\n", 1000)), "accepted");
}

TEST(TomlText, ShowsValuesCutShort) {
  const toml::table table =
      parse_toml("a = \"" + repeated("µ", 100) + "\"\nb = [1]\nc = []\nd = {}\ne = 1.0\nf = 07:32:00", "x");
  EXPECT_EQ(as_written(*table.get("a")), "\"" + repeated("µ", 30) + "...\"");
  EXPECT_EQ(as_written(*table.get("b")), "[ ... ]");
  EXPECT_EQ(as_written(*table.get("c")), "[]");
  EXPECT_EQ(as_written(*table.get("d")), "{ ... }");
  EXPECT_EQ(as_written(*table.get("e")), "1.0");
  EXPECT_EQ(as_written(*table.get("f")), "07:32:00");
}

TEST(TomlText, RefusesTheFirstUnknownKeyOfTheFile) {
  const toml::table table = parse_toml("z = 1\nb = 2\na = 3", "x.toml");
  try {
    refuse_unknown_keys(table, {"b"}, "s", "x.toml");
    FAIL();
  } catch (const quantity::JobError& error) {
    EXPECT_STREQ(error.what(), "x.toml:1:1: s.z = 1 (unknown key; expected one of b)");
  }
}

}  // namespace
}  // namespace circumfluence::job
