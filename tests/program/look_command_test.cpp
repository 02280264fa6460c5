// Truth: the program's promises in docs/program.md: what look prints, which files it leaves, refusals and exit codes; and that
// corrected art is a picture that can be read.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>

#include "artwork/image.h"
#include "mark/small_job.h"
#include "program/run.h"
#include "quantity/unfinished_file.h"

namespace circumfluence {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

struct Bench : mark::SmallJob {
  mark::TestFolder logs;
  Bench() { quantity::write_whole(folder.file("small.toml"), std::string(mark::kSmallJob)); }
  Done run(const std::string& arguments) const { return Shell{folder, logs}.run(arguments); }
  bool has(const std::string& name) const { return std::filesystem::exists(folder.file(name)); }
};

TEST(LookCommand, SaysAndDrawsWhatThePartWillLookLike) {
  const Bench bench;
  const Done done = bench.run("look small.toml --solid");
  ASSERT_EQ(done.code, 0) << done.err;
  for (const char* words : {"contrast   CIEDE2000 = ", "unwiped    ", "greys      power: ", "greys      blue noise", "smallest   dot ",
                            "strokes    from ", "letters    ", "codes      ", "caution    ", "pictures   "})
    EXPECT_THAT(done.out, HasSubstr(words));
  EXPECT_THAT(done.out, AllOf(Not(HasSubstr("nan")), Not(HasSubstr("inf"))));
  for (const char* name : {"small.round.png", "small.turning.html", "small.tones.png", "small.hdf"}) EXPECT_TRUE(bench.has(name)) << name;
}

TEST(LookCommand, CorrectsTheArt) {
  const Bench bench;
  const Done done = bench.run("look small.toml --quick --no-pictures --art corrected.png --by power");
  ASSERT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("art        corrected.png"), HasSubstr("artwork.tone = \"grey\""), Not(HasSubstr("greys"))));
  const artwork::Image art = artwork::read_image(bench.folder.file("corrected.png"));
  EXPECT_GT(art.width, 0);
  EXPECT_FALSE(bench.has("small.round.png"));
}

TEST(LookCommand, CorrectsTheArtForEveryScreen) {
  const Bench bench;
  for (const char* screen : {"power", "bayer", "floyd_steinberg", "jarvis_judice_ninke", "stucki", "blue_noise"})
    EXPECT_EQ(bench.run(std::string("look small.toml --folder no/such/folder --by ") + screen).code, 4) << screen;  // not 3
  const Done done = bench.run("look small.toml --quick --no-pictures --art a.png --by stucki");
  EXPECT_THAT(done.out, HasSubstr("artwork.screen = \"stucki\", artwork.dot = \"0.1 mm\""));
}

TEST(LookCommand, JsonLeavesTheFilesThatAreAskedFor) {
  const Bench bench;
  const Done done = bench.run("look small.toml --quick --json --solid --art a.png --by power");
  EXPECT_EQ(done.out.front(), '{');
  EXPECT_EQ(done.out.back(), '\n');
  EXPECT_EQ(done.out.find('\n'), done.out.size() - 1);
  for (const char* name : {"a.png", "small.hdf"}) EXPECT_TRUE(bench.has(name)) << name;
}

TEST(LookCommand, OverwritesNothingThatTheJobIsMadeOf) {
  const Bench bench;
  const std::string job = content(bench.folder.file("small.toml")), art = content(bench.folder.file("art.png"));
  for (const char* name : {"small.toml", "./small.toml", "art.png"}) {
    const Done done = bench.run(std::string("look small.toml --quick --no-pictures --art ") + name);
    EXPECT_EQ(done.code, 3);
    EXPECT_THAT(done.err, HasSubstr("would overwrite what the job is made of"));
  }
  EXPECT_EQ(content(bench.folder.file("small.toml")), job);
  EXPECT_EQ(content(bench.folder.file("art.png")), art);
}

TEST(LookCommand, SaysWhenCellsAreTooCoarseForGreys) {
  const Bench bench;
  std::string text = content(bench.folder.file("small.toml"));
  text.insert(text.find("burns = "), "tone = \"grey\"\n");
  quantity::write_whole(bench.folder.file("grey.toml"), text);
  EXPECT_THAT(bench.run("look grey.toml --quick --no-pictures").out, HasSubstr("cells of 12.5 um"));
  EXPECT_THAT(bench.run("look small.toml --quick --no-pictures").out, Not(HasSubstr("cells of 12.5 um")));
}

TEST(LookCommand, JsonIsOneObject) {
  const Bench bench;
  const Done done = bench.run("look small.toml --quick --json");
  ASSERT_EQ(done.code, 0) << done.err;
  EXPECT_EQ(done.out.front(), '{');
  EXPECT_THAT(done.out, AllOf(HasSubstr("\"contrast\": {\"diffuse\": "), HasSubstr("\"cautions\": ["), Not(HasSubstr("nan"))));
  EXPECT_FALSE(bench.has("small.round.png"));
}

TEST(LookCommand, RefusesWrongWords) {
  const Bench bench;
  const Done by = bench.run("look small.toml --art a.png --by crosses");
  EXPECT_EQ(by.code, 3);
  EXPECT_THAT(by.err, AllOf(HasSubstr("crosses"), HasSubstr("blue_noise")));
  const Done turn = bench.run("look small.toml --turn \"5 mm\"");  // before the work
  EXPECT_EQ(turn.code, 3);
  EXPECT_EQ(turn.out, "");
  EXPECT_EQ(bench.run("look nothing.toml").code, 4);
  EXPECT_EQ(bench.run("look small.toml --threads -1").code, 2);
  const Done folder = bench.run("look small.toml --quick --folder no/such/folder");
  EXPECT_EQ(folder.code, 4);
  EXPECT_EQ(folder.out, "");
}

}  // namespace
}  // namespace circumfluence
