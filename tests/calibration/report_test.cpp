// Truth: what a person wrote, said again from the file's text; results that cannot both be.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "calibration/report.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using quantity::JobError;
using response::Outcome;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

// Six fills of rising power at two speeds, and a single line.
Coupon coupon() {
  Coupon out{.width = 60e-3, .height = 40e-3, .ink = {.power = 5, .speed = 0.04, .spacing = 0.1e-3}, .slots = {}};
  for (int i = 0; i < 6; ++i)
    out.slots.push_back({i + 1,
                         {.power = 2.0 * (i % 3 + 1), .speed = i < 3 ? 0.02 : 0.04, .spacing = 0.1e-3},
                         {5e-3 + (i % 3) * 12e-3, i < 3 ? 12e-3 : 26e-3, 4e-3, 4e-3}});
  out.slots.push_back({7, {.power = 5, .speed = 0.04, .spacing = 0}, {45e-3, 12e-3, 4e-3, 2e-3}});
  return out;
}

template <class Work>
JobError refused(const Work& work) {
  try {
    work();
  } catch (const JobError& error) {
    return error;
  }
  ADD_FAILURE() << "not refused";
  return JobError("nothing");
}
JobError refused_csv(const std::string& text) {
  return refused([&] { parse_report_csv(text, "out/filled.csv", coupon()); });
}
JobError refused_toml(const std::string& text) {
  return refused([&] { parse_report_toml(text, "out/filled.toml", coupon()); });
}
Report csv(const std::string& text) {
  return parse_report_csv(text, "out/filled.csv", coupon());
}
Report toml(const std::string& text) {
  return parse_report_toml(text, "out/filled.toml", coupon());
}

Report of(const std::vector<Result>& results) {
  return {.results = results, .date = {}, .origin = {}};
}

void expect_same(const Report& a, const Report& b) {
  ASSERT_EQ(a.results.size(), b.results.size());
  const auto same = [](double x, double y) { return (std::isnan(x) && std::isnan(y)) || x == y; };
  for (size_t i = 0; i < a.results.size(); ++i) {
    EXPECT_EQ(a.results[i].number, b.results[i].number);
    EXPECT_EQ(a.results[i].outcome, b.results[i].outcome);
    EXPECT_TRUE(same(a.results[i].width, b.results[i].width));
    EXPECT_TRUE(same(a.results[i].depth, b.results[i].depth));
    EXPECT_EQ(a.results[i].remark, b.results[i].remark);
  }
  EXPECT_EQ(a.date, b.date);
  EXPECT_EQ(a.width_error, b.width_error);
  EXPECT_EQ(a.depth_error, b.depth_error);
  EXPECT_EQ(a.resolution, b.resolution);
}

TEST(Report, AHandWrittenTableIsRead) {
  const Report report =
      csv("number,outcome,width [um],depth [um],remark\n2,Under marked,,,\n1, untouched ,,0,\n"
          "7,marked,82.5,,\"edge, chipped\"\n3,,,,\n4,OVER-BURNED,,0.02 mm,\n");
  ASSERT_EQ(report.results.size(), 4u);
  EXPECT_EQ(report.results[0].number, 1);
  EXPECT_EQ(report.results[0].outcome, Outcome::untouched);
  EXPECT_EQ(report.results[0].depth, 0);
  EXPECT_EQ(report.results[1].outcome, Outcome::under_marked);
  EXPECT_TRUE(std::isnan(report.results[1].width));
  EXPECT_EQ(report.results[2].outcome, Outcome::over_burned);
  EXPECT_DOUBLE_EQ(report.results[2].depth, 20e-6);
  EXPECT_DOUBLE_EQ(report.results[3].width, 82.5e-6);
  EXPECT_EQ(report.results[3].remark, "edge, chipped");
  EXPECT_EQ(report.origin, "filled.csv");
}

TEST(Report, ATableOfADecimalCommaCountryIsRead) {
  const Report report =
      csv("\xEF\xBB\xBF# date = 2026-05-02;;\r\n\"# resolution = 5 um\";;\r\nNumber;Width "
          "[mm];Outcome\r\n7;0,0825;undermarked\r\n");
  ASSERT_EQ(report.results.size(), 1u);
  EXPECT_DOUBLE_EQ(report.results[0].width, 82.5e-6);
  EXPECT_EQ(report.date, "2026-05-02");
  EXPECT_DOUBLE_EQ(report.resolution, 5e-6);
}

