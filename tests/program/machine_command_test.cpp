// Truth: closed forms: N = 200 16 2 steps a turn, circumference pi d, art scale asked / got, times of ramps
// and lines, binomial sums; and the program's promises in docs/program.md: what it prints, the files it
// leaves, its exit codes.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
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
using testing::StartsWith;
using testing::UnorderedElementsAre;

constexpr double kPi = 3.14159265358979323846;
constexpr double kSteps = 200 * 16 * 2;
constexpr double kSpeed = 2500.0 / 60;                            // [mm/s]
constexpr double kRamp = kSpeed / 1000;                           // [s] to full speed
constexpr double kLine = 10 / kSpeed + kRamp, kTurnRound = 0.02;  // [s] run-up 3 mm, art 4 mm; 2 sqrt(h / a)

// The first number after a phrase.
double after(const std::string& text, const std::string& phrase) {
  const size_t at = text.find(phrase);
  if (at == std::string::npos) return std::nan("");
  const size_t digit = text.find_first_of("-0123456789", at + phrase.size());
  return digit == std::string::npos ? std::nan("") : std::strtod(text.c_str() + digit, nullptr);
}

constexpr const char* kRotary = "motor_steps = 200\nmicrosteps = 16\nreduction = 2\n";
constexpr const char* kRollers = "roller_diameter = \"30 mm\"\n";

// The small job in a file beside its picture, and the program run on it; logs go elsewhere.
struct Bench : mark::SmallJob {
  mark::TestFolder logs;
  std::string text{mark::kSmallJob};
  Bench() { save(); }
  void save() const { std::ofstream(folder.file("small.toml")) << text; }
  Bench& change(std::string_view from, std::string_view to) {
    text.replace(text.find(from), from.size(), to);
    save();
    return *this;
  }
  Bench& rotary(const char* drive, const std::string& more) {
    return change("[artwork]", std::string("[rotary]\ndrive = \"") + drive + "\"\n" + more + "\n[artwork]");
  }
  Done run(const std::string& arguments) const {
    return Shell{folder, logs}.run(arguments);
  }
  void refuses(int code, const std::string& arguments, const std::string& message) const {
    const Done done = run(arguments);
    EXPECT_EQ(done.code, code) << arguments;
    EXPECT_THAT(code == 2 ? done.err + done.out : done.err, HasSubstr(message)) << arguments;
    EXPECT_THAT(done.err, Not(HasSubstr("nan"))) << arguments;
  }
};

TEST(RotaryCommand, StepsOfAChuckAndOfRollers) {
  Bench chuck, rollers;
  chuck.rotary("chuck", kRotary);
  rollers.rotary("rollers", std::string(kRotary) + kRollers + "roller_gap = \"20 mm\"\n");
  const Done angle = chuck.run("rotary small.toml"), surface = rollers.run("rotary small.toml");
  EXPECT_EQ(angle.code, 0) << angle.err;
  EXPECT_NEAR(after(angle.out, "diameter "), 60, 1e-9);
  EXPECT_NEAR(after(angle.out, "mm: "), 60 * kPi, 1e-3);
  EXPECT_EQ(after(angle.out, "steps "), kSteps);
  EXPECT_NEAR(after(angle.out, "of the output; "), kSteps / (60 * kPi), 1e-6);
  EXPECT_NEAR(after(surface.out, "of the output; "), kSteps / (30 * kPi), 1e-6);
  EXPECT_NEAR(after(surface.out, "travel "), 30 * kPi, 1e-3);
  EXPECT_NEAR(after(surface.out, "axis "), std::sqrt(45. * 45 - 25 * 25), 5e-3);
  EXPECT_THAT(surface.out, AllOf(HasSubstr("the rollers', level\n"), HasSubstr("\ncaution    Class 4")));
}

TEST(RotaryCommand, AFullTurnByStepsThatAreSetWrong) {
  Bench bench;
  bench.rotary("chuck", std::string(kRotary) + "set_steps = \"30 1/mm\"\nflat_steps = \"80 1/mm\"\n");
  const Done done = bench.run("rotary small.toml");
  EXPECT_NEAR(after(done.out, "driven     diameter "), kSteps / 30 / kPi, 1e-3);
  EXPECT_NEAR(after(done.out, "of the output; "), kSteps / (60 * kPi), 1e-6);  // what it should be
  EXPECT_NEAR(after(done.out, "full turn  of "), 60 * kPi, 1e-3);
  EXPECT_NEAR(after(done.out, "steps as set "), 60 * kPi * (1 - 60 * kPi * 30 / kSteps), 0.05);
  EXPECT_THAT(done.out, AllOf(HasSubstr("mm open"), HasSubstr("put back   80 1/mm")));
  EXPECT_NEAR(after(done.out, "art times "), kSteps / 30 / kPi / 60, 1e-4);
}

