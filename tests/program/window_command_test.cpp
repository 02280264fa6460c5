// Truth: the program's own promises in docs/program.md: what `window` prints, the files it leaves, its exit
// codes.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>

#include "mark/small_job.h"
#include "program/run.h"

namespace circumfluence {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::UnorderedElementsAre;

// The small job in a file beside its picture, and the program run on it; logs go elsewhere.
struct Bench : mark::SmallJob {
  mark::TestFolder logs;
  std::string path = folder.file("small.toml"), text{mark::kSmallJob};
  Bench() { change("", ""); }
  Bench& change(std::string_view from, std::string_view to) {
    text.replace(text.find(from), from.size(), to);
    std::ofstream(path) << text;
    return *this;
  }
  Done window(const std::string& options, const std::string& before = "") const {
    return Shell{folder, logs}.run("window '" + path + "' " + options, before);
  }
  // Whether Python's own parser agrees with what is said about the file "out" as v.
  bool parsed(const std::string& claim) const {
    const std::string script = "import json, sys; v = json.load(open(sys.argv[1])); assert " + claim;
    return std::system(("/usr/bin/python3 -c '" + script + "' '" + logs.file("out") + "'").c_str()) == 0;
  }
};

TEST(WindowCommand, SaysHowTheJobStandsAndWhatToSet) {
  const Bench bench;
  const Done done = bench.window("--draws 16");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.err, IsEmpty());
  EXPECT_THAT(done.out, testing::StartsWith("as set     an even fill "));
  EXPECT_THAT(done.out,
              AllOf(HasSubstr("power      7.5 W (75 % of the rated power)"), HasSubstr("\nmarks      from "),
                    HasSubstr("\nover-burns from "), HasSubstr("\nsettings   the fastest "),
                    HasSubstr("\ncaution    Class 4"), HasSubstr("\npicture    ")));
  EXPECT_THAT(done.out,
              AllOf(HasSubstr("state laser.power_spread"), HasSubstr("state laser.spot_spread"),
                    HasSubstr("state workpiece.coat_spread"), HasSubstr("state mount.height_spread")));
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml", "small.window.png"));
  EXPECT_GT(artwork::read_image(bench.folder.file("small.window.png")).width, 700);
}

TEST(WindowCommand, IsSilentAboutWhatIsStated) {
  Bench bench;
  bench.change("focus_depth = \"4 mm\"",
               "focus_depth = \"4 mm\"\npower_spread = \"5 %\"\nspot_spread = \"0 %\"");
  const Done done = bench.window("--draws 16 --no-picture");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(Not(HasSubstr("laser.power_spread")), Not(HasSubstr("laser.spot_spread")),
                              HasSubstr("mount.height_spread"), Not(HasSubstr("picture "))));
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(WindowCommand, RanksWhatIsNotKnown) {
  const Bench bench;
  const Done done = bench.window("--draws 16 --rank");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("\nranking "), HasSubstr("% "), HasSubstr("small.rank-marks.png")));
  EXPECT_THAT(bench.folder.names(), testing::IsSupersetOf({"small.window.png", "small.rank-marks.png"}));
}

TEST(WindowCommand, WritesEverySettingAsATable) {
  const Bench bench;
  const std::string table = bench.folder.file("all.csv");
  const Done done = bench.window(
      "--draws 16 --power '1 W:9 W:3' --speed '1000 mm/min:4000 mm/min:3' --spacing '0.08 mm:0.1 mm:2' "
      "--focus-offset '-1 mm:1 mm:2' --passes 1:2 --table '" +
      table + "'");
  EXPECT_EQ(done.code, 0) << done.err;
  const std::string rows = content(table);
  EXPECT_EQ(std::count(rows.begin(), rows.end(), '\n'), 1 + 3 * 3 * 2 * 2 * 2);
  EXPECT_THAT(rows, testing::StartsWith("power [W],speed [mm/min],"));
  EXPECT_THAT(rows, AllOf(HasSubstr("\n5,2000,0.1,-1,2,"),
                          HasSubstr("\n9,4000,0.1,1,2,")));  // the middle of the logarithm
  EXPECT_THAT(done.out, HasSubstr("table      " + table));
}