TEST(Report, TheCouponsOwnTableFilledInIsTheSameReport) {
  Report report = of({{1, Outcome::untouched, quantity::kUnset, 0.1e-6 / 3, "as \"new\", # one"},
                      {4, Outcome::over_burned, quantity::kUnset, quantity::kUnset, "two\nlines"},
                      {6, std::nullopt, quantity::kUnset, quantity::kUnset, "lost"},
                      {7, std::nullopt, 82.125e-6 / 7, quantity::kUnset, ""}});
  report.date = "2026-05-02", report.width_error = 0.031, report.depth_error = 1 / 3.0, report.resolution = 2.5e-6;
  const std::string table = filled_table(coupon(), report);
  expect_same(parse_report_csv(table, "filled.csv", coupon()), report);
  expect_same(parse_report_csv(table, "filled.csv", parse_coupon(table, "filled.csv")), report);
}

TEST(Report, TomlIsRead) {
  const Report report = toml(
      "date = \"2026-05-02\"\nwidth_error = \"3 %\"\nresolution = \"2 um\"\n[[patch]]\nnumber = 7\nwidth = \"82 "
      "um\"\n"
      "remark = \"edge chipped\"\n[[patch]]\nnumber = 3\noutcome = \"under-marked\"\ndepth = \"12 "
      "um\"\n[[patch]]\nnumber = 2\n");
  ASSERT_EQ(report.results.size(), 2u);
  EXPECT_EQ(report.results[0].number, 3);
  EXPECT_EQ(report.results[0].outcome, Outcome::under_marked);
  EXPECT_DOUBLE_EQ(report.results[0].depth, 12e-6);
  EXPECT_DOUBLE_EQ(report.results[1].width, 82e-6);
  EXPECT_EQ(report.results[1].remark, "edge chipped");
  EXPECT_FALSE(report.results[1].outcome);
  EXPECT_EQ(report.date, "2026-05-02");
  EXPECT_DOUBLE_EQ(report.width_error, 0.03);
  EXPECT_DOUBLE_EQ(report.resolution, 2e-6);
}

void expect_place(const JobError& error, int line, int column, const testing::Matcher<std::string>& what) {
  EXPECT_EQ(error.place().line, line) << error.what();
  EXPECT_EQ(error.place().column, column) << error.what();
  EXPECT_THAT(std::string(error.what()), what);
}

TEST(Report, BadTablesAreRefusedWithTheirPlace) {
  expect_place(refused_csv("number,outcome\n1,marked\n2,markd\n"), 3, 3, HasSubstr("Did you mean \"marked\"?"));
  expect_place(refused_csv("number,outcome\n1,marked\n11,marked\n"), 3, 1, HasSubstr("expected one from 1 to 7"));
  expect_place(refused_csv("number,outcome\n1,marked\n1,marked\n"), 3, 1, HasSubstr("comes twice"));
  expect_place(refused_csv("number,outcome\n1.5,marked\n"), 2, 1, HasSubstr("whole number"));
  expect_place(refused_csv("number,outcome\n,marked\n"), 2, 1, HasSubstr("number is missing"));
  expect_place(refused_csv("number,width [um]\n1,80\n"), 2, 3, HasSubstr("single lines only"));
  expect_place(refused_csv("number,width [mm]\n7,80\n"), 2, 3, HasSubstr("wider than its slot"));
  expect_place(refused_csv("number,width\n7,80\n"), 2, 3, HasSubstr("without a unit"));
  expect_place(refused_csv("number,depth [um]\n7,-2\n"), 2, 3, HasSubstr("expected a length from 0 um"));
  expect_place(refused_csv("number,depth [W]\n7,2\n"), 2, 3, HasSubstr("depth"));
  expect_place(refused_csv("# width_error = 5 W\nnumber,outcome\n1,marked\n"), 1, 1, HasSubstr("width_error"));
  EXPECT_THAT(refused_csv("numbers,outcome\n1,marked\n").what(), HasSubstr("Did you mean \"numbers\"?"));
  EXPECT_THAT(refused_csv("number,remark\n1,nice\n").what(), HasSubstr("column \"outcome\" is missing"));
  EXPECT_THAT(refused_csv(table(coupon())).what(), AllOf(HasSubstr("no result"), HasSubstr("filled.csv")));
  EXPECT_THAT(refused_csv("number,outcome,remark\n1,,nice\n").what(), HasSubstr("no result"));
  EXPECT_THAT(refused_csv("# width_error = -5 %\nnumber,outcome\n1,marked\n").what(), HasSubstr("width_error"));
  EXPECT_THAT(refused_csv("").what(), HasSubstr("header"));
}

