// Truth: what a reader has to find: every figure of the verdict, in words that stay true at the extremes, and
// JSON that parses.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "mark/verdict.h"

namespace circumfluence::mark {
namespace {

using testing::HasSubstr;
using testing::Not;

constexpr double kNever = std::numeric_limits<double>::infinity();

Verdict verdict() {
  Verdict v;
  v.ruling = Ruling::marks;
  v.wanted_area = 7.2e-4;
  v.unwanted_area = 50e-4;
  v.wanted = {0.0001, 0.0129, 0.987, 0};
  v.unwanted = {0.9605, 0.015, 0.0245, 0};
  v.power = 7.5;
  v.rated_power = 10;
  v.least_factor = 0.2;
  v.greatest_factor = 1.2;
  v.chance_marks = 1;
  v.chance_spares = 0.774;
  v.over_limits = true;
  v.limiting = {0.06675, -0.02515};
  v.hottest = 900;
  v.duration = 1506;
  v.lines = 600;
  v.notes = {"One \"note\"."};
  v.cautions = {"Mind\tthis."};
  return v;
}

TEST(Report, SaysWhatThereIs) {
  const std::string out = text(verdict());
  EXPECT_THAT(out, HasSubstr("verdict    marks\n"));
  EXPECT_THAT(
      out,
      HasSubstr("7.2 cm^2: marked 98.7 %, under-marked 1.3 %, untouched under 0.1 %, over-burned 0.0 %"));
  EXPECT_THAT(out,
              HasSubstr("7.5 W set; still marks at 1.5 W (0.2 times); over-burns from 9 W (1.2 times)\n"));
  EXPECT_THAT(out, HasSubstr("window     1.5 W to 9 W"));
  EXPECT_THAT(out, HasSubstr("burns first at 66.75 mm along, -25.15 mm around"));
  EXPECT_THAT(out, HasSubstr("626.9 degC"));
  EXPECT_THAT(out, HasSubstr("25 min 06 s for 600 lines"));
  EXPECT_THAT(out, HasSubstr("note       One"));
  EXPECT_THAT(out, HasSubstr("caution    Mind"));
}

TEST(Report, NeverCertain) {
  EXPECT_THAT(text(verdict()), HasSubstr("over 99 % to mark as set, 77 % to spare the base"));
  Verdict v = verdict();
  v.chance_marks = 0;
  EXPECT_THAT(text(v), HasSubstr("under 1 % to mark"));
}

TEST(Report, NoWindow) {
  Verdict v = verdict();
  v.least_factor = 1.25;
  EXPECT_THAT(
      text(v),
      HasSubstr("window     none: at this speed and spacing every power that marks enough also over-burns"));
}

TEST(Report, BeyondThisLaser) {
  Verdict v = verdict();
  v.ruling = Ruling::under_marks;
  v.least_factor = 1.6;
  v.greatest_factor = 16;
  EXPECT_THAT(text(v), HasSubstr("marks only from 12 W (1.6 times), more than this laser gives"));
  EXPECT_THAT(text(v), HasSubstr("window     none for this laser"));
  v.least_factor = 0.2;
  EXPECT_THAT(text(v), HasSubstr("window     1.5 W to 10 W"));
}

TEST(Report, OverBurnt) {
  Verdict v = verdict();
  v.ruling = Ruling::over_burns;
  v.greatest_factor = 0.8;
  EXPECT_THAT(text(v), HasSubstr("over-burns down to 6 W (0.8 times)"));
}

TEST(Report, NothingWantedAndNoPowerMarks) {
  Verdict v = verdict();
  v.wanted_area = 0;
  v.wanted = {};
  v.least_factor = v.chance_marks = std::nan("");
  v.greatest_factor = kNever;
  EXPECT_THAT(text(v), HasSubstr("wanted     nothing\n"));
  EXPECT_THAT(text(v), HasSubstr("nothing is wanted here; no power over-burns"));
  EXPECT_THAT(text(v), Not(HasSubstr("nan")));
  EXPECT_THAT(text(v), Not(HasSubstr("limit ")));
  v = verdict();
  v.least_factor = v.greatest_factor = kNever;
  v.chance_marks = 0;
  EXPECT_THAT(text(v), HasSubstr("no power marks enough of what is wanted"));
  EXPECT_THAT(text(v), Not(HasSubstr("inf")));
}

TEST(Report, Clock) {
  EXPECT_EQ(clock(0.2), "0.2 s");
  EXPECT_EQ(clock(9.4812), "9.48 s");
  EXPECT_EQ(clock(9.999), "10 s");
  EXPECT_EQ(clock(59.4), "59 s");
  EXPECT_EQ(clock(59.6), "1 min 00 s");
  EXPECT_EQ(clock(3600), "1 h 00 min");
  EXPECT_EQ(clock(45296), "12 h 34 min");
  EXPECT_EQ(clock(7199.7), "2 h 00 min");
}

TEST(Report, JsonEscapesAndHasNoInfinity) {
  Verdict v = verdict();
  v.least_factor = std::nan("");
  v.greatest_factor = kNever;
  const std::string out = json(v);
  EXPECT_THAT(out, HasSubstr(R"("least_factor": null, "greatest_factor": null)"));
  EXPECT_THAT(out, HasSubstr(R"(["One \"note\"."])"));
  EXPECT_THAT(out, HasSubstr(R"(["Mind\u0009this."])"));
  EXPECT_THAT(out, HasSubstr(R"("limiting": {"margin": "over-burn", "axial": 0.06675, "around": -0.02515})"));
  EXPECT_THAT(out, HasSubstr(R"("power": 7.5, "rated_power": 10)"));
  EXPECT_THAT(out, Not(HasSubstr("nan")));
  EXPECT_THAT(out, Not(HasSubstr("inf,")));
  EXPECT_EQ(out.back(), '\n');
}

}  // namespace
}  // namespace circumfluence::mark