TEST(WindowCommand, JsonParses) {
  const Bench bench;
  const Done done = bench.window("--draws 16 --json --rank --no-picture");
  ASSERT_EQ(done.code, 0) << done.err;
  EXPECT_TRUE(bench.parsed(
      "v[\"ruling\"] == \"marks\" and v[\"begins\"] <= v[\"marks\"] < 7.5 < v[\"burns\"] "
      "and v[\"set\"][\"power\"] == 7.5 and v[\"recommendation\"][\"asked\"][\"marks\"] == 0.95 "
      "and len(v[\"ranking\"][\"unknowns\"]) > 3 and len(v[\"notes\"]) == 4 and v[\"cautions\"]"));
  ASSERT_EQ(bench.window("--draws 16 --json --no-picture").code, 0);
  EXPECT_TRUE(bench.parsed("v[\"ranking\"] is None"));
}

TEST(WindowCommand, TakesSingleValues) {
  const Bench bench;
  const Done done = bench.window("--draws 16 --power '5 W' --speed '2000 mm/min' --passes 2");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out,
              AllOf(HasSubstr("2 passes"), Not(HasSubstr("picture "))));  // no picture over one speed
}

TEST(WindowCommand, SaysWhatIsWrongWithARange) {
  const Bench bench;
  const std::pair<const char*, const char*> wrong[] = {
      {"--power ''", "--power = \"\" (part 1 is empty; expected low:high:count"},
      {"--power 5", "(a number without a unit; expected a power"},
      {"--power '5 m'", "(a length; expected a power"},
      {"--power '0 W'", "not above zero"},
      {"--power '5 W:3 W:4'", "it does not rise"},
      {"--power '3 W:5 W'", "no count"},
      {"--power '3 W:5 W:0'", "a count of 0, not 2 to "},
      {"--power '3 W:5 W:two'", "no whole number"},
      {"--power '3 W:5 W:4:1'", "more than three parts"},
      {"--speed '1 mm/min:90 m/s:3'", "--speed = \"1 mm/min:90 m/s:3\": scan.speed = "},
      {"--spacing '0 mm:1 mm:3'", "scan.spacing = 0 mm (out of range; expected a length"},
      {"--focus-offset '-1 m'", "scan.focus_offset"},
      {"--passes 3:1",
       "--passes = \"3:1\" (it ends below where it begins; expected low:high such as \"1:3\""},
      {"--passes 1.5", "expected a whole number"},
      {"--power '1 W:5 W:2000' --speed '500 mm/min:5000 mm/min:2000'", "4000000 settings are asked for"}};
  for (const auto& [options, message] : wrong) {
    const Done done = bench.window(options);
    EXPECT_EQ(done.code, 3) << options;
    EXPECT_THAT(done.err, AllOf(testing::StartsWith("error: "), HasSubstr(message))) << options;
    EXPECT_THAT(done.out, IsEmpty());
  }
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(WindowCommand, WrongUsageAndFiles) {
  const Bench bench;
  EXPECT_EQ(bench.window("--marks 1.5").code, 2);
  EXPECT_EQ(bench.window("--draws 1").code, 2);
  EXPECT_EQ(bench.window("--no-such-option").code, 2);
  EXPECT_EQ(bench.window("--folder /nowhere").code, 4);
  const Done done = bench.window("--no-picture --table /nowhere/all.csv");
  EXPECT_EQ(done.code, 4);
  EXPECT_THAT(done.err, HasSubstr("/nowhere/all.csv"));
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(WindowCommand, InterruptLeavesNothing) {
  const Bench bench;
  const Done done = bench.window("--draws 100000 --table all.csv", "timeout --preserve-status -s INT 1 ");
  EXPECT_EQ(done.code, 130) << done.err;
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

}  // namespace
}  // namespace circumfluence
