// Truth: the contract of a settled block; messages and matrices written by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "job/job_file.h"
#include "job/material_file.h"
#include "job/same.h"
#include "job/sample.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

constexpr const char* kHead = "[material.club]\ntitle = \"a coat\"\nkind = \"coat\"\n";

std::string entry(const std::string& name, const std::string& more = "",
                  const std::string& value = "11.2 mJ/mm^2") {
  return "[[material.club.settled]]\nname = \"" + name + "\"\nvalue = \"" + value +
         "\"\nspread = \"6.1 %\"\n" + more + "\n";
}

std::string refusal(const std::string& text) {
  try {
    parse_materials(kHead + text, "m.toml");
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "accepted";
}

workpiece::Material sample() {
  workpiece::Material material;
  material.name = "club";
  material.title = "a coat";
  material.kind = workpiece::Kind::coat;
  material.threshold = {1.12e4, 0.061, "a coupon"};
  material.threshold_dwell = {1e-3, 0, "a coupon"};
  material.settled = {{"club.threshold", "11.2 mJ/mm^2", "6.1 %", {}},
                      {"laser.spot", "81.3 um", "2.1 %", {0.31}},
                      {"mount.height", "0 mm", "0.2 mm", {-0.52, 1.0 / 3}}};
  return material;
}

TEST(MaterialSettled, IsReadInOrder) {
  const auto found = parse_materials(kHead + entry("club.threshold") +
                                         entry("laser.spot", "correlations = [0.31]", "81.3 um") +
                                         entry("laser.shape", "correlations = [-0.52, 0]", "1.02"),
                                     "m.toml");
  const std::vector<workpiece::Settled>& settled = found.at(0).settled;
  ASSERT_EQ(settled.size(), 3u);
  EXPECT_EQ(settled[0].name, "club.threshold");
  EXPECT_EQ(settled[0].value, "11.2 mJ/mm^2");
  EXPECT_EQ(settled[0].spread, "6.1 %");
  EXPECT_THAT(settled[0].correlations, ElementsAre());
  EXPECT_EQ(settled[1].value, "81.3 um");
  EXPECT_THAT(settled[2].correlations, ElementsAre(-0.52, 0.0));
}

TEST(MaterialSettled, ReadsBackAsItWasWritten) {
  const workpiece::Material material = sample();
  EXPECT_EQ(difference(parse_materials(write_material(material), "m").at(0), material), "");
  workpiece::Material other = material;
  other.settled[2].correlations[1] = 0.3;
  EXPECT_EQ(difference(other, material), "settled");
}

// A job carries its own records, and its text goes into the file of record.
TEST(MaterialSettled, SurvivesTheTextOfAJob) {
  Job job = parse_job(kSample, "sample");
  job.materials.push_back(sample());
  const Job again = parse_job(write_job(job), "again");
  EXPECT_EQ(difference(again, job), "");
  ASSERT_EQ(again.materials.back().settled.size(), 3u);
  EXPECT_EQ(replaced(again, "scan.power", "40 %").materials.back().settled[2].correlations[1], 1.0 / 3);
}

TEST(MaterialSettled, RefusesWhatIsNoEntry) {
  EXPECT_EQ(
      refusal("settled = 3"),
      "m.toml:4:11: material.club.settled = 3 (a whole number; expected tables [[material.club.settled]])");
  EXPECT_THAT(refusal("settled = [3]"), StartsWith("m.toml:4:12: material.club.settled = 3 (a whole number"));
  EXPECT_THAT(refusal("[[material.club.settled]]\nvalue = \"1 um\"\nspread = \"1 %\""),
              StartsWith("m.toml:4:1: material.club.settled.name is missing (expected a figure's name"));
  EXPECT_THAT(refusal(entry("a.b", "corelations = []")),
              AllOf(HasSubstr("m.toml:8:1: material.club.settled.corelations"),
                    HasSubstr("Did you mean material.club.settled.correlations?")));
  for (const char* value : {"much", "3 parsec", "", "nan um", "3 um um2"})
    EXPECT_THAT(refusal(entry("a.b", "", value)), HasSubstr("m.toml:6:9: material.club.settled.value"))
        << value;
  EXPECT_EQ(refusal(entry(std::string(161, 'a'))).find("accepted"), std::string::npos);
  std::string many;
  for (int i = 0; i < 65; ++i) {
    std::string zeros;
    for (int k = 0; k < i; ++k) zeros += "0, ";
    many += entry("a." + std::to_string(i), "correlations = [" + zeros + "]");
  }
  EXPECT_THAT(refusal(many), HasSubstr("material.club.settled (too many; expected up to 64)"));
}

TEST(MaterialSettled, RefusesCorrelationsThatCannotBe) {
  const std::string first = entry("a.a");
  EXPECT_THAT(refusal(first + entry("a.b")),
              HasSubstr("m.toml:9:1: material.club.settled.correlations is missing (expected 1 "));
  EXPECT_THAT(refusal(first + entry("a.b", "correlations = [0.1, 0.2]")),
              HasSubstr("m.toml:13:16: material.club.settled.correlations = [ ... ] (holds 2; expected 1 "));
  EXPECT_THAT(refusal(first + entry("a.b", "correlations = [1.01]")),
              HasSubstr("out of range; expected a correlation from -1 to 1"));
  EXPECT_THAT(refusal(first + entry("a.b", "correlations = [nan]")), HasSubstr("no finite number"));
  EXPECT_THAT(refusal(first + entry("a.b", "correlations = [\"much\"]")),
              HasSubstr("material.club.settled.correlations"));
  EXPECT_THAT(refusal(first + entry("a.a", "correlations = [0.1]")),
              HasSubstr("m.toml:4:1: material.club.settled (holds a.a twice"));
  // 0.9, 0.9 and -0.9 between three: their determinant is 1 - 3 0.81 - 2 0.729 < 0.
  const std::string three =
      first + entry("a.b", "correlations = [0.9]") + entry("a.c", "correlations = [0.9, -0.9]");
  EXPECT_THAT(refusal(three), HasSubstr("m.toml:4:1: material.club.settled (no deviates are so correlated"));
  EXPECT_EQ(refusal(first + entry("a.b", "correlations = [0.9]") + entry("a.c", "correlations = [0.9, 0.9]")),
            "accepted");
  EXPECT_EQ(refusal(first + entry("a.b", "correlations = [1]") + entry("a.c", "correlations = [0.5, 0.5]")),
            "accepted");
  EXPECT_THAT(refusal(first + entry("a.b", "correlations = [1]") + entry("a.c", "correlations = [0.5, 0.4]")),
              HasSubstr("no deviates are so correlated"));
}

TEST(MaterialSettled, IsCheckedInCodeAsWell) {
  const auto refused = [](workpiece::Material material) {
    try {
      check(material);
    } catch (const quantity::JobError& error) {
      return std::string(error.what());
    }
    return std::string("accepted");
  };
  EXPECT_EQ(refused(sample()), "accepted");
  workpiece::Material bad = sample();
  bad.settled[1].correlations = {};
  EXPECT_THAT(refused(bad), HasSubstr("laser.spot"));
  bad = sample();
  bad.settled[1].correlations = {std::nan("")};
  EXPECT_THAT(refused(bad), HasSubstr("expected -1 to 1"));
  bad = sample();
  bad.settled[0].spread = "wide";
  EXPECT_THAT(refused(bad), HasSubstr("no number with a unit"));
}

}  // namespace
}  // namespace circumfluence::job
