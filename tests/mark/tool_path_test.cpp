// Truth: the job's own lines, written out as words of RS-274 and read back as a job's tool path; the power-time integral;
// what a file without a burning move is.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

void write(const std::string& path, const std::string& text) {
  std::ofstream(path) << text;
}

// The lines of a raster along the axis, lit where the art is, from dot to dot of the grid.
std::string words_of(const MarkMap& map) {
  const motion::Raster& raster = map.raster;
  const std::vector<double> edges = map.surface.axial_edges();
  const motion::Commands commands(map.scene.image, fed(map.scene), edges);
  motion::Commands::Scratch scratch;
  std::vector<float> tones(edges.size() - 1);
  std::string out = "G21 G90 G94\nM4 S0\n";
  for (int line = 0; line < raster.lines; ++line) {
    const double y = raster.cross(line);
    commands.row(y - raster.spacing / 2, y + raster.spacing / 2, tones, scratch);
    const bool back = raster.backward(line);
    const double from = raster.along_from - raster.sweep.run_up(), to = raster.along_to + raster.sweep.run_up();
    out += fmt::format("G0 X{:.9f} Y{:.9f}\nG1 F2500\n", 1e3 * (back ? to : from), 1e3 * y);
    const int n = static_cast<int>(tones.size());
    for (int i = 0; i < n; ++i) {
      const int dot = back ? n - 1 - i : i, next = back ? dot - 1 : dot + 1;
      if (next >= 0 && next < n && tones[size_t(next)] == tones[size_t(dot)]) continue;
      out += fmt::format("X{:.9f} S{:.6f}\n", 1e3 * edges[size_t(back ? dot : dot + 1)], 750 * tones[size_t(dot)]);
    }
    out += fmt::format("X{:.9f} S0\n", 1e3 * (back ? from : to));
  }
  return out + "M5\nM2\n";
}

constexpr const char* kPath = R"toml(
[machine]
axial_speed = "6000 mm/min"
around_speed = "6000 mm/min"
axial_acceleration = "1000 mm/s^2"
around_acceleration = "1000 mm/s^2"

[path]
file = "art.ngc"
axial = "0 mm"
full_power_word = 1000

[grid])toml";

job::Job burnt_as_path(const SmallJob& small, const std::string& words) {
  write(small.folder.file("art.ngc"), words);
  std::string text = small.job.text;
  text.replace(text.find("\n[grid]"), 7, kPath);
  return job::parse_job(text, "path.toml", small.folder.path.string());
}

// Share of cells whose outcome differs.
double unlike(const Maps& a, const Maps& b) {
  double differ = 0;
  for (int row = 0; row < a.outcome.around(); ++row)
    for (int i = 0; i < a.outcome.axial(); ++i) differ += a.outcome.row(row)[i] != b.outcome.row(row)[i];
  return differ / (double(a.outcome.around()) * a.outcome.axial());
}

TEST(ToolPath, WrittenFromAPlanMarksAsThePlanDoes) {
  const SmallJob small(island());
  const MarkMap plan = small.predicted(true);
  const MarkMap path = predict(burnt_as_path(small, words_of(plan)), small.request());
  ASSERT_EQ(path.maps.outcome.around(), plan.maps.outcome.around());
  EXPECT_LT(unlike(path.maps, plan.maps), 2e-4);
  float greatest = 0, off = 0;
  for (int row = 0; row < plan.maps.fluence.around(); ++row)
    for (int i = 0; i < plan.maps.fluence.axial(); ++i) {
      greatest = std::max(greatest, plan.maps.fluence.row(row)[i]);
      off = std::max(off, std::abs(plan.maps.fluence.row(row)[i] - path.maps.fluence.row(row)[i]));
    }
  EXPECT_LT(off, 2e-3f * greatest);
  EXPECT_EQ(path.verdict.ruling, plan.verdict.ruling);
  EXPECT_NEAR(path.verdict.wanted[2], plan.verdict.wanted[2], 1e-3);
}

TEST(ToolPath, ItsEnergyIsThePowerOverTime) {
  const SmallJob small;
  // A line of 10 mm at 2500 mm/min and 5 W, one of 4 mm at 600 mm/min and 2.5 W, and 0.2 s of 10 W.
  const job::Job job = burnt_as_path(small, "G21 G90\nM4\nG0 X10 Y0\nG1 X20 F2500 S500\nG1 Y4 F600 S250\nM3 S1000\nG4 P0.2\nM5\n");
  const Scene scene = prepare(job);
  EXPECT_NEAR(scene.path->path.energy(), 5 * 10 / (2500 / 60.) + 2.5 * 4 / 10. + 2, 1e-6);
  EXPECT_EQ(scene.path->notes.moves, 4);
}

