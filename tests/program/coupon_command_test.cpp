// Truth: the program's promises in docs/program.md (files, refusals, exit codes), and that what a coupon is simulated to say
// moves the window of the job that comes out of it towards the simulated truth.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "calibration/fit.h"
#include "calibration/plan.h"
#include "mark/small_job.h"
#include "program/run.h"
#include "quantity/unfinished_file.h"

namespace circumfluence {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

// The small job with what is not known of its machine; logs and the user's own records go elsewhere.
struct Bench : mark::SmallJob {
  mark::TestFolder logs;
  Bench() {
    std::string text{mark::kSmallJob};
    text.insert(text.find("[workpiece]"), "power_spread = \"5 %\"\nspot_spread = \"10 %\"\n\n");
    text.insert(text.find("[mount]"), "coat_spread = \"15 %\"\n\n");
    quantity::write_whole(folder.file("small.toml"), text);
  }
  Done run(const std::string& arguments) const {
    return Shell{folder, logs}.run(arguments, "CIRCUMFLUENCE_MY_MATERIALS='" + logs.file("mine.toml") + "' ");
  }
  bool has(const std::string& name) const { return std::filesystem::exists(folder.file(name)); }
  void refuses(int code, const std::string& arguments, const std::string& message) const {
    const Done done = run(arguments);
    EXPECT_EQ(done.code, code) << arguments << '\n' << done.out << done.err;
    EXPECT_THAT(done.err + done.out, AllOf(HasSubstr(message), Not(HasSubstr("nan")))) << arguments;
  }
  // Fills in the table of a coupon as it would come out for a truth that is the same for all unknowns.
  void burn(const std::string& table, const std::string& filled, double deviate) const {
    const mark::Scene scene = mark::prepare(job::read_job(folder.file("small.toml")));
    const calibration::Coupon coupon = calibration::read_coupon(folder.file(table));
    std::vector<calibration::Patch> patches;
    for (const calibration::Slot& slot : coupon.slots) patches.push_back(slot.patch);
    const calibration::Trials trials(scene, patches);
    const std::vector<double> truth(trials.unknowns().size(), deviate);
    quantity::write_whole(folder.file(filled),
                          calibration::filled_table(coupon, calibration::simulated(trials, coupon, truth, 1)));
  }
};

constexpr const char* kPlan = "coupon plan small.toml --patches 6 --full-power-word 1000";

TEST(CouponCommand, PlanLeavesTableArtPictureAndPath) {
  const Bench bench;
  const Done done = bench.run(kPlan);
  ASSERT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("coupon     6 patches"), HasSubstr("bit"), HasSubstr("caution"), Not(HasSubstr("nan"))));
  for (const char* name : {"small.coupon.csv", "small.coupon.png", "small.coupon-art.png", "small.coupon.nc"})
    EXPECT_TRUE(bench.has(name)) << name;
  EXPECT_THAT(content(bench.folder.file("small.coupon.nc")), AllOf(HasSubstr("G21"), HasSubstr("M5")));
}

TEST(CouponCommand, PlanDoesNotWriteOverATable) {
  const Bench bench;
  ASSERT_EQ(bench.run(kPlan).code, 0);
  const std::string before = content(bench.folder.file("small.coupon.csv"));
  bench.refuses(4, kPlan, "--replace");
  EXPECT_EQ(content(bench.folder.file("small.coupon.csv")), before);
  EXPECT_EQ(bench.run(std::string(kPlan) + " --replace").code, 0);
  EXPECT_EQ(bench.run(std::string(kPlan) + " --name second").code, 0);
}

TEST(CouponCommand, WithoutAFullPowerWordThereIsNoPath) {
  const Bench bench;
  const Done done = bench.run("coupon plan small.toml --patches 3");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, HasSubstr("--full-power-word"));
  EXPECT_FALSE(bench.has("small.coupon.nc"));
}

TEST(CouponCommand, FitLearnsKeepsAndIsUsed) {
  const Bench bench;
  ASSERT_EQ(bench.run(std::string(kPlan) + " --lines powers").code, 0);
  bench.burn("small.coupon.csv", "filled.csv", 0.7);
  const Done done = bench.run("coupon fit small.toml filled.csv --name club_black --keep");
  ASSERT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("told apart"), HasSubstr("next"), HasSubstr("club_black.toml"), Not(HasSubstr("nan"))));
  EXPECT_TRUE(bench.has("club_black.toml") && bench.has("club_black.before-after.png"));
  EXPECT_THAT(content(bench.logs.file("mine.toml")), AllOf(HasSubstr("[material.club_black]"), HasSubstr("settled")));
  EXPECT_THAT(bench.run("materials").out, HasSubstr("club_black"));
  const Done predicted = bench.run("predict club_black.toml --no-intervals");
  EXPECT_EQ(predicted.code, 0) << predicted.err;
  bench.refuses(4, "coupon fit small.toml filled.csv --name club_black", "--replace");
  const Done next = bench.run("coupon plan small.toml --after filled.csv --name second --patches 4");
  EXPECT_EQ(next.code, 0) << next.err;
}

