// Truth: the program's own promises in docs/set_up.md: what `sheet` prints, the file it leaves, its exit
// codes.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

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

struct Bench : mark::SmallJob {
  mark::TestFolder logs;
  Bench() { std::ofstream(folder.file("small.toml")) << mark::kSmallJob; }
  Done sheet(const std::string& options) const {
    return Shell{folder, logs}.run("sheet small.toml " + options);
  }
};

TEST(SheetCommand, WritesThePageAndPrintsTheText) {
  const Bench bench;
  const Done done = bench.sheet("");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.err, IsEmpty());
  EXPECT_THAT(done.out, AllOf(HasSubstr("Trial on a card tube"), HasSubstr("In this order"),
                              HasSubstr("small.sheet.html")));
  EXPECT_THAT(content(bench.folder.file("small.sheet.html")),
              AllOf(HasSubstr("<!DOCTYPE html>"), HasSubstr("Set-up sheet: small")));
}

TEST(SheetCommand, TextAloneAndJson) {
  const Bench bench;
  EXPECT_THAT(bench.sheet("--text").out, Not(HasSubstr(".sheet.html")));
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
  EXPECT_THAT(bench.sheet("--json").out, testing::StartsWith("{\"power\": 7.5"));
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml", "small.sheet.html"));
}

TEST(SheetCommand, TheTubesWallIsAskedFor) {
  const Bench bench;
  EXPECT_THAT(bench.sheet("--text --tube-wall '2 mm'").out, HasSubstr("card, 60 mm across, wall 2 mm"));
  const Done none = bench.sheet("--tube-wall '0 mm'");
  EXPECT_EQ(none.code, 3);
  EXPECT_THAT(none.err, HasSubstr("--tube-wall"));
}

TEST(SheetCommand, WhatGoesWrong) {
  const Bench bench;
  EXPECT_EQ(bench.sheet("--folder /nowhere").code, 4);
  EXPECT_EQ(bench.sheet("--sideways").code, 2);
  std::ofstream(bench.folder.file("small.toml")) << "[laser]\n";
  EXPECT_EQ(bench.sheet("").code, 3);
}

}  // namespace
}  // namespace circumfluence