TEST(RotaryCommand, SlipAndBacklashOpenTheSeam) {
  Bench bench;
  bench.rotary("rollers", std::string(kRotary) + kRollers +
                              "slip = \"1 %\"\nslip_spread = \"0.5 %\"\nbacklash = \"0.1 mm\"\n");
  const std::string out = bench.run("rotary small.toml").out;
  EXPECT_NEAR(after(out, "driven     diameter "), 60 / 0.99, 1e-3);
  EXPECT_NEAR(after(out, "; slip "), 0.6 * kPi, 0.01);
  EXPECT_NEAR(after(out, "188.496 mm: "), 0.6 * kPi + 0.1, 0.02);
  EXPECT_NEAR(after(out, "open, give or take "), 0.3 * kPi, 0.01);
}

TEST(RotaryCommand, Trials) {
  Bench bench;
  bench.rotary("rollers", std::string(kRotary) + kRollers + "set_steps = \"67.9 1/mm\"\n");
  const std::string out =
      bench
          .run(
              "rotary small.toml --asked '100 mm' --got '97.4 mm' --seam-shift '1.2 mm' --turns 2 "
              "--two-way-shift '0.1 mm' '0.12 mm' --round '189 mm' --tape '0.1 mm' --askew '2 deg' "
              "--across '60.1 mm' '59.9 mm'")
          .out;
  EXPECT_NEAR(after(out, "corrected  set "), 67.9 * 100 / 97.4, 1e-3);
  EXPECT_NEAR(after(out, "art around by "), 100 / 97.4, 5e-5);
  EXPECT_NEAR(after(out, "be changed; "), 100 * 0.2 / 97.4, 0.005);
  const double right = kSteps / (30 * kPi);  // steps/mm: those that are set leave the turn open as well
  EXPECT_NEAR(after(out, "slip       "), 100 * (1 - (1 - 1.2 / (2 * 60 * kPi)) * right / 67.9), 1e-5);
  EXPECT_NEAR(after(out, "backlash   "), 0.11, 1e-6);
  EXPECT_NEAR(after(out, "diameter   "), 189 * std::cos(2 * kPi / 180) / kPi - 0.1, 1e-3);
  EXPECT_NEAR(after(out.substr(out.find("from round it")), "diameter   "), 60, 1e-6);
}

TEST(RotaryCommand, WithoutASectionTheScaleIsSaid) {
  const Bench bench;
  const Done done = bench.run("rotary small.toml --asked '100 mm' --got '97.4 mm'");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("steps      not known (rotary.motor_steps"),
                              HasSubstr("set 1.0267 times"), HasSubstr("art around by 1.0267")));
}

TEST(RotaryCommand, SaysNo) {
  const Bench bench;
  const std::pair<const char*, const char*> wrong[] = {
      {"--asked '100 mm'", "--asked and --got go together"},
      {"--got '100 mm'", "--asked and --got go together"},
      {"--asked 100 --got '97 mm'", "--asked = \"100\" (a number without a unit; expected a length"},
      {"--asked '100 mm' --got '0 mm'", "--got = \"0 mm\" (expected above 0 mm)"},
      {"--round '189 s'", "--round = \"189 s\" (a time; expected a length"},
      {"--across '-3 mm'", "--across = \"-3 mm\" (expected above 0 mm)"},
      {"--reading '-1 mm'", "--reading = \"-1 mm\" (expected 0 mm or more)"}};
  for (const auto& [options, message] : wrong)
    bench.refuses(3, std::string("rotary small.toml ") + options, message);
  bench.refuses(2, "rotary small.toml --decimals 10", "--decimals");
  bench.refuses(2, "rotary small.toml --turns 3", "--seam-shift");
  bench.refuses(2, "rotary small.toml --tape '1 mm'", "--round");
  bench.refuses(5, "rotary small.toml --round '1 mm' --tape '20 mm'", "diameter inside the strip");
  bench.refuses(4, "rotary lost.toml", "lost.toml: ");
}