TEST(Report, BadTomlIsRefusedWithItsPlace) {
  expect_place(refused_toml("[[patch]]\nnumber = 1\noutcome = \"markd\"\n"), 3, 11,
               HasSubstr("Did you mean \"marked\"?"));
  expect_place(refused_toml("[[patch]]\nnumber = 9\noutcome = \"marked\"\n"), 1, 1,
               HasSubstr("expected one from 1 to 7"));
  expect_place(refused_toml("[[patch]]\nnumber = 7\nwidth = 80\n"), 3, 9, HasSubstr("80 um"));
  expect_place(refused_toml("[[patch]]\nnumber = 7\nwdith = \"80 um\"\n"), 3, 1, HasSubstr("width"));
  expect_place(refused_toml("[[patch]]\nnumber = 1\noutcome = \"marked\"\n[[patch]]\nnumber = 1\n"), 4, 1,
               HasSubstr("stands in line 1 already"));
  EXPECT_THAT(refused_toml("[[patch]]\noutcome = \"marked\"\n").what(), HasSubstr("number is missing"));
  EXPECT_THAT(refused_toml("patch = 3\n").what(), HasSubstr("tables [[patch]]"));
  EXPECT_THAT(refused_toml("patch = [3]\n").what(), HasSubstr("table [[patch]]"));
  EXPECT_THAT(refused_toml("date = \"2026\"\n").what(), HasSubstr("patch is missing"));
  EXPECT_THAT(refused_toml("dates = \"2026\"\n").what(), HasSubstr("Did you mean date?"));
  EXPECT_THAT(refused_toml("date = \"a,b\"\n[[patch]]\nnumber = 1\noutcome = \"marked\"\n").what(),
              HasSubstr("date"));
}

TEST(Report, FilesAreToldByTheirNamesEnd) {
  const std::string folder = testing::TempDir() + "/report_files";
  std::filesystem::create_directories(folder);
  std::ofstream(folder + "/a.csv") << "number,outcome\n1,marked\n";
  std::ofstream(folder + "/a.TOML") << "[[patch]]\nnumber = 1\noutcome = \"marked\"\n";
  std::ofstream(folder + "/a.txt") << "number,outcome\n1,marked\n";
  EXPECT_EQ(read_report(folder + "/a.csv", coupon()).results.size(), 1u);
  EXPECT_EQ(read_report(folder + "/a.TOML", coupon()).origin, "a.TOML");
  EXPECT_THROW(read_report(folder + "/a.txt", coupon()), quantity::FileError);
  EXPECT_THROW(read_report(folder + "/none.csv", coupon()), quantity::FileError);
  std::filesystem::remove_all(folder);
}

TEST(Doubts, AnOrderlyReportHasNone) {
  EXPECT_THAT(doubts(coupon(), of({{1, Outcome::under_marked, quantity::kUnset, quantity::kUnset, ""},
                                   {2, Outcome::marked, quantity::kUnset, quantity::kUnset, ""},
                                   {4, Outcome::untouched, quantity::kUnset, quantity::kUnset, ""}})),
              IsEmpty());
}

TEST(Doubts, WeakerWithMoreIsNamed) {
  // 1: 2 W, 2: 4 W at one speed; 4: 2 W at twice the speed.
  EXPECT_THAT(doubts(coupon(), of({{1, Outcome::marked, quantity::kUnset, quantity::kUnset, ""},
                                   {2, Outcome::untouched, quantity::kUnset, quantity::kUnset, ""}})),
              ElementsAre(AllOf(HasSubstr("Patch 2 came out untouched, patch 1 marked though it got no more"),
                                HasSubstr("4 W, 1200 mm/min"))));
  EXPECT_THAT(doubts(coupon(), of({{1, Outcome::untouched, quantity::kUnset, quantity::kUnset, ""},
                                   {4, Outcome::marked, quantity::kUnset, quantity::kUnset, ""}})),
              ElementsAre(HasSubstr("Patch 1 came out untouched, patch 4 marked")));
  // 5 has twice the power of 1 and twice the speed: nothing is said.
  EXPECT_THAT(doubts(coupon(), of({{1, Outcome::marked, quantity::kUnset, quantity::kUnset, ""},
                                   {5, Outcome::untouched, quantity::kUnset, quantity::kUnset, ""}})),
              IsEmpty());
}