TEST(CouponCommand, FitOfContradictionsMakesNoRecord) {
  const Bench bench;
  ASSERT_EQ(bench.run(std::string(kPlan) + " --power \"3 W:9 W:4\" --speed \"1500 mm/min\"").code, 0);
  quantity::write_whole(bench.folder.file("odd.csv"),
                        std::string("number,outcome\n1,over-burned\n2,over-burned\n3,over-burned\n4,over-burned\n5,over-burned\n6,over-burned\n"));
  const std::string fit = "coupon fit small.toml odd.csv --coupon small.coupon.csv";
  const Done done = bench.run(fit);
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("nothing was learnt of them"), HasSubstr("next       Look again"), Not(HasSubstr("doubt"))));
  bench.refuses(5, fit + " --name odd", "no record odd was made");
  EXPECT_FALSE(bench.has("odd.toml"));
}

TEST(CouponCommand, ARecordOfTwoCouponsNamesBoth) {
  const Bench bench;
  ASSERT_EQ(bench.run(kPlan).code, 0);
  bench.burn("small.coupon.csv", "first.csv", 0.0), bench.burn("small.coupon.csv", "second.csv", 0.0);
  std::string dated = content(bench.folder.file("second.csv"));
  ASSERT_NE(dated.find("# date =\n"), std::string::npos);  // to be filled in
  dated.replace(dated.find("# date =\n"), 9, "# date = 2026-05-09\n");
  quantity::write_whole(bench.folder.file("second.csv"), dated);
  const Done done = bench.run("coupon fit small.toml first.csv second.csv --name both");
  ASSERT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(content(bench.folder.file("both.toml")), HasSubstr("coupon of 2026-05-09 (first.csv, second.csv): 12 patches"));
}

TEST(CouponCommand, ALadderOutOfFocusHasItsRegression) {
  const Bench bench;
  std::string text = content(bench.folder.file("small.toml"));
  text.insert(text.find("spacing ="), "focus_offset = \"1 mm\"\n");
  quantity::write_whole(bench.folder.file("small.toml"), text);
  ASSERT_EQ(bench.run(std::string(kPlan) + " --lines powers").code, 0);
  bench.burn("small.coupon.csv", "filled.csv", 0.0);
  EXPECT_THAT(bench.run("coupon fit small.toml filled.csv").out,
              AllOf(HasSubstr("along the axis, 1 mm out of focus"), HasSubstr("radius ")));
}

TEST(CouponCommand, FitPrintsJson) {
  const Bench bench;
  ASSERT_EQ(bench.run(kPlan).code, 0);
  bench.burn("small.coupon.csv", "filled.csv", 0.0);
  const Done done = bench.run("coupon fit small.toml filled.csv --json");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_EQ(done.out.front(), '{');
}

TEST(CouponCommand, DriftOfACouponAgainstItselfIsNone) {
  const Bench bench;
  ASSERT_EQ(bench.run(kPlan).code, 0);
  bench.burn("small.coupon.csv", "filled.csv", 0.0);
  const Done done = bench.run("coupon drift small.toml filled.csv filled.csv");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, Not(HasSubstr("nan")));
}

TEST(CouponCommand, SaysWhatIsWrong) {
  const Bench bench;
  ASSERT_EQ(bench.run(kPlan).code, 0);
  bench.refuses(2, "coupon", "subcommand");
  bench.refuses(3, "coupon plan small.toml --name a --width 0mm", "--width");
  bench.refuses(3, "coupon plan small.toml --name a --time \"10 mm\"", "--time");
  bench.refuses(3, "coupon fit small.toml small.coupon.csv", "small.coupon.csv");  // nothing filled in
  bench.refuses(4, "coupon fit small.toml nothing.csv", "nothing.csv");
  bench.refuses(3, "coupon fit small.toml small.coupon.csv --keep", "--name");
  bench.refuses(4, "coupon read small.toml nothing.png --coupon small.coupon.csv", "nothing.png");
  bench.refuses(3, "coupon read small.toml art.png --coupon small.coupon.csv", "art.png");  // no corner marks in it
}

}  // namespace
}  // namespace circumfluence
