// Truth: docs/program.md: what `materials` lists, and where each record comes from.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "program/run.h"

namespace circumfluence {
namespace {

using testing::AllOf;
using testing::ContainsRegex;
using testing::HasSubstr;
using testing::Not;

constexpr const char* kMine = R"([material.club_black]
title = "black coat, by coupon of 2026-05-02"
kind = "coat"
threshold = { value = "1.12 J/cm^2", spread = "6 %", source = "coupon of 2026-05-02 (club.csv): 12 patches" }
threshold_dwell = { value = "1 ms", source = "of the job" }
[[material.club_black.optics]]
wavelength = "450 nm"
absorptivity = { value = "95 %", source = "x" }
[[material.club_black.settled]]
name = "club_black.threshold"
value = "1.12 J/cm^2"
spread = "6 %"
[[material.club_black.settled]]
name = "laser.spot"
value = "81 um"
spread = "2 %"
correlations = [-0.4]

[material.al_6061]
title = "the club's own aluminium"
kind = "metal"
)";

TEST(MaterialsCommand, ListsOnesOwnBesideTheBuiltIn) {
  const mark::TestFolder folder, logs;
  const Shell shell{folder, logs};
  std::ofstream(folder.file("mine.toml")) << kMine;
  const std::string before = "CIRCUMFLUENCE_MY_MATERIALS=mine.toml ";
  const Done list = shell.run("materials", before);
  EXPECT_EQ(list.code, 0) << list.err;
  EXPECT_THAT(list.out,
              AllOf(ContainsRegex("club_black +black coat, by coupon of 2026-05-02 +450 nm +mine.toml\n"),
                    ContainsRegex("al_6061 +the club's own aluminium +mine.toml\n"),
                    ContainsRegex("aisi_304 .* built in\n")));
  const Done one = shell.run("materials club_black", before);
  EXPECT_THAT(one.out,
              AllOf(HasSubstr("[[material.club_black.settled]]\nname = \"laser.spot\"\n"),
                    HasSubstr("correlations = [-0.4]\n"), HasSubstr("coupon of 2026-05-02 (club.csv)")));
  EXPECT_THAT(shell.run("materials").out, Not(HasSubstr("club_black")));
}

TEST(MaterialsCommand, RefusesAFileThatSaysWhatCannotBe) {
  const mark::TestFolder folder, logs;
  const Shell shell{folder, logs};
  std::string text = kMine;
  text.replace(text.find("[-0.4]"), 6, "[-1.5]");
  std::ofstream(folder.file("mine.toml")) << text;
  const Done done = shell.run("materials", "CIRCUMFLUENCE_MY_MATERIALS=mine.toml ");
  EXPECT_EQ(done.code, 3);
  EXPECT_THAT(done.err, HasSubstr("mine.toml:17:17: material.club_black.settled.correlations = -1.5"));
}

}  // namespace
}  // namespace circumfluence
