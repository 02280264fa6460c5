// Truth: a raster written out as a path, dot by dot, makes the raster's own mark, but for cells on an edge
// between classes.
#include <gtest/gtest.h>

#include "exposure/raster_path.h"
#include "mark/small_job.h"
#include "mark/traverse.h"

namespace circumfluence::mark {
namespace {

exposure::Arrangement arrangement(const Scene& scene, const workpiece::Surface& surface,
                                  const motion::Raster& raster) {
  return {.surface = surface,
          .mount = scene.job.mount,
          .raster = raster,
          .laser = scene.job.laser,
          .light = scene.light,
          .power = scene.power() * (1 - scene.job.laser.losses),
          .speed = scene.job.scan.speed,
          .power_habit = scene.job.scan.power_habit,
          .angle_factor = angle_factor(scene),
          .image = scene.image,
          .placement = fed(scene)};
}

// The maps of one exposure on a cold wall.
struct Walked {
  Maps maps;
  Tally tally;
};
Walked walked(const Scene& scene, const workpiece::Surface& surface, const exposure::Exposure& exposure) {
  const motion::Raster raster = plan(scene);
  const response::Model model = respond(scene, exposure);
  const heat::Warmth warmth(model.base, exposure.states());
  const exposure::Echo echo = remember(scene, surface, model.base, exposure);
  const Background cold{};
  Walked out{Maps(surface.around, surface.axial), {}};
  const Walk walk{scene, surface, exposure, model, warmth, echo, cold, raster, out.maps, nullptr};
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

}  // namespace
}  // namespace circumfluence::mark