TEST(RotaryCommand, PartsThatDoNotLieOrTurn) {
  Bench wide, cone, standing, mixed;
  wide.rotary("rollers", std::string(kRollers) + "roller_gap = \"60 mm\"\n")
      .refuses(3, "rotary small.toml", "rotary.roller_gap = 60 mm (wider than the part, which falls through");
  cone.change("straight", "tapered")
      .change("diameter = \"60 mm\"", "diameter = \"60 mm\"\nend_diameter = \"40 mm\"");
  cone.rotary("rollers", kRollers).refuses(3, "rotary small.toml", "rotary.contact is missing");
  standing.change("turning", "standing")
      .refuses(3, "rotary small.toml", "small.toml:20:8: mount.hold = \"standing\" (nothing turns the part");
  mixed.rotary("chuck", "slip = \"1 %\"\n")
      .refuses(3, "rotary small.toml", "rotary.slip = 1 % (a chuck has none");
}

TEST(ArtCommand, FeedsATaperSoThatItComesOutTrue) {
  Bench bench;
  bench.change("straight", "tapered")
      .change("diameter = \"60 mm\"", "diameter = \"60 mm\"\nend_diameter = \"40 mm\"");
  bench.change("hold = \"turning\"", "hold = \"turning\"\ndrive_diameter = \"60 mm\"");
  const Done done = bench.run("art small.toml --no-pictures");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(bench.folder.names(),
              UnorderedElementsAre("art.png", "small.toml", "small.fed.png", "small.fed.toml"));
  const std::string fed = content(bench.folder.file("small.fed.toml"));
  const double pixel = 80. / 3e3;  // [mm] a third of the spot, which a step of 0.1 mm is not below
  const double along = 4 / std::sqrt(1 + 0.25 * 0.25), narrow = 25 - 0.25 * along / 2;
  EXPECT_NEAR(after(fed, "size_axial"), along, 3 * pixel);
  EXPECT_NEAR(after(fed, "size_around"), 3 * 30 / narrow, 3 * pixel);
  EXPECT_EQ(bench.run("check small.fed.toml").code, 0);
}

