// Truth: the program's own promises in docs/program.md: what it prints, the files it leaves, its exit codes.
#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <sstream>
#include <thread>

#include "mark/small_job.h"
#include "program/run.h"

namespace circumfluence {
namespace {

using mark::SmallJob;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::UnorderedElementsAre;

// Starts the program with its output in two files of the folder.
pid_t start(const mark::TestFolder& logs, std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), CIRCUMFLUENCE_PROGRAM);
  const pid_t child = ::fork();
  if (child != 0) return child;
  const auto redirect = [&](const char* name, int descriptor) {
    ::dup2(::open(logs.file(name).c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600), descriptor);
  };
  redirect("out", 1);
  redirect("err", 2);
  std::vector<char*> raw;
  for (std::string& a : arguments) raw.push_back(a.data());
  raw.push_back(nullptr);
  ::execv(raw[0], raw.data());
  ::_exit(127);
}

Done finish(const mark::TestFolder& logs, pid_t child) {
  int status = 0;
  ::waitpid(child, &status, 0);
  return done(status, logs);
}

Done run(const std::vector<std::string>& arguments) {
  const mark::TestFolder logs;
  return finish(logs, start(logs, arguments));
}

// A job file beside its picture, with some of its text replaced.
struct Bench : SmallJob {
  std::string path = folder.file("small.toml");
  std::string text{mark::kSmallJob};
  Bench() { change("", ""); }
  Bench(const char* from, const char* to) { change(from, to); }
  Bench& change(std::string_view from, std::string_view to) {
    text.replace(text.find(from), from.size(), to);
    std::ofstream(path) << text;
    return *this;
  }
  Done predicted(std::vector<std::string> more = {}) const {
    more.insert(more.begin(), {"predict", path, "--folder", folder.path.string()});
    return run(more);
  }
};

TEST(Program, HelpAndVersion) {
  const Done help = run({"--help"});
  EXPECT_EQ(help.code, 0);
  EXPECT_THAT(help.out, AllOf(HasSubstr("predict"), HasSubstr("check"), HasSubstr("materials"),
                              HasSubstr("formats"), HasSubstr("Exit codes")));
  EXPECT_THAT(run({"predict", "--help"}).out,
              AllOf(HasSubstr("--folder"), HasSubstr("--json"), HasSubstr("--threads")));
  const Done version = run({"--version"});
  EXPECT_EQ(version.code, 0);
  EXPECT_THAT(version.out, testing::MatchesRegex("circumfluence [0-9]+[.][0-9]+[.][0-9]+\n"));
}

TEST(Program, WrongUsage) {
  EXPECT_EQ(run({}).code, 2);
  EXPECT_EQ(run({"burn"}).code, 2);
  EXPECT_EQ(run({"predict"}).code, 2);
  EXPECT_EQ(run({"predict", "job.toml", "--threads", "-1"}).code, 2);
  EXPECT_EQ(run({"formats", "png"}).code, 2);
}

TEST(Program, PredictWritesRecordAndPictures) {
  const Bench bench;
  const Done done = bench.predicted();
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("verdict    marks"), HasSubstr("small.mark.h5"),
                              HasSubstr("caution    Class 4")));
  EXPECT_THAT(done.err, IsEmpty());  // no bar in a pipe
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml", "small.mark.h5",
                                                         "small.outcome.png", "small.view.png"));
  EXPECT_EQ(mark::MarkFile(bench.folder.file("small.mark.h5")).header().axial.size(), 230u);
  EXPECT_EQ(artwork::read_image(bench.folder.file("small.view.png")).width > 0, true);
}

TEST(Program, PredictWritesOnlyWhatIsAskedFor) {
  const Bench bench;
  EXPECT_EQ(bench.predicted({"--no-file", "--no-pictures", "--threads", "1"}).code, 0);
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
  EXPECT_EQ(bench.predicted({"--no-pictures", "--compact"}).code, 0);
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml", "small.mark.h5"));
}

TEST(Program, TwoRunsGiveTheSameFile) {
  // The record says when it was made, to the second: both runs are given the same time, whenever they happen.
  ::setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
  const Bench bench;
  ASSERT_EQ(bench.predicted({"--threads", "1"}).code, 0);
  const std::string first = content(bench.folder.file("small.mark.h5"));
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));
  ASSERT_EQ(bench.predicted({"--threads", "2"}).code, 0);
  ::unsetenv("SOURCE_DATE_EPOCH");
  EXPECT_EQ(content(bench.folder.file("small.mark.h5")) == first, true);
}

TEST(Program, JsonParses) {
  const Bench bench;
  const Done done = bench.predicted({"--json", "--no-file", "--no-pictures"});
  ASSERT_EQ(done.code, 0);
  std::ofstream(bench.folder.file("verdict.json")) << done.out;
  const std::string check =
      "/usr/bin/python3 -c 'import json, sys; v = json.load(open(sys.argv[1])); "
      "assert v[\"verdict\"] == \"marks\" and 0 < v[\"least_factor\"] < 1 and v[\"lines\"] == 30 "
      "and abs(sum(v[\"wanted\"].values()) - 1) < 1e-6 and v[\"cautions\"]' " +
      bench.folder.file("verdict.json");
  EXPECT_EQ(std::system(check.c_str()), 0);
}

