// Truth: a written value must read back as the very same double; the texts themselves are written by hand.
#include "job/section_writer.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include "job/same.h"
#include "quantity/unit.h"

namespace circumfluence::job {
namespace {

using quantity::parse_quantity;

TEST(SectionWriter, WritesTheFewestDigits) {
  EXPECT_EQ(exact_text(parse_quantity("2500 mm/min", "mm/min"), "mm/min"), "2500 mm/min");
  EXPECT_EQ(exact_text(parse_quantity("0.08 mm", "mm"), "mm"), "0.08 mm");
  EXPECT_EQ(exact_text(parse_quantity("20 degC", "degC"), "degC"), "20 degC");
  EXPECT_EQ(exact_text(0.8, "%"), "80 %");
  EXPECT_EQ(exact_text(1.2, "1"), "1.2");
  EXPECT_EQ(exact_text(0.0, "mm"), "0 mm");
  EXPECT_EQ(exact_text(-0.0, "mm"), "0 mm");
}

TEST(SectionWriter, ReadsBackTheSameDouble) {
  EXPECT_TRUE(rc::check("exact_text", [] {
    const std::string unit =
        *rc::gen::element<std::string>("mm", "um", "nm", "mm/min", "%", "degC", "deg", "kHz", "J/mm^3",
                                       "J/cm^2", "W/(m K^2)", "kg/m^3", "1", "K");
    const double si = random_number(1e-12, 1e12) * (*rc::gen::arbitrary<bool>() ? 1.0 : -1.0);
    RC_ASSERT(parse_quantity(exact_text(si, unit), unit) == si);
  }));
}

TEST(SectionWriter, NamesRanges) {
  EXPECT_EQ(range_text({"W", 0, 5e3}), "a power from 0 W to 5000 W");
  EXPECT_EQ(range_text({"mm/min", 1e-5, 50}), "a speed from 0.6 mm/min to 3000000 mm/min");
  EXPECT_EQ(range_text({"1", 1, 1000}), "a number from 1 to 1000");
  EXPECT_EQ(range_text({"mm", 0}), "a length of at least 0 mm");
  EXPECT_EQ(range_text({"mm", -quantity::kInfinity, 1}), "a length up to 1000 mm");
  EXPECT_EQ(range_text({"mm"}), "a length in mm");
}

TEST(SectionWriter, AllowsTheRoundingOfABound) {
  const Range range{"mm", 1e-4, 2};
  EXPECT_TRUE(range.holds(0.1 * 1e-3));
  EXPECT_TRUE(range.holds(std::nextafter(2.0, 3.0)));
  EXPECT_FALSE(range.holds(2.000001));
  EXPECT_FALSE(range.holds(quantity::kUnset));
  EXPECT_FALSE((Range{"mm"}.holds(quantity::kInfinity)));
}

TEST(SectionWriter, EscapesText) {
  EXPECT_EQ(toml_string("a \"b\" \\ c\nd\te"), "\"a \\\"b\\\" \\\\ c\\nd\\te\"");
  EXPECT_EQ(toml_string(std::string_view("\0\x7f", 2)), "\"\\u0000\\u007f\"");
  EXPECT_EQ(toml_string("µm"), "\"µm\"");
}

TEST(SectionWriter, SplitsAndJoinsWords) {
  EXPECT_EQ(words_of("axial around"), (std::vector<std::string>{"axial", "around"}));
  EXPECT_TRUE(words_of("").empty());
  EXPECT_EQ(listed({"axial", "around"}, "\""), "\"axial\", \"around\"");
}

TEST(SectionWriter, LeavesOutWhatIsNotGiven) {
  motion::Mount mount;
  EXPECT_EQ(section_text(mount, motion::mount_fields()),
            "hold = \"turning\"\nbeam_offset = \"0 mm\"\nrunout = \"0 mm\"\nrunout_phase = \"0 deg\"\n");
}

TEST(SectionWriter, WritesFiguresAndPairs) {
  EXPECT_EQ(figure_text({7900, 0.01, "a \"book\""}, "kg/m^3"),
            "{ value = \"7900 kg/m^3\", spread = \"1 %\", source = \"a \\\"book\\\"\" }");
  EXPECT_EQ(figure_text({1.5, 0, "x"}, "1"), "{ value = 1.5, source = \"x\" }");
  EXPECT_EQ(pairs_text({{0, 0.073}, {0.05, 0.06}}, "mm"), "[[\"0 mm\", \"73 mm\"], [\"50 mm\", \"60 mm\"]]");
}

}  // namespace
}  // namespace circumfluence::job