TEST(ArtCommand, SaysNo) {
  Bench bench, point;
  bench.refuses(2, "art small.toml --truth flat", "--truth");
  bench.refuses(3, "art small.toml --pixel 0.05", "--pixel = \"0.05\" (a number without a unit");
  bench.refuses(4, "art small.toml --no-pictures --folder /nowhere", "/nowhere");
  bench.change("\"4 mm\"\naxial", "\"41 mm\"\naxial")
      .refuses(3, "art small.toml", "small.toml:25:9: artwork.axial = 20 mm (art of 41 mm reaches");
  point.change("straight", "tapered")
      .change("diameter = \"60 mm\"", "diameter = \"60 mm\"\nend_diameter = \"0.1 mm\"")
      .change("wall = \"0.8 mm\"", "wall = \"0.04 mm\"");
  point.change("size_axial = \"4 mm\"\naxial = \"20 mm\"", "size_axial = \"4 mm\"\naxial = \"38 mm\"")
      .refuses(3, "art small.toml", "artwork.size_around = 3 mm (more than one turn at 39.");
  EXPECT_THAT(point.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(TimeCommand, AddsUpLinesAndTurnRounds) {
  const Bench bench;
  const Done done = bench.run("time small.toml --after '5 s'");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_NEAR(after(done.out, "total "), 30 * kLine + 29 * kTurnRound, 0.005);
  EXPECT_NEAR(after(done.out, "\nline "), kLine, 5e-4);
  EXPECT_NEAR(after(done.out, "between "), kTurnRound, 1e-5);
  const double into = 5 - 16 * (kLine + kTurnRound);
  EXPECT_THAT(done.out, HasSubstr("pass 1, line 17 of 30"));
  EXPECT_NEAR(after(done.out, "of 30, "), 18 - 3 + (into - kRamp / 2) * kSpeed, 1e-3);
  EXPECT_THAT(bench.run("time small.toml --after '1 h'").out, HasSubstr("all is done"));
}

TEST(TimeCommand, EveryLineAsATable) {
  const Bench bench;
  const std::string out = bench.run("time small.toml --lines").out;
  EXPECT_THAT(out, StartsWith("pass,line,cross_mm,start_s,burns_from_s,burns_to_s,left_s\n1,1,-1.45,0,"));
  EXPECT_EQ(std::count(out.begin(), out.end(), '\n'), 31);
  EXPECT_NEAR(after(out, "\n1,2,-1.35,"), kLine + kTurnRound, 1e-5);
  EXPECT_THAT(out, testing::EndsWith(",0\n"));
  EXPECT_THAT(bench.run("time small.toml --lines").err, IsEmpty());
}

TEST(TimeCommand, SaysNo) {
  const Bench bench;
  bench.refuses(3, "time small.toml --after 20",
                "--after = \"20\" (a number without a unit; expected a time");
  bench.refuses(3, "time small.toml --after '-1 s'", "--after = \"-1 s\" (expected 0 s or more)");
  bench.refuses(2, "time small.toml --after '1 s' --lines", "excludes");
}

TEST(ResumeCommand, TheRestIsAJobThatTakesWhatWasLeft) {
  const Bench bench;
  const Done done = bench.run("resume small.toml --after '5 s'");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(StartsWith("again      from line 17 of 30, 0.15 mm across\n"),
                              HasSubstr("burnt twice"), HasSubstr("the rest   ./small.rest.toml")));
  EXPECT_NEAR(after(done.out, "stopped    at "), 15 + (5 - 16 * (kLine + kTurnRound) - kRamp / 2) * kSpeed,
              1e-3);
  EXPECT_THAT(content(bench.folder.file("small.rest.toml")), HasSubstr("\nfirst_line = 16\n"));
  EXPECT_NEAR(after(bench.run("time small.rest.toml").out, "total "), 14 * kLine + 13 * kTurnRound, 0.005);
  EXPECT_THAT(bench.run("resume small.toml --line 17").out, StartsWith("again      from line 17 of 30"));
  EXPECT_THAT(bench.run("resume small.toml --across '0.16 mm'").out,
              StartsWith("again      from line 17 of 30"));
  EXPECT_THAT(bench.run("resume small.rest.toml --line 18").out, StartsWith("again      from line 18 of 30"));
  bench.refuses(3, "resume small.rest.toml --line 16", "--line = 16 (this job burns 17 to 30)");
}

TEST(ResumeCommand, TheRestFindsItsPictureFromAnotherFolder) {
  const Bench bench;
  const mark::TestFolder other;
  const Done done = bench.run("resume small.toml --line 3 --folder '" + other.path.string() + "'");
  EXPECT_EQ(done.code, 0) << done.err;
  const Done checked = bench.run("check '" + other.file("small.rest.toml") + "'");
  EXPECT_EQ(checked.code, 0) << checked.err;
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

TEST(ResumeCommand, OfSeveralPassesTheRestIsTwoJobs) {
  Bench bench;
  bench.change("two_way = true", "two_way = true\npasses = 3");
  bench.refuses(3, "resume small.toml --line 4", "--pass is missing (every line is burnt 3 times");
  bench.refuses(3, "resume small.toml --line 4 --pass 4", "--pass = 4 (this job burns 1 to 3)");
  const Done done = bench.run("resume small.toml --line 4 --pass 2");
  EXPECT_THAT(done.out, AllOf(StartsWith("again      from line 4 of 30 of pass 2 of 3"),
                              HasSubstr("small.rest2.toml")));
  EXPECT_THAT(bench.run("time small.rest.toml").out, HasSubstr("for 27 lines"));
  EXPECT_THAT(bench.run("time small.rest2.toml").out, HasSubstr("for 30 lines"));
}

TEST(ResumeCommand, SaysNo) {
  Bench bench, woven;
  const std::pair<const char*, const char*> wrong[] = {
      {"", "nothing says where it stopped (expected one of --after, --line, --across)"},
      {"--after '1 s' --line 3", "more than one option says where it stopped"},
      {"--after 5", "--after = \"5\" (a number without a unit"},
      {"--after '-5 s'", "--after = \"-5 s\" (expected 0 s or more)"},
      {"--line 31", "--line = 31 (this job burns 1 to 30)"},
      {"--across '9 mm'", "--across = \"9 mm\" (no line lies there; this job burns -1.45 mm to 1.45 mm)"},
      {"--after '1 s' --along '3 mm'", "--along and --pass go with --line or --across"},
      {"--byte 3", "--byte is of a tool path"}};
  for (const auto& [options, message] : wrong)
    bench.refuses(3, std::string("resume small.toml ") + options, message);
  bench.refuses(2, "resume small.toml --line 0", "--line");
  bench.refuses(2, "resume small.toml --line 3 --doubt '1 s'", "--after");
  bench.refuses(5, "resume small.toml --after '1 h'", "nothing is left to burn");
  bench.refuses(4, "resume small.toml --line 3 --folder /nowhere", "/nowhere");
  woven.change("two_way = true", "two_way = true\ninterleave = 2")
      .refuses(5, "resume small.toml --line 3", "interleave");
  EXPECT_THAT(bench.folder.names(), UnorderedElementsAre("art.png", "small.toml"));
}

// P(binomial(tries, p) >= parts), term by term.
double enough(int parts, int tries, double p) {
  double sum = 0;
  for (int k = parts; k <= tries; ++k)
    sum += std::exp(std::lgamma(tries + 1) - std::lgamma(k + 1) - std::lgamma(tries - k + 1) +
                    k * std::log(p) + (tries - k) * std::log1p(-p));
  return sum;
}

TEST(BatchCommand, BlanksTimeAndEnergy) {
  const Bench bench;
  int blanks = 20;
  while (enough(20, blanks, 0.9) < 0.95) ++blanks;
  const Done done = bench.run("batch small.toml --parts 20 --good '90 %' --handling '2 min' --mains '120 W'");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_EQ(after(done.out, "blanks "), blanks);
  EXPECT_EQ(after(done.out, "20 good: "), blanks - 20);
  EXPECT_NEAR(after(done.out, "tries "), 20 / 0.9, 0.005);
  EXPECT_NEAR(after(done.out, "beam on; "), 30 * 4 / kSpeed * 7.5, 0.01);
  EXPECT_NEAR(after(done.out, "mains "), 20 / 0.9 * (30 * kLine + 29 * kTurnRound + 120) * 120 / 3.6e6, 1e-4);
  EXPECT_THAT(
      bench.run("batch small.toml --parts 20 --good '90 %' --json").out,
      HasSubstr("\"blanks\": " + std::to_string(blanks) + ", \"spares\": " + std::to_string(blanks - 20)));
  EXPECT_EQ(after(bench.run("batch small.toml --parts 7 --good '100 %'").out, "blanks "), 7);
  EXPECT_THAT(bench.run("batch small.toml --parts 2").out, HasSubstr("by all that is stated as unsure"));
}

TEST(BatchCommand, SaysNo) {
  const Bench bench;
  const std::pair<const char*, const char*> wrong[] = {
      {"--good 0.9", "--good = \"0.9\" (a number without a unit; expected a ratio"},
      {"--good '0 %'", "--good = \"0 %\" (expected above 0 %"},
      {"--good '120 %'", "--good = \"120 %\" (expected above 0 %"},
      {"--good '90 %' --confidence '100 %'", "--confidence = \"100 %\" (expected above 0 % and below 100 %)"},
      {"--good '90 %' --handling '-1 s'", "--handling = \"-1 s\" (expected 0 s or more)"},
      {"--good '90 %' --mains '1 kJ'", "--mains = \"1 kJ\" (an energy; expected a power"}};
  for (const auto& [options, message] : wrong)
    bench.refuses(3, std::string("batch small.toml --parts 20 ") + options, message);
  bench.refuses(2, "batch small.toml", "--parts");
  bench.refuses(2, "batch small.toml --parts 0", "--parts");
  bench.refuses(5, "batch small.toml --parts 20 --good '1e-9 %'", "chance_good");
}

// Out by a rapid, 30 mm around, 2 mm aside, 30 mm back: from rest to rest each.
constexpr const char* kPath = "G21 G90 G94\nM4 S0\nG0 X18\nG1 F2500 S750 Y30\nG0 X20\nG1 Y0\nM5\nT1\nM2\n";
constexpr double kOut = 18. / 100 + 0.1, kAround = 30 / kSpeed + kRamp, kAside = 2 * 0.04472135955;  // [s]

struct PathBench : Bench {
  explicit PathBench(const char* path = kPath) {
    std::ofstream(folder.file("ring.nc")) << path;
    const size_t from = text.find("[artwork]"), to = text.find("[grid]");
    text.replace(from, to - from,
                 "[machine]\naxial_speed = \"6000 mm/min\"\naround_speed = \"6000 mm/min\"\n"
                 "axial_acceleration = \"1000 mm/s^2\"\naround_acceleration = \"1000 mm/s^2\"\n\n"
                 "[path]\nfile = \"ring.nc\"\naxial = \"0 mm\"\nfull_power_word = 1000\n\n");
    save();
  }
};

TEST(PathJob, ItsTimeItsPlacesAndItsLight) {
  const PathBench bench;
  const Done done = bench.run("time small.toml --after '0.5 s'");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_NEAR(after(done.out, "total "), kOut + 2 * kAround + kAside, 0.005);
  EXPECT_NEAR(after(done.out, "burning "), 2 * kAround, 0.005);
  EXPECT_NEAR(after(done.out, "mm/min; "), 60 / kSpeed * 7.5, 0.01);
  EXPECT_THAT(done.out, HasSubstr("line 4 of the file, 18 mm along, "));
  EXPECT_NEAR(after(done.out, "18 mm along, "), (0.5 - kOut - kRamp / 2) * kSpeed, 1e-3);
  const std::string batch = bench.run("batch small.toml --parts 4 --good '80 %'").out;
  EXPECT_NEAR(after(batch, "beam on; "), 60 / kSpeed * 7.5, 0.01);
  bench.refuses(3, "batch small.toml --parts 4", "--good is missing");
  bench.refuses(3, "time small.toml --lines", "--lines is of a job with lines of its own");
}

TEST(PathJob, CheckListsWhatIsReadPastAndWhatToLookAt) {
  const PathBench sound, faulty("G21 G90 G94\nM3 S750\nG1 F2500 X18 Y30\nG4 P0.5\nY50\n");
  const Done done = sound.run("check small.toml");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, AllOf(HasSubstr("T1"), HasSubstr("line 8")));
  const Done found = faulty.run("check small.toml");
  EXPECT_EQ(found.code, 0) << found.err;
  EXPECT_THAT(found.out, AllOf(HasSubstr("line 4"), HasSubstr("line 2")));  // it stands; it is left on
}

TEST(PathJob, IsPredicted) {
  const PathBench bench;
  const Done done = bench.run("predict small.toml --no-pictures");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, StartsWith("verdict    "));
}

