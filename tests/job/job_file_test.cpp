// Truth: the job file's contract; values converted and messages written by hand.
#include "job/job_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "job/sample.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

namespace fs = std::filesystem;
using quantity::JobError;

std::string refusal(const std::string& text) {
  try {
    parse_job(text, "job.toml");
  } catch (const JobError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(JobFile, ReadsEveryKindOfValue) {
  const Job job = parse_job(kSample, "job.toml", "somewhere");
  EXPECT_EQ(job.text, kSample);
  EXPECT_EQ(job.folder, "somewhere");
  EXPECT_DOUBLE_EQ(job.laser.wavelength, 450e-9);
  EXPECT_DOUBLE_EQ(job.laser.losses, 0.05);
  EXPECT_DOUBLE_EQ(job.laser.focus_depth, 1.2e-3);
  EXPECT_TRUE(std::isnan(job.laser.m2_axial));
  EXPECT_EQ(job.laser.order_axial, 2.0);
  EXPECT_DOUBLE_EQ(job.workpiece.diameter, 0.073);
  EXPECT_DOUBLE_EQ(job.workpiece.temperature, 293.15);
  EXPECT_EQ(job.workpiece.base, "steel");
  EXPECT_EQ(job.mount.hold, motion::Hold::turning);
  EXPECT_EQ(job.artwork.file, "emblem.png");
  EXPECT_DOUBLE_EQ(job.scan.power_share, 0.8);
  EXPECT_TRUE(std::isnan(job.scan.power));
  EXPECT_DOUBLE_EQ(job.scan.speed, 2.5 / 60);
  EXPECT_TRUE(job.scan.two_way);
  EXPECT_EQ(job.scan.passes, 1);
  EXPECT_EQ(job.scan.power_habit, motion::PowerHabit::follows_speed);
  EXPECT_DOUBLE_EQ(job.grid.cell, 50e-6);
  ASSERT_EQ(job.materials.size(), 2u);
  EXPECT_EQ(job.materials[0].name, "steel");  // in the order of the file, not of the alphabet
  EXPECT_EQ(job.materials[0].origin, "job.toml");
  EXPECT_DOUBLE_EQ(job.materials[0].density.value, 7900);
  EXPECT_DOUBLE_EQ(job.materials[0].density.spread, 0.01);
  ASSERT_EQ(job.materials[0].optics.size(), 1u);
  EXPECT_DOUBLE_EQ(job.materials[0].optics[0].wavelength.value, 450e-9);
  EXPECT_DOUBLE_EQ(job.materials[1].removal_energy.value, 3.7e9);
}

TEST(JobFile, TakesPowerInWattsAndProfilesInRows) {
  const Job watts = parse_job(altered("\"80 %\"", "\"8000 mW\""));
  EXPECT_DOUBLE_EQ(watts.scan.power, 8.0);
  EXPECT_TRUE(std::isnan(watts.scan.power_share));
  const Job table = parse_job(altered(
      "shape = \"straight\"", "shape = \"table\"\nprofile = [[\"0 mm\", \"73 mm\"], [\"18 cm\", \"6 cm\"]]"));
  ASSERT_EQ(table.workpiece.profile.size(), 2u);
  EXPECT_DOUBLE_EQ(table.workpiece.profile[1].first, 0.18);
  EXPECT_DOUBLE_EQ(table.workpiece.profile[1].second, 0.06);
}

TEST(JobFile, ReadsByteOrderMarkAndCarriageReturns) {
  std::string text = "\xef\xbb\xbf";
  for (const char c : kSample) text += c == '\n' ? std::string("\r\n") : std::string(1, c);
  EXPECT_EQ(refusal(text), "accepted");
}

// The text to replace in the sample, what replaces it, and the whole message.
struct Bad {
  const char* from;
  const char* to;
  const char* message;
};

constexpr const char* kPower = "power = \"80 %\"";
constexpr const char* kFocus = "focus_depth = \"1.2 mm\"";
constexpr const char* kDirection = "direction = \"axial\"";
constexpr const char* kTwoWay = "two_way = true";
constexpr const char* kFile = "file = \"emblem.png\"";
constexpr const char* kShape = "shape = \"straight\"";
constexpr const char* kHold = "hold = \"turning\"";

constexpr Bad kQuantities[] = {
    {kPower, "power = \"20 m\"",
     "job.toml:29:9: scan.power = \"20 m\" (a length; expected a power from 0 W to 5000 W). Did you mean "
     "\"20 W\"?"},
    {kPower, "power = 20.5",
     "job.toml:29:9: scan.power = 20.5 (a number without a unit; expected a power from 0 W to 5000 W, or a "
     "ratio "
     "from 0 % to 100 %). Did you mean \"20.5 W\"?"},
    {kPower, "power = \"20\"",
     "job.toml:29:9: scan.power = \"20\" (a number without a unit; expected a power from 0 W to 5000 W, or a "
     "ratio from 0 % to 100 %). Did you mean \"20 W\"?"},
    {kPower, "power = \"120 %\"",
     "job.toml:29:9: scan.power = \"120 %\" (out of range; expected a power from 0 W to 5000 W, or a ratio "
     "from "
     "0 % to 100 %)"},
    {kPower, "power = \"8 w\"",
     "job.toml:29:9: scan.power = \"8 w\" (unknown unit; expected a power from 0 W to 5000 W, or a ratio "
     "from 0 % "
     "to 100 %). Did you mean \"8 W\"?"},
    {"speed = \"2500 mm/min\"", "speed = \"much\"",
     "job.toml:30:9: scan.speed = \"much\" (no finite number; expected a speed from 0.6 mm/min to 3000000 "
     "mm/min)"},
    {"speed = \"2500 mm/min\"", "speed = \"nan mm/min\"",
     "job.toml:30:9: scan.speed = \"nan mm/min\" (no finite number; expected a speed from 0.6 mm/min to "
     "3000000 "
     "mm/min)"},
    {"speed = \"2500 mm/min\"", "speed = inf",
     "job.toml:30:9: scan.speed = inf (no finite number; expected a speed from 0.6 mm/min to 3000000 "
     "mm/min)"},
    {"speed = \"2500 mm/min\"", "speed = true",
     "job.toml:30:9: scan.speed = true (a boolean; expected a speed from 0.6 mm/min to 3000000 mm/min)"},
    {"speed = \"2500 mm/min\"", "speed = [1]",
     "job.toml:30:9: scan.speed = [ ... ] (an array; expected a speed from 0.6 mm/min to 3000000 mm/min)"},
    {"speed = \"2500 mm/min\"", "speed = 2024-01-01",
     "job.toml:30:9: scan.speed = 2024-01-01 (a date or time; expected a speed from 0.6 mm/min to 3000000 "
     "mm/min)"},
    {"speed = \"2500 mm/min\"", "speed = \"9000 m\"",  // as a speed it would be fine, so it is offered
     "job.toml:30:9: scan.speed = \"9000 m\" (a length; expected a speed from 0.6 mm/min to 3000000 mm/min). "
     "Did "
     "you mean \"9000 mm/min\"?"},
    {"speed = \"2500 mm/min\"", "speed = 1e9",  // that would not, so nothing is
     "job.toml:30:9: scan.speed = 1000000000.0 (a number without a unit; expected a speed from 0.6 mm/min to "
     "3000000 "
     "mm/min)"},
    {kFocus, "m2_axial = 0.5\nm2_around = 1",
     "job.toml:7:12: laser.m2_axial = 0.5 (out of range; expected a number from 1 to 1000)"},
    {kFocus, "m2_axial = \"1.2 mm\"\nm2_around = 1",
     "job.toml:7:12: laser.m2_axial = \"1.2 mm\" (a length; expected a number from 1 to 1000)"},
    {kShape, "shape = \"table\"\nprofile = [[\"0 mm\", \"73 mm\"], [\"50 mm\", 60]]",
     "job.toml:11:41: workpiece.profile row 2 = 60 (a number without a unit; expected a length from 0 mm to "
     "3000 "
     "mm). Did you mean \"60 mm\"?"},
    {kShape, "shape = \"table\"\nprofile = [[\"0 mm\"]]",
     "job.toml:11:12: workpiece.profile row 1 = [ ... ] (not a pair; expected rows such as [\"0 mm\", \"73 "
     "mm\"], "
     "each a length from 0 mm to 3000 mm)"},
    {kShape, "shape = \"table\"\nprofile = \"73 mm\"",
     "job.toml:11:11: workpiece.profile = \"73 mm\" (a text; expected rows such as [\"0 mm\", \"73 mm\"], "
     "each a "
     "length from 0 mm to 3000 mm)"},
};

constexpr Bad kOthers[] = {
    {kDirection, "direction = \"axail\"",
     "job.toml:32:13: scan.direction = \"axail\" (unknown word; expected one of \"axial\", \"around\"). Did "
     "you "
     "mean \"axial\"?"},
    {kDirection, "direction = \"sideways\"",
     "job.toml:32:13: scan.direction = \"sideways\" (unknown word; expected one of \"axial\", \"around\")"},
    {kDirection, "direction = 3",
     "job.toml:32:13: scan.direction = 3 (a whole number; expected one of \"axial\", \"around\")"},
    {kTwoWay, "two_way = \"true\"",
     "job.toml:33:11: scan.two_way = \"true\" (a text; expected true or false). Did you mean true?"},
    {kTwoWay, "two_way = 1", "job.toml:33:11: scan.two_way = 1 (a whole number; expected true or false)"},
    {kTwoWay, "two_way = true\npasses = \"3\"",
     "job.toml:34:10: scan.passes = \"3\" (a text; expected a whole number from 1 to 100). Did you mean 3?"},
    {kTwoWay, "two_way = true\npasses = 2.5",
     "job.toml:34:10: scan.passes = 2.5 (a number; expected a whole number from 1 to 100)"},
    {kTwoWay, "two_way = true\npasses = 9223372036854775807",
     "job.toml:34:10: scan.passes = 9223372036854775807 (out of range; expected a whole number from 1 to "
     "100)"},
    {kFile, "file = 3", "job.toml:23:8: artwork.file = 3 (a whole number; expected text in quotes)"},
    {kFile, "file = \"\"", "job.toml:23:8: artwork.file = \"\" (empty; expected text in quotes)"},
    {kFile, "file = \"a\\u0000b\"",
     "job.toml:23:8: artwork.file = \"a\\u0000b\" (holds a control character; expected text in quotes)"},
    {kPower, "",
     "job.toml:28:1: scan.power is missing (expected a power from 0 W to 5000 W, or a ratio from 0 % to 100 "
     "%)"},
    {kHold, "hold = \"turning\"\nrunot = \"1 mm\"",
     "job.toml:21:1: mount.runot = \"1 mm\" (unknown key; expected one of hold, beam_offset, runout, "
     "runout_phase, "
     "drive_diameter, focus_at, height_spread, head_height, mouth, mouth_faces, axial_feed, around_feed). Did you mean mount.runout?"},
    {kHold, "hold = \"turning\"\n\"new\\nline\" = {}",
     "job.toml:21:1: mount.\"new\\nline\" = { ... } (unknown key; expected one of hold, beam_offset, runout, "
     "runout_phase, drive_diameter, focus_at, height_spread, head_height, mouth, mouth_faces, axial_feed, around_feed)"},
    {"[grid]", "[gird]",
     "job.toml:38:2: [gird] (unknown section; expected one of laser, workpiece, mount, rotary, machine, artwork, scan, path, grid, "
     "outcome, material, materials). Did you mean [grid]?"},
    {"[laser]", "colour = 1\n[laser]",
     "job.toml:1:1: colour = 1 (unknown key; expected one of laser, workpiece, mount, rotary, machine, artwork, scan, path, grid, "
     "outcome, material, materials)"},
    {"[laser]", "outcome = 5\n[laser]",
     "job.toml:1:11: outcome = 5 (a whole number; expected a section [outcome])"},
    {"[grid]\ncell = \"50 um\"", "", "job.toml: [grid] is missing (expected a section with cell)"},
    {"[laser]", "materials = \"none.toml\"\n[laser]",
     "job.toml:1:13: materials = \"none.toml\" (./none.toml: cannot be read (not a file); expected the name "
     "of a "
     "materials file)"},
};

TEST(JobFile, RefusesQuantitiesByName) {
  for (const Bad& bad : kQuantities) EXPECT_EQ(refusal(altered(bad.from, bad.to)), bad.message);
}

TEST(JobFile, RefusesEverythingElseByName) {
  for (const Bad& bad : kOthers) EXPECT_EQ(refusal(altered(bad.from, bad.to)), bad.message);
}

TEST(JobFile, PlacesWhatTheRoomsRefuse) {
  EXPECT_EQ(refusal(altered(kFocus, std::string(kFocus) + "\nm2_axial = 1\nm2_around = 1")),
            "job.toml:7:15: laser.focus_depth is given beside laser.m2_axial or m2_around (they say the same "
            "thing). Keep one of them");
  EXPECT_THAT(refusal(altered("coat_thickness = \"60 um\"", "")),
              testing::StartsWith("job.toml:9:1: workpiece.coat_thickness is missing"));
  EXPECT_EQ(refusal(altered(kPower, "power = \"12 W\"")),
            "job.toml:29:9: scan.power = 12 W (more than the laser gives; expected at most "
            "laser.rated_power, 10 W)");
}

TEST(JobFile, KeepsThePlaceApart) {
  try {
    parse_job(altered(kPower, "power = \"20 m\""), "job.toml");
    FAIL();
  } catch (const JobError& error) {
    EXPECT_EQ(error.place().file, "job.toml");
    EXPECT_EQ(error.place().line, 29);
    EXPECT_EQ(error.place().column, 9);
    EXPECT_THAT(error.problem(), testing::StartsWith("scan.power = "));
  }
}

class JobFolder : public testing::Test {
 protected:
  void SetUp() override { fs::create_directories(folder_); }
  void TearDown() override { fs::remove_all(folder_); }
  std::string write(const std::string& name, const std::string& text) {
    std::ofstream(folder_ / name, std::ios::binary) << text;
    return (folder_ / name).string();
  }
  fs::path folder_ = fs::path(testing::TempDir()) /
                     ("job_" + std::string(testing::UnitTest::GetInstance()->current_test_info()->name()));
};

TEST_F(JobFolder, StartsRelativePathsAtTheFile) {
  const Job job = read_job(write("job.toml", std::string(kSample)));
  EXPECT_EQ(job.folder, folder_.string());
}

TEST_F(JobFolder, JoinsAMaterialsFileBehindTheJobsOwn) {
  write("mine.toml",
        "[material.cork]\ntitle = \"cork\"\nkind = \"organic\"\n[material.steel]\ntitle = \"other\"\nkind = "
        "\"metal\"\n");
  const Job job = read_job(write("job.toml", altered("[laser]", "materials = \"mine.toml\"\n[laser]")));
  ASSERT_EQ(job.materials.size(), 3u);
  EXPECT_EQ(job.materials[0].title, "a test steel");  // the job's own stands
  EXPECT_EQ(job.materials[2].name, "cork");
  EXPECT_EQ(fs::path(job.materials[2].origin).filename(), "mine.toml");
}

TEST_F(JobFolder, PlacesErrorsOfTheMaterialsFileThere) {
  write("mine.toml", "[material.cork]\ntitle = 3\nkind = \"organic\"\n");
  try {
    read_job(write("job.toml", altered("[laser]", "materials = \"mine.toml\"\n[laser]")));
    FAIL();
  } catch (const JobError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("mine.toml:2:9: material.cork.title = 3"));
  }
}

TEST_F(JobFolder, RefusesWhatIsNoJobFile) {
  EXPECT_THROW(read_job((folder_ / "absent.toml").string()), quantity::FileError);
  EXPECT_THROW(read_job(folder_.string()), quantity::FileError);
  EXPECT_THROW(read_job(write("large.toml", std::string((size_t{4} << 20) + 1, '#'))), quantity::FileError);
  EXPECT_THROW(read_job(write("full.toml", std::string(size_t{4} << 20, '#'))), JobError);
}

}  // namespace
}  // namespace circumfluence::job