TEST(Program, Check) {
  const Bench bench;
  const Done done = run({"check", bench.path});
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("4 mm along the axis, 3 mm around"), HasSubstr("7.5 W set"),
                              HasSubstr("30 lines a pass"), HasSubstr("180 J/cm^2"),
                              HasSubstr("180 rows around x 230 columns")));
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(Program, MaterialsAndFormats) {
  const Done list = run({"materials"});
  EXPECT_EQ(list.code, 0);
  EXPECT_THAT(list.out,
              AllOf(HasSubstr("al_6061"), HasSubstr("polyester_powder_black"), HasSubstr("450 nm")));
  EXPECT_THAT(run({"materials", "aisi_304"}).out,
              AllOf(HasSubstr("[material.aisi_304]"), HasSubstr("source")));
  const Done unknown = run({"materials", "aisi_305"});
  EXPECT_EQ(unknown.code, 3);
  EXPECT_THAT(unknown.err, HasSubstr("aisi_304"));
  EXPECT_THAT(run({"formats", "job"}).out, HasSubstr("coat_thickness"));
  EXPECT_THAT(run({"formats", "mark"}).out, HasSubstr("peak_temperature"));
}

TEST(Program, MistakesInTheJob) {
  const Bench unit("\"75 %\"", "\"7.5\"");
  Done done = unit.predicted();
  EXPECT_EQ(done.code, 3);
  EXPECT_THAT(done.err, AllOf(HasSubstr("error: "), HasSubstr("small.toml:29:9"), HasSubstr("scan.power")));
  EXPECT_THAT(done.out, IsEmpty());
  const Bench material("al_6061", "al_6016");
  done = material.predicted();
  EXPECT_EQ(done.code, 3);
  EXPECT_THAT(done.err, AllOf(HasSubstr("small.toml:"), HasSubstr("workpiece.base"),
                              HasSubstr("Did you mean \"al_6061\"?")));
  EXPECT_EQ(Bench("[scan]", "[scna]").predicted().code, 3);
}

TEST(Program, FilesThatCannotBeRead) {
  EXPECT_EQ(run({"predict", "/nowhere/job.toml"}).code, 4);
  const Bench missing("art.png", "lost.png");
  Done done = missing.predicted();
  EXPECT_EQ(done.code, 4);
  EXPECT_THAT(done.err, HasSubstr("lost.png"));
  const Bench broken;
  std::ofstream(broken.folder.file("art.png"), std::ios::trunc) << "no picture at all";
  done = broken.predicted();
  EXPECT_EQ(done.code, 4);
  EXPECT_THAT(done.err, HasSubstr("art.png"));
  EXPECT_THAT(broken.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(Program, FoldersThatCannotBeWritten) {
  const Bench bench;
  for (const char* folder : {"/nowhere/at/all", "/proc"}) {
    const Done done = run({"predict", bench.path, "--folder", folder});
    EXPECT_EQ(done.code, 4) << folder;
    EXPECT_THAT(done.err, AllOf(HasSubstr(folder), HasSubstr("cannot write")));
    EXPECT_EQ(run({"predict", bench.path, "--no-file", "--folder", folder}).code, 4) << folder;
  }
}

TEST(Program, FiguresThatNobodyHas) {
  const Bench light("450 nm", "808 nm");
  Done done = light.predicted();
  EXPECT_EQ(done.code, 5);
  EXPECT_THAT(done.err, AllOf(HasSubstr("no optics at 808 nm"), HasSubstr("on record: 450 nm")));
  Bench cork("450 nm", "1064 nm");
  cork.change("al_6061", "cork")
      .change("coat = \"polyester_powder_black\"\ncoat_thickness = \"60 um\"\n", "");
  done = cork.predicted();
  EXPECT_EQ(done.code, 5);
  EXPECT_THAT(done.err, AllOf(HasSubstr("material cork"), HasSubstr("no optics at 1064 nm"),
                              HasSubstr("450 nm, 10600 nm")));
  Bench anodic("polyester_powder_black", "anodic_layer_dyed_black");  // which nobody has on cardboard
  anodic.change("al_6061", "cardboard");
  done = anodic.predicted();
  EXPECT_EQ(done.code, 5);
  EXPECT_THAT(done.err, AllOf(HasSubstr("anodic_layer_dyed_black has no removal_"), HasSubstr("needed for")));
  EXPECT_THAT(anodic.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(Program, InterruptStopsAndLeavesNothing) {
  const Bench bench("cell = \"20 um\"", "cell = \"1 um\"");  // 17 million cells
  const mark::TestFolder logs;
  int worked = 0, interrupted = 0;
  for (const int wait : {5, 40, 60, 80, 100, 120, 150, 250, 400}) {
    const pid_t child = start(
        logs, {"predict", bench.path, "--folder", bench.folder.path.string(), "--no-pictures", "--compact"});
    std::this_thread::sleep_for(std::chrono::milliseconds(wait));
    worked += bench.folder.names().size() == 3;
    ::kill(child, SIGINT);
    const Done done = finish(logs, child);
    if (done.code == -1) continue;  // before the program had taken the signal over: the system ended it
    if (done.code == 0) break;      // a fast machine
    ++interrupted;
    EXPECT_EQ(done.code, 130) << wait;
    EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml")) << wait;
  }
  EXPECT_GT(worked, 0) << "no run was caught while its file was under way";
  EXPECT_GT(interrupted, 0);
}

}  // namespace
}  // namespace circumfluence