TEST(PathJob, IsTakenUpAgain) {
  const PathBench bench;
  const Done done = bench.run("resume small.toml --after '0.5 s'");
  EXPECT_EQ(done.code, 0) << done.err;
  EXPECT_THAT(done.out, StartsWith("again      from line 4 of the file\n"));
  EXPECT_THAT(bench.folder.names(),
              UnorderedElementsAre("art.png", "small.toml", "ring.nc", "small.rest.nc", "small.rest.toml"));
  const Done rest = bench.run("time small.rest.toml");
  EXPECT_EQ(rest.code, 0) << rest.err;
  EXPECT_NEAR(after(rest.out, "burning "), 2 * kAround, 0.005);
  EXPECT_THAT(bench.run("resume small.toml --byte 40").out, StartsWith("again      from line "));
  bench.refuses(5, "resume small.toml --byte 4000", "the file has 9 lines");
  bench.refuses(5, "resume small.toml --line 12", "the file has 9 lines");
  bench.refuses(3, "resume small.toml",
                "nothing says where it stopped (expected one of --after, --line, --byte)");
  bench.refuses(3, "resume small.toml --across '1 mm'", "of a job with lines of its own");
}

TEST(PathJob, SaysWhereAPathIsWrong) {
  const PathBench unknown("G21 G90 G94\nM3 S750\nG1 F2500 X18 Q5\n"), dark("G21\nG1 F100 X3\n");
  PathBench lost;
  for (const char* command : {"check small.toml", "time small.toml", "predict small.toml"}) {
    unknown.refuses(3, command, "ring.nc:3:14: ");
    dark.refuses(3, command, "burns nothing");
  }
  lost.change("ring.nc", "lost.nc").refuses(4, "check small.toml", "lost.nc");
  lost.change("lost.nc", "ring.nc")
      .change("full_power_word = 1000\n", "")
      .refuses(3, "check small.toml", "full_power_word");
}

}  // namespace
}  // namespace circumfluence
