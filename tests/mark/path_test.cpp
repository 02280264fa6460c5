// Truth: a raster written out as a path, dot by dot, makes the raster's own mark, but for cells on an edge
// between classes.
#include <gtest/gtest.h>

#include "exposure/raster_path.h"
#include "mark/small_job.h"
#include "mark/traverse.h"

namespace circumfluence::mark {
namespace {

// The maps of one exposure, on a cold wall or a warmed one.
struct Walked {
  Maps maps;
  Tally tally;
};
Walked walked(const Scene& scene, const workpiece::Surface& surface, const exposure::Exposure& exposure,
              const Background& background = {}) {
  const motion::Raster raster = plan(scene);
  const response::Model model = respond(scene, exposure);
  const heat::Warmth warmth(model.base, exposure.states());
  const exposure::Echo echo = remember(scene, surface, model.base, exposure);
  Walked out{Maps(surface.around, surface.axial), {}};
  const Walk walk{scene, surface, exposure, model, warmth, echo, background, raster, out.maps, nullptr};
  Request request;
  request.threads = 1;
  out.tally = traverse(walk, request);
  return out;
}

struct Case {
  const char* name;
  std::vector<std::pair<const char*, const char*>> changes;
  double heat = 1e-3, light = 2e-5;  // [1] of the greatest, by which temperatures and fluences may differ
  friend std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }
};
class PathOfARaster : public testing::TestWithParam<Case> {};

TEST_P(PathOfARaster, MakesTheSameMark) {
  SmallJob small(island());
  if (std::string(GetParam().name).starts_with("bare")) small.bare("aisi_304", "0.5 mm");
  for (const auto& [address, value] : GetParam().changes) small.with(address, value);
  const Scene scene = prepare(small.job);
  const workpiece::Surface surface = develop(scene);
  const motion::Raster raster = plan(scene);
  const exposure::Arrangement job = arrangement(scene, surface, raster);
  const exposure::slow::RasterPath written(job);
  const Walked lines = walked(scene, surface, *expose(scene, surface, raster));
  exposure::PathGround ground = written.ground();
  const Walked path = walked(scene, surface, exposure::PathLines(ground, written.path()));

  const auto& a = path.maps;
  const auto& b = lines.maps;
  const double most = *std::ranges::max_element(b.fluence.cells()),
               hottest = lines.tally.hottest - small.job.workpiece.temperature;
  size_t other = 0, marked = 0;
  for (size_t i = 0; i < a.outcome.size(); ++i) {
    marked += b.outcome.cells()[i] >= 2;
    other += a.outcome.cells()[i] != b.outcome.cells()[i];
    ASSERT_NEAR(a.fluence.cells()[i], b.fluence.cells()[i], GetParam().light * most);
    // Where no light falls a raster leaves the warmth out, or not, as its other lines have it.
    if (b.fluence.cells()[i] > 1e-4 * most) {
      ASSERT_NEAR(a.peak_temperature.cells()[i], b.peak_temperature.cells()[i], GetParam().heat * hottest);
    }
  }
  EXPECT_GT(marked, a.outcome.size() / 20);
  EXPECT_LE(double(other), 1e-4 * double(a.outcome.size()));  // on an edge between two outcomes
}

const std::vector<std::pair<const char*, const char*>> kAround{{"scan.direction", "around"}};
INSTANTIATE_TEST_SUITE_P(Jobs, PathOfARaster,
                         testing::Values(Case{"coated, along the axis", {}}, Case{"coated, around", kAround},
                                         Case{"bare, along the axis", {}}, Case{"bare, around", kAround},
                                         Case{"coated, slow ends at constant power",
                                              {{"scan.run_up", "0.2 mm"}, {"scan.power_habit", "constant"}},
                                              3e-2,
                                              1e-3},
                                         Case{"coated, standing", {{"mount.hold", "standing"}}}));

// A dense fill on a thin steel wall, as a raster and written out: the wall is as warm when each line comes.
class WarmPath : public testing::TestWithParam<const char*> {
 protected:
  WarmPath() {
    small.bare("aisi_304", "0.4 mm").with("workpiece.diameter", "30 mm").with("artwork.size_axial", "16 mm");
    small.with("scan.direction", GetParam());
  }
  SmallJob small{Picture{}};
};

TEST_P(WarmPath, WarmsTheWallAsItsRaster) {
  const Scene scene = prepare(small.job);
  const workpiece::Surface surface = develop(scene);
  const motion::Raster raster = plan(scene);
  const exposure::Arrangement job = arrangement(scene, surface, raster);
  const std::unique_ptr<exposure::Exposure> lines = expose(scene, surface, raster);
  const exposure::slow::RasterPath written(job);
  auto path = std::make_shared<ToolPath>(ToolPath{.path = written.path(), .notes = {}});
  Scene drawn = scene;
  drawn.path = path;
  const response::Model model = respond(scene, *lines);
  const Background a = warm(drawn, raster, *lines, model, 1), b = warm(scene, raster, *lines, model, 1);
  ASSERT_GT(b.warming.greatest, 40);
  EXPECT_NEAR(a.warming.greatest, b.warming.greatest, 0.05 * b.warming.greatest);
  EXPECT_NEAR(a.warming.deposited, b.warming.deposited, 0.01 * b.warming.deposited);
  EXPECT_LE(a.runs.runs.size(), size_t(2 * raster.lines));  // those around are cut where the tube is
  const exposure::PathLines exposed(written.ground(),
                                    std::shared_ptr<const exposure::Path>(path, &path->path));
  const Walked one = walked(drawn, surface, exposed, a), other = walked(scene, surface, *lines, b),
               cold = walked(scene, surface, *lines);
  const auto& most = other.maps.fluence.cells();
  const double peak = *std::ranges::max_element(most), warmed = other.tally.hottest - cold.tally.hottest;
  ASSERT_GT(warmed, 20);
  for (size_t i = 0; i < most.size(); ++i)
    if (most[i] > 0.5 * peak) {
      ASSERT_NEAR(one.maps.peak_temperature.cells()[i], other.maps.peak_temperature.cells()[i], 0.1 * warmed)
          << i;
    }
}
INSTANTIATE_TEST_SUITE_P(Directions, WarmPath, testing::Values("axial", "around"));

// The same area hatched along the axis and at 45 degrees in the same time: as much heat, and as warm a wall.
TEST(WarmHatch, DoesNotMindTheHatchsAngle) {
  SmallJob small{Picture{}};
  small.bare("aisi_304", "0.4 mm").with("artwork.size_axial", "10 mm").with("artwork.size_around", "10 mm");
  Scene scene = prepare(small.job);
  const workpiece::Surface surface = develop(scene);
  const motion::Raster raster = plan(scene);
  const std::unique_ptr<exposure::Exposure> lines = expose(scene, surface, raster);
  const response::Model model = respond(scene, *lines);
  const double turn = 2 * quantity::kPi * scene.reference_radius, speed = scene.job.scan.speed;
  std::vector<double> greatest, deposited;
  for (const double angle : {0.0, 45.0, 90.0}) {
    exposure::Path path({.light = scene.light, .power = scene.power(), .turn = turn});
    const double c = std::cos(angle * quantity::kPi / 180), s = std::sin(angle * quantity::kPi / 180);
    for (int i = 0; i < 100; ++i) {  // a square of 10 mm, turned about the middle of the art
      const double across = (i - 49.5) * 1e-4, half = 5e-3;
      path.add({.axial = 20e-3 - half * c - across * s,
                .around = -half * s + across * c,
                .to_axial = 20e-3 + half * c - across * s,
                .to_around = half * s + across * c,
                .energy = scene.power() / speed,
                .speed = speed,
                .start = i * 0.3,
                .chain = i});
    }
    scene.path = std::make_shared<ToolPath>(ToolPath{.path = std::move(path), .notes = {}});
    const Background warmed = warm(scene, raster, *lines, model, 1);
    greatest.push_back(warmed.warming.greatest);
    deposited.push_back(warmed.warming.deposited);
  }
  ASSERT_GT(greatest[0], 20);
  EXPECT_NEAR(deposited[1], deposited[0], 1e-3 * deposited[0]);
  EXPECT_NEAR(deposited[2], deposited[0], 1e-3 * deposited[0]);
  EXPECT_NEAR(greatest[1], greatest[0], 0.06 * greatest[0]);
  EXPECT_NEAR(greatest[2], greatest[0], 0.06 * greatest[0]);
}

}  // namespace
}  // namespace circumfluence::mark