TEST(ToolPath, WithoutArtworkItsOwnLinesAreWanted) {
  const SmallJob small;
  write(small.folder.file("art.ngc"), "G21 G90 M4\nG0 X15 Y0\nG1 X25 F2500 S750\nM5\n");
  std::string text(kSmallJob);
  const size_t art = text.find("[artwork]"), grid = text.find("\n[grid]");
  text.replace(art, grid - art + 7, kPath);
  const job::Job job = job::parse_job(text, "path.toml", small.folder.path.string());
  const MarkMap map = predict(job, small.request());
  EXPECT_NEAR(map.verdict.wanted_area, 10e-3 * 80e-6, 0.05 * 10e-3 * 80e-6);  // as wide as the spot
  EXPECT_NEAR(map.verdict.power, 7.5, 1e-9);
  EXPECT_NEAR(map.scene.job.scan.speed, 2500e-3 / 60, 1e-9);
}

TEST(ToolPath, AHeightOutOfFocusWidensTheLine) {
  const SmallJob small;
  const auto hottest = [&small](const char* words) { return predict(burnt_as_path(small, words), small.request()).verdict.hottest; };
  const double focused = hottest("G21 G90 M4\nG0 X18 Y0\nG1 X22 F2500 S750\nM5\n");
  const double raised = hottest("G21 G90 M4\nG0 X18 Y0 Z6\nG1 X22 F2500 S750\nM5\n");
  EXPECT_LT(raised, focused - 5);
}

TEST(ToolPath, SaysThatNothingBurns) {
  const SmallJob small;
  try {
    prepare(burnt_as_path(small, "G21 G90\nG0 X10 Y0\nG1 X20 F2500\n"));
    FAIL();
  } catch (const quantity::JobError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("path.file = \"art.ngc\" (burns nothing"));
  }
}

TEST(ToolPath, PlacesAnUnknownWordInItsOwnFile) {
  const SmallJob small;
  try {
    prepare(burnt_as_path(small, "G21 G90\nG1 X20 F2500 Q3\n"));
    FAIL();
  } catch (const quantity::JobError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("art.ngc:2:14"));
  }
}

TEST(ToolPath, NoMoreThanTheRatedPowerIsBurntWhateverSAsksFor) {
  const SmallJob small;
  const auto scene = [&small](int s) {
    return prepare(burnt_as_path(small, fmt::format("G21 G90 M3 S{}\nG1 X20 F2500\nG4 P0.1\nM5\n", s)));
  };
  const Scene most = scene(1000), beyond = scene(2500);
  EXPECT_EQ(beyond.path->path.energy(), most.path->path.energy());
  EXPECT_EQ(beyond.path->power, small.job.laser.rated_power);
  EXPECT_TRUE(std::ranges::any_of(check_path(beyond), [](const motion::Finding& f) {
    return f.kind == motion::Finding::Kind::power && f.worst > 2.4;
  }));
}

TEST(ToolPath, BurningBesideAPartThatStandsIsFound) {
  const SmallJob small;
  job::Job job = burnt_as_path(small, "G21 G90 M4 S500 F2500\nG0 X20\nG1 Y31\nM5\n");
  const auto off = [](const motion::Finding& f) { return f.kind == motion::Finding::Kind::off_the_part; };
  EXPECT_FALSE(std::ranges::any_of(check_path(prepare(job)), off));
  job.mount.hold = motion::Hold::standing;
  EXPECT_TRUE(std::ranges::any_of(check_path(prepare(job)), off));  // the radius is 30 mm
}

TEST(ToolPath, ArcsReachAsFarAsTheirCircles) {
  const SmallJob small;
  const auto box = [&small](const std::string& arc) {
    const Scene scene = prepare(burnt_as_path(small, "G21 G90 M4 S500 F2500\nG0 X20 Y2\n" + arc + "\nM5\n"));
    return outline(scene.job, path_file(scene));
  };
  const auto expect = [](const artwork::Extent& is, const std::array<double, 4>& mm) {
    EXPECT_NEAR(is.axial_from, 1e-3 * mm[0], 1e-12);
    EXPECT_NEAR(is.axial_to, 1e-3 * mm[1], 1e-12);
    EXPECT_NEAR(is.around_from, 1e-3 * mm[2], 1e-12);
    EXPECT_NEAR(is.around_to, 1e-3 * mm[3], 1e-12);
  };
  expect(box("G2 I1.5 J2"), {19, 24, 1.5, 6.5});      // about 21.5, 4
  expect(box("G3 X23 Y6 I1.5 J2"), {20, 24, 1.5, 6});
}

TEST(ToolPath, FindsStripesByWhatTheFillClears) {
  const SmallJob small;
  std::string close = "G21 G90 M4 F2500 S750\n", wide = close;
  for (int i = 0; i < 8; ++i) {
    close += fmt::format("G0 X10 Y{0:.3f}\nG1 X20\n", 0.1 * i);
    wide += fmt::format("G0 X10 Y{0:.3f}\nG1 X20\n", 0.25 * i);
  }
  const auto spaced = [](const std::vector<motion::Finding>& findings) {
    return std::ranges::any_of(findings, [](const motion::Finding& f) { return f.kind == motion::Finding::Kind::spacing; });
  };
  EXPECT_FALSE(spaced(check_path(prepare(burnt_as_path(small, close + "M5\n")))));
  EXPECT_TRUE(spaced(check_path(prepare(burnt_as_path(small, wide + "M5\n")))));
}

}  // namespace
}  // namespace circumfluence::mark