TEST(Doubts, OtherFocusOrKindIsNoContradiction) {
  Coupon other = coupon();
  other.slots[1].patch.focus_offset = 1e-3;
  const Report report = of({{1, Outcome::marked, quantity::kUnset, quantity::kUnset, ""},
                            {2, Outcome::untouched, quantity::kUnset, quantity::kUnset, ""}});
  EXPECT_THAT(doubts(other, report), IsEmpty());
  other.slots[1].patch.focus_offset = 0;
  EXPECT_EQ(doubts(other, report).size(), 1u);
}

TEST(Doubts, DepthsThatContradictAreNamedBeyondTheirErrorOnly) {
  const auto depths = [](double one, double two) {
    return doubts(coupon(),
                  of({{1, std::nullopt, quantity::kUnset, one, ""}, {2, std::nullopt, quantity::kUnset, two, ""}}));
  };
  // 15 % each: the difference of the logarithms has 21 %, three of them a factor of 1.89.
  EXPECT_THAT(depths(18e-6, 10e-6), IsEmpty());
  EXPECT_THAT(depths(20e-6, 10e-6), ElementsAre(HasSubstr("Patch 2 came out 10 um deep, patch 1 20 um deep")));
  EXPECT_THAT(depths(0.4e-6, 0.1e-6), testing::Each(HasSubstr("resolution")));  // both below it
}

TEST(Doubts, OutcomeAndFigureThatExcludeEachOther) {
  EXPECT_THAT(doubts(coupon(), of({{7, Outcome::untouched, 80e-6, quantity::kUnset, ""},
                                   {1, Outcome::marked, quantity::kUnset, quantity::kUnset, ""}})),
              ElementsAre(HasSubstr("Patch 7 is called untouched")));
  EXPECT_THAT(doubts(coupon(), of({{7, Outcome::marked, 0, quantity::kUnset, ""},
                                   {1, Outcome::untouched, quantity::kUnset, quantity::kUnset, ""}})),
              ElementsAre(HasSubstr("Patch 7 is called marked")));
}

TEST(Doubts, AllAlikeAndASingleOne) {
  EXPECT_THAT(doubts(coupon(), of({{1, Outcome::marked, quantity::kUnset, quantity::kUnset, ""},
                                   {2, Outcome::marked, quantity::kUnset, quantity::kUnset, ""}})),
              ElementsAre(HasSubstr("All 2 patches came out marked")));
  EXPECT_THAT(doubts(coupon(), of({{1, Outcome::marked, quantity::kUnset, quantity::kUnset, ""}})),
              ElementsAre(HasSubstr("A single patch")));
}

TEST(Doubts, TenThousandPatchesAreCountedNotListed) {
  Coupon many{.width = 1, .height = 1, .ink = coupon().ink, .slots = {}};
  Report report = of({});
  for (int i = 0; i < 10'000; ++i) {
    many.slots.push_back({i + 1,
                          {.power = 1 + 1e-4 * i, .speed = 0.04, .spacing = 0.1e-3},
                          {5e-3 + (i % 100) * 9e-3, 5e-3 + (i / 100) * 9e-3, 4e-3, 4e-3}});
    report.results.push_back(
        {i + 1, i % 3 ? Outcome::untouched : Outcome::marked, quantity::kUnset, quantity::kUnset, ""});
  }
  check(report, many);
  const std::vector<std::string> found = doubts(many, report);
  ASSERT_EQ(found.size(), size_t(kMostNamed) + 1);
  EXPECT_THAT(found.back(), HasSubstr("6661 more"));  // 6666 untouched ones, each above a marked one
}

}  // namespace
}  // namespace circumfluence::calibration
