// Truth: the page's own promises (one file by itself, drawings to the scale that they state, JSON and markup
// that Python's parsers read), and the figures of set_up_test.cpp found again in words.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cstdlib>
#include <fstream>
#include <regex>

#include "mark/on_rollers.h"
#include "mark/set_up.h"
#include "quantity/unit.h"

namespace circumfluence::mark {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

struct Bench : Rollers {
  Bench() {
    job.rotary.set_steps = 100e3;
    face(motion::Toward::left, motion::Toward::right, motion::Toward::back);
  }
  Bench& face(motion::Toward mouth_faces, motion::Toward axial_feed, motion::Toward around_feed) {
    mark::face(*this, mouth_faces, axial_feed, around_feed);
    return *this;
  }
  SetUp sheet() const { return set_up(prepare(job)); }
  // Whether Python agrees, with the text in the file t.
  bool parsed(const std::string& text, const std::string& script) const {
    std::ofstream(folder.file("t")) << text;
    return std::system(
               ("cd '" + folder.path.string() + "' && /usr/bin/python3 -c '" + script + "'").c_str()) == 0;
  }
};

TEST(Sheet, SaysEveryFigureWithItsUnit) {
  const std::string text = sheet_text(Bench().sheet());
  for (const char* words :
       {"two rollers, 25 mm across; 20 mm free between them",
        "78.5398 mm of surface a turn of the rollers, 8000 steps",
        "101.859 steps/mm (exactly 101.859164 steps/mm)",
        "100 steps/mm: arcs come out 0.9817 times as long as drawn", "80 steps/mm for the flat bed",
        "axis of the part 58.06 mm above the bed", "which lies 88.06 mm above the bed",
        "lower edge 75 mm above the bed", "head up by 33.06 mm", "20 mm at least between head and part",
        "3 mm before and after each line", "on positive feed its top moves to the front",
        "lighter than the ground", "as a negative: invert the picture", "30 lines",
        "card, 60 mm across, wall 1 mm", "Class 4", "#######"})
    EXPECT_THAT(text, HasSubstr(words));
  EXPECT_THAT(text, AllOf(Not(HasSubstr("nan")), Not(HasSubstr("inf ")), Not(HasSubstr("not stated"))));
}

TEST(Sheet, AHeadThatStandsTooHighOrStrikesThePart) {
  Bench bench;
  bench.job.mount.head_height = 120e-3;
  EXPECT_THAT(sheet_text(bench.sheet()), HasSubstr("head down by 11.94 mm, or 11.94 mm under the part"));
  bench.job.workpiece.shape = workpiece::Shape::stepped;
  bench.job.workpiece.diameter = quantity::kUnset;
  bench.job.workpiece.profile = {{0.0, 60e-3}, {23e-3, 110e-3}};
  bench.job.rotary.set_steps = quantity::kUnset;
  bench.job.mount.focus_at = 20e-3;
  EXPECT_THAT(sheet_text(bench.sheet()), HasSubstr("the head strikes the part by 5 mm"));
}

TEST(Sheet, NamesTheKeysOfWhatIsNotStated) {
  const std::string text = sheet_text(set_up(prepare(SmallJob().job)));
  for (const char* words :
       {"not stated: rotary.motor_steps, microsteps, reduction", "not stated: rotary.axle_height",
        "not stated: laser.focus_distance", "not stated: mount.head_height", "not stated: rotary.flat_steps",
        "riser                cannot be said yet", "Not stated in the job"})
    EXPECT_THAT(text, HasSubstr(words));
  EXPECT_THAT(text, Not(HasSubstr("nan")));
}

TEST(Sheet, TheRowRunsPastThePart) {
  Bench bench;
  bench.with("artwork.axial", "2 mm");
  EXPECT_THAT(sheet_text(bench.sheet()), HasSubstr("3 mm past the base: the mount must leave room"));
  bench.with("artwork.axial", "38 mm");
  EXPECT_THAT(sheet_text(bench.sheet()), HasSubstr("3 mm past the mouth"));
}

TEST(Sheet, AToolPathHasNoLinesOfItsOwn) {
  Bench bench;
  std::ofstream(bench.folder.file("square.nc"))
      << "G21 G90\nM4 S0\nG0 X0 Y0\nG1 X4 S800 F600\nG1 Y3\nM5\nM2\n";
  bench.job.path.file = "square.nc";
  bench.job.path.axial = 18e-3, bench.job.path.full_power_word = 1000;
  bench.job.machine.axial_acceleration = bench.job.machine.around_acceleration = 1;
  bench.job.artwork = {};
  const mark::SetUp sheet = bench.sheet();
  EXPECT_NEAR(sheet.duration, 7e-3 / 10e-3, 0.1);
  EXPECT_THAT(sheet_text(sheet), AllOf(HasSubstr("square.nc"), HasSubstr("not worked out for a tool path"),
                                       HasSubstr("Run the path once"), Not(HasSubstr("beam starts")),
                                       HasSubstr("mostly 8 W (80 %) at 600 mm/min"),
                                       Not(HasSubstr("as a negative")), Not(HasSubstr("nan"))));
  EXPECT_THAT(sheet_html(sheet), Not(HasSubstr("nan")));
}

TEST(Sheet, SaysWhatTheMachineWouldDoBadlyOnAPath) {
  Bench bench;
  std::ofstream(bench.folder.file("lit.nc")) << "G21 G90\nM3 S800\nG1 X4 F600\nG0 X0\nG4 P0.2\nM5\nM2\n";
  bench.job.path.file = "lit.nc";
  bench.job.path.axial = 18e-3, bench.job.path.full_power_word = 1000;
  bench.job.machine.axial_acceleration = bench.job.machine.around_acceleration = 1;
  bench.job.artwork = {};
  const mark::SetUp sheet = bench.sheet();
  const auto says = AllOf(HasSubstr("Look at the path"), HasSubstr("leave the beam on during a rapid"),
                          HasSubstr("The beam is on while nothing moves, once (line 5)"),
                          HasSubstr("Try it on a spare part"));
  EXPECT_THAT(sheet_text(sheet), says);
  EXPECT_THAT(sheet_html(sheet), says);
  EXPECT_THAT(sheet_json(sheet), HasSubstr("\"looks\": [\"The words leave the beam on"));
  EXPECT_THAT(sheet_text(Bench().sheet()), Not(HasSubstr("Look at the path")));
}

// A cap of 40 mm on a body of 60 mm, which the rollers turn: 60 pi mm turn both once. Slip is seen where the line is.
TEST(Sheet, AFullTurnIsThatOfWhatTheRollersTouch) {
  Bench bench;
  bench.job.workpiece.shape = workpiece::Shape::stepped;
  bench.job.workpiece.diameter = quantity::kUnset;
  bench.job.workpiece.profile = {{0.0, 40e-3}, {30e-3, 60e-3}};
  bench.job.rotary.slip = 0.01;
  const mark::SetUp sheet = bench.sheet();
  EXPECT_NEAR(sheet.turning->here, 40e-3, 1e-12);
  EXPECT_NEAR(sheet.turning->jogged, 60e-3, 1e-12);
  EXPECT_THAT(sheet_text(sheet), HasSubstr("jog one full turn, 188.496 mm: it has to come back under the beam, but for "
                                           "1.257 mm that slip of 1 % leaves"));
  bench.job.rotary = {};  // a chuck of which nothing is known turns by the diameter that it is told
  bench.job.mount.drive_diameter = 50e-3;
  EXPECT_NEAR(bench.sheet().turning->jogged, 50e-3, 1e-12);
}

// 8000 steps a turn of a chuck; on rollers of 25 mm a part of 60 mm takes 2.4 turns of them.
TEST(Sheet, AnAxisInDegreesIsSetInStepsADegree) {
  Bench bench;
  std::ofstream(bench.folder.file("turn.nc")) << "G21 G90\nM4 S800\nG1 X4 A0 F600\nG1 A10 F600\nM5\nM2\n";
  bench.job.path.file = "turn.nc";
  bench.job.path.turn = motion::AxisWord::a;
  bench.job.path.axial = 18e-3, bench.job.path.full_power_word = 1000;
  bench.job.machine.axial_acceleration = bench.job.machine.around_acceleration = 1;
  bench.job.artwork = {};
  bench.job.rotary.set_steps = quantity::kUnset;
  EXPECT_THAT(sheet_text(bench.sheet()),
              AllOf(HasSubstr("53.33333 steps a degree"), HasSubstr("set 53.33333 a degree, and"),
                    HasSubstr("Jog 10 deg around"), HasSubstr("jog one full turn, 360 deg: it")));
  bench.job.rotary.drive = motion::Drive::chuck;
  bench.job.rotary.roller_diameter = bench.job.rotary.roller_gap = quantity::kUnset;
  EXPECT_THAT(sheet_text(bench.sheet()), HasSubstr("set 22.22222 a degree, and"));
}

TEST(Sheet, WhatChangesOnceTheStepsAreRight) {
  Bench bench;
  EXPECT_THAT(sheet_text(bench.sheet()),
              AllOf(HasSubstr("once set right       draw arcs 0.9817 times what stands above: put rotary.set_steps = "
                              "\"101.859 1/mm\" into the job"),
                    HasSubstr("set 101.859, and read it back. The stretch on this sheet is for 100: see there what")));
  bench.job.rotary.set_steps = 101.859e3;
  EXPECT_THAT(sheet_text(bench.sheet()), AllOf(Not(HasSubstr("once set right")), Not(HasSubstr("see there"))));
}

TEST(Sheet, ATaperOnRollersIsLevelledByTheRollers) {
  Bench bench;
  bench.tapered(50e-3);
  bench.job.rotary.contact = 20e-3;
  bench.job.rotary.set_steps = quantity::kUnset;
  const mark::SetUp sheet = bench.sheet();
  // Half its angle for the top, and what it tips by itself, the wide end up.
  const double raised = sheet.bands[0].level - sheet.turning->seat->tilt;
  EXPECT_GT(raised, 2 * sheet.bands[0].level);
  EXPECT_THAT(sheet_text(sheet), HasSubstr("level with the rollers below its mouth up by " +
                                           quantity::format(raised, "deg", 3)));
}

TEST(Sheet, ManyBandsAreCutShort) {
  Bench bench;
  bench.job.workpiece.shape = workpiece::Shape::stepped;
  bench.job.workpiece.diameter = quantity::kUnset;
  for (int i = 0; i < 40; ++i) bench.job.workpiece.profile.push_back({i * 1e-3, 60e-3 + (i % 2) * 1e-3});
  bench.with("artwork.size_axial", "20 mm").with("artwork.size_around", "3 mm");
  EXPECT_THAT(sheet_text(bench.sheet()), HasSubstr("and 14 more"));
}

TEST(Sheet, ThePageStandsByItself) {
  const Bench bench;
  const std::string page = sheet_html(bench.sheet());
  EXPECT_THAT(page, AllOf(HasSubstr("size: A4 portrait"), HasSubstr("Set-up sheet: small"),
                          HasSubstr("101.859 steps/mm")));
  EXPECT_THAT(page, AllOf(Not(HasSubstr("<script")), Not(HasSubstr("http")), Not(HasSubstr("src=")),
                          Not(HasSubstr("href")), Not(HasSubstr("url(")), Not(HasSubstr("nan"))));
  EXPECT_TRUE(bench.parsed(
      page,
      "import xml.etree.ElementTree as e; r = e.fromstring(open(\"t\").read().split(\"\\n\", 1)[1]); "
      "assert len(r.findall(\".//svg\")) == 3 and len(r.findall(\".//li\")) > 15"));
}

TEST(Sheet, NamesThatAreMarkupStayWords) {
  Bench bench;
  bench.job.name = "a<b>&c.toml";
  EXPECT_THAT(sheet_html(bench.sheet()), AllOf(HasSubstr("a&lt;b&gt;&amp;c"), Not(HasSubstr("<b>"))));
}

TEST(Sheet, DrawingsAreToTheirScale) {
  for (const double diameter : {8e-3, 60e-3, 330e-3}) {
    Bench bench;
    bench.job.workpiece.diameter = diameter;
    bench.job.rotary = {};
    bench.job.artwork.size_axial = 1e-3;
    const std::string drawn = end_view(bench.sheet());
    std::smatch circle, scale;
    ASSERT_TRUE(std::regex_search(drawn, circle, std::regex("circle class=\"p\".* r=\"([0-9.]+)\"")));
    ASSERT_TRUE(std::regex_search(drawn, scale, std::regex("Scale&#160;([0-9.]+)&#160;:&#160;([0-9.]+)")));
    EXPECT_NEAR(std::stod(circle[1]), 1e3 * diameter / 2 * std::stod(scale[1]) / std::stod(scale[2]), 0.006);
    EXPECT_LT(std::stod(circle[1]), 31);
  }
}

TEST(Sheet, LengthsOnTheDrawingDoNotRunIntoEachOther) {
  Bench bench;
  bench.job.workpiece.length = 150e-3;
  bench.job.workpiece.diameter = 90e-3;
  bench.with("artwork.axial", "75 mm").with("artwork.size_axial", "53.33 mm");
  const std::string drawn = side_view(bench.sheet());
  const std::regex words("<text x=\"([0-9.]+)\" y=\"([0-9.]+)\" text-anchor=\"middle\">([^<]+)<");
  std::vector<std::array<double, 3>> seen;  // middle, base line, width [mm of paper]
  for (auto it = std::sregex_iterator(drawn.begin(), drawn.end(), words); it != std::sregex_iterator(); ++it)
    seen.push_back({std::stod((*it)[1]), std::stod((*it)[2]), 1.4 * double((*it)[3].length())});
  ASSERT_GE(seen.size(), 6u);
  for (size_t i = 0; i < seen.size(); ++i)
    for (size_t k = 0; k < i; ++k)
      EXPECT_TRUE(std::abs(seen[i][1] - seen[k][1]) > 2 || std::abs(seen[i][0] - seen[k][0]) > (seen[i][2] + seen[k][2]) / 2)
          << seen[i][0] << " " << seen[k][0];
}

// Where the tip of the drawn arrow stands: right of the middle when the top moves to the right.
double arrow(const SetUp& sheet) {
  const std::string drawn = end_view(sheet);
  std::smatch tip;
  std::string before_words = drawn.substr(0, drawn.find("turns"));
  double x = 0;
  const std::regex path("path class=\"f\" d=\"M([0-9.]+)");
  while (std::regex_search(before_words, tip, path)) x = std::stod(tip[1]), before_words = tip.suffix();
  return x - 31;
}

TEST(Sheet, ThePartTurnsAgainstTheBeam) {
  using enum motion::Toward;
  // From the mouth, which faces left, the front lies on the right. The beam goes to the back: the top comes
  // to the front.
  EXPECT_GT(arrow(Bench().sheet()), 1);
  EXPECT_LT(arrow(Bench().face(left, right, front).sheet()), -1);
  // It faces right: the front lies on the left.
  EXPECT_LT(arrow(Bench().face(right, right, back).sheet()), -1);
  const auto moves_right = [](const Bench& bench) {
    return letter_view(bench.sheet()).find("scale(1 1)") != std::string::npos;
  };
  // With a mouth that faces left held up, the front comes to lie on the left.
  EXPECT_FALSE(moves_right(Bench()));
  EXPECT_TRUE(moves_right(Bench().face(left, right, front)));
  EXPECT_TRUE(moves_right(Bench().face(right, right, back)));
  Bench upside;  // the mouth at axial 0, the base to the right: the same part held the other way about
  upside.job.mount.mouth = motion::End::start;
  EXPECT_FALSE(moves_right(upside));
  EXPECT_GT(arrow(upside.sheet()), 1);
}

TEST(Sheet, JsonHasTheFiguresInSi) {
  const Bench bench;
  EXPECT_TRUE(bench.parsed(sheet_json(bench.sheet()),
                           "import json; v = json.load(open(\"t\")); s = v[\"turning\"][\"steps\"]; "
                           "assert abs(s[\"exact\"] - 101859.16) < 0.1 and s[\"flat\"] == 80000 and "
                           "abs(v[\"height\"][\"raise\"] - 0.0330555) < 1e-6 and v[\"lacking\"] == [] and "
                           "v[\"trial\"][\"power\"] > 0 and v[\"polarity\"][\"inverts\"] is True and "
                           "v[\"time\"][\"lines\"] == 30"));
  SmallJob small;
  small.with("mount.hold", "standing").job.laser.wavelength = 532e-9;
  EXPECT_TRUE(bench.parsed(sheet_json(set_up(prepare(small.job))),
                           "import json; v = json.load(open(\"t\")); assert v[\"turning\"] is None and "
                           "v[\"height\"][\"raise\"] is None and \"cardboard\" in v[\"trial\"][\"why\"]"));
}

}  // namespace
}  // namespace circumfluence::mark
