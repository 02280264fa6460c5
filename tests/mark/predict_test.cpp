// Truth: properties that hold for any job (more power never does less, shares sum to one, passes add up),
// agreement of the ways to get the same maps, and margins confirmed by predicting again at the power they
// name.
#include "mark/predict.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <cstring>
#include <numeric>

#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

double at(const MarkMap& map, const quantity::Map<float>& layer, double axial, double around) {
  const workpiece::Surface& s = map.surface;
  return layer.row(
      int((around - s.around_from) / s.cell_around))[size_t((axial - s.axial_from) / s.cell_axial)];
}

double random_between(double low, double high) {
  return low * std::pow(high / low, *rc::gen::inRange(0, 1001) * 1e-3);
}

SmallJob any_job() {
  SmallJob small(island());
  const int surface = *rc::gen::inRange(0, 8);
  const char* wall = *rc::gen::element("0.05 mm", "0.5 mm", "3 mm");
  if (surface == 1) small.bare("aisi_304", wall);
  if (surface == 2) small.bare("cardboard", "2 mm");
  if (surface == 4) small.bare("titanium_grade_2", wall);
  if (surface == 5) small.bare("copper", wall);
  if (surface == 6) small.bare("leather", wall);
  if (surface == 7)
    small.with("workpiece.coat", "anodic_layer_dyed_black").with("workpiece.coat_thickness", "12 um").with("workpiece.wall", wall);
  if (surface == 3)
    small.with("workpiece.base", "aisi_304")
        .with("workpiece.coat", "acrylic_paint_black")
        .with("outcome.removal", "blow_off");
  job::Job& j = small.job;
  j = job::replaced(j, "scan.speed", random_between(0.01, 0.2));
  j = job::replaced(j, "scan.spacing", random_between(0.04e-3, 0.2e-3));
  j = job::replaced(j, "grid.cell", random_between(15e-6, 60e-6));
  j = job::replaced(j, "workpiece.diameter", random_between(8e-3, 90e-3));
  small.with("scan.direction", *rc::gen::element("axial", "around"));
  small.with("mount.hold", *rc::gen::element("turning", "standing"));
  small.with("artwork.tone", *rc::gen::element("threshold", "grey"));
  small.with("scan.two_way", *rc::gen::element("true", "false"));
  small.with("scan.power", *rc::gen::element("10 %", "40 %", "70 %"));
  small.with("scan.interleave", *rc::gen::element("1", "3"));
  small.with("scan.passes", *rc::gen::element("1", "2"));
  small.with("workpiece.behind", *rc::gen::element("insulated", "air", "water"));
  return small;
}

void sane(const MarkMap& map) {
  const Verdict& v = map.verdict;
  RC_ASSERT(std::abs(std::accumulate(v.wanted.begin(), v.wanted.end(), 0.0) - 1) < 1e-9);
  RC_ASSERT(std::abs(std::accumulate(v.unwanted.begin(), v.unwanted.end(), 0.0) - 1) < 1e-9);
  for (const auto* layer : {&map.maps.fluence, &map.maps.changed, &map.maps.peak_temperature})
    for (const float value : layer->cells()) RC_ASSERT(std::isfinite(value) && value >= 0);
  for (const float value : map.maps.margin.cells())
    RC_ASSERT(value > 0);  // infinity: no power marks this cell
  for (const auto outcome : map.maps.outcome.cells()) RC_ASSERT(outcome <= 3);
  for (const float value : map.wall.temperature) RC_ASSERT(std::isfinite(value) && value >= 293.14f && value < 2000);
  for (const double figure : {v.hottest, v.warmest_wall, v.melt.depth, v.melt.width, v.softened, v.duration})
    RC_ASSERT(std::isfinite(figure) && figure >= 0);
  RC_ASSERT(v.chance_marks >= 0 && v.chance_marks <= 1 && v.chance_spares >= 0 && v.chance_spares <= 1);
}

RC_GTEST_PROP(Predict, MorePowerNeverDoesLess, ()) {
  SmallJob small = any_job();
  // A film that goes earlier takes up less heat from the lines that follow, so its wall may stay cooler.
  const bool film = !small.job.workpiece.coat.empty() || small.job.workpiece.base == "cardboard" ||
                    small.job.workpiece.base == "leather";
  const auto predicted = [&] { return film ? small.on_a_cold_wall() : small.predicted(true); };
  const MarkMap before = predicted();
  sane(before);
  small.with("scan.power", "85 %");
  const MarkMap after = predicted();
  sane(after);
  sane(small.predicted(true));
  for (size_t i = 0; i < before.maps.changed.size(); ++i) {
    RC_ASSERT(after.maps.fluence.data()[i] >= before.maps.fluence.data()[i]);
    RC_ASSERT(after.maps.changed.data()[i] >= before.maps.changed.data()[i] - 1e-10f);
    RC_ASSERT(after.maps.peak_temperature.data()[i] >= before.maps.peak_temperature.data()[i] - 0.5f);
    RC_ASSERT(after.maps.outcome.data()[i] >= before.maps.outcome.data()[i]);
  }
}

RC_GTEST_PROP(Predict, ThreadsDoNotMatter, ()) {
  const SmallJob small = any_job();
  const MarkMap one = small.predicted(true, 1), two = small.predicted(true, 2);
  for (int layer = 0; layer < kLayers; ++layer)
    for (int row = 0; row < one.surface.around; ++row)
      RC_ASSERT(std::memcmp(one.maps.row(Layer(layer), row), two.maps.row(Layer(layer), row),
                            size_t(one.surface.axial) * bytes_a_cell(layers()[size_t(layer)].flags)) == 0);
  RC_ASSERT(json(one.verdict) == json(two.verdict));
}

TEST(Predict, AFlatFillHasThePowerOverSpeedAndSpacing) {
  SmallJob small;
  const MarkMap map = small.with("scan.spacing", "0.02 mm").predicted(true);
  const double expected = 7.5 / (2.5 / 60) / 0.02e-3;
  EXPECT_NEAR(at(map, map.maps.fluence, 20e-3, 0.1e-3) / expected, 1, 1e-3);
  double energy = 0;  // J on the surface against the area of the art
  for (const float f : map.maps.fluence.cells()) energy += f * map.surface.cell_area(0);
  EXPECT_NEAR(energy / (expected * 4e-3 * 3e-3), 1, 2e-3);
}

TEST(Predict, PassesAddUp) {
  SmallJob small;
  small.with("scan.power", "5 %");
  const MarkMap once = small.predicted(true), thrice = small.with("scan.passes", "3").predicted(true);
  ASSERT_GT(at(once, once.maps.changed, 20e-3, 0), 1e-6);
  for (size_t i = 0; i < once.maps.changed.size(); ++i) {
    EXPECT_NEAR(thrice.maps.fluence.data()[i], 3 * once.maps.fluence.data()[i],
                1e-4 * thrice.maps.fluence.data()[i] + 1e-3);
    EXPECT_NEAR(thrice.maps.changed.data()[i], std::min(3 * double(once.maps.changed.data()[i]), 60e-6),
                1e-9);
  }
  EXPECT_EQ(thrice.verdict.lines, 3 * once.verdict.lines);
}

TEST(Predict, ARegionAgreesWithTheWhole) {
  SmallJob small(island());
  const MarkMap whole = small.with("grid.around_from", "-1.8 mm")
                            .with("grid.around_to", "1.8 mm")
                            .with("grid.axial_from", "17.7 mm")
                            .with("grid.axial_to", "22.3 mm")
                            .predicted(true);
  small.with("grid.around_from", "-0.6 mm")
      .with("grid.around_to", "0.8 mm")
      .with("grid.axial_from", "18.5 mm")
      .with("grid.axial_to", "20.5 mm");
  const MarkMap part = small.predicted(true);
  const int rows = int(std::lround((part.surface.around_from - whole.surface.around_from) / 20e-6));
  const int columns = int(std::lround((part.surface.axial_from - whole.surface.axial_from) / 20e-6));
  ASSERT_EQ(part.surface.around, 70);
  ASSERT_EQ(part.surface.axial, 100);
  for (int row = 0; row < part.surface.around; ++row)
    for (int column = 0; column < part.surface.axial; ++column) {
      const float here = part.maps.fluence.row(row)[size_t(column)];
      EXPECT_NEAR(here, whole.maps.fluence.row(row + rows)[size_t(column + columns)], 2e-4 * here + 1);
      EXPECT_NEAR(part.maps.changed.row(row)[size_t(column)],
                  whole.maps.changed.row(row + rows)[size_t(column + columns)], 1e-8);
    }
}

TEST(Predict, TheFileHoldsTheMapsBitForBit) {
  for (const bool compact : {false, true}) {
    const SmallJob small(island());
    const std::string path = small.folder.file("island.mark.h5");
    Request request = small.request(true, 2);
    request.file = path;
    request.compact = compact;
    const MarkMap kept = predict(small.job, request);
    const MarkFile file(path);
    std::vector<char> cells(kept.maps.outcome.size() * 4);
    for (int layer = 0; layer < kLayers; ++layer) {
      file.read(Layer(layer), cells.data());
      const size_t bytes = size_t(kept.surface.axial) * bytes_a_cell(layers()[size_t(layer)].flags);
      for (int row = 0; row < kept.surface.around; ++row)
        ASSERT_EQ(std::memcmp(kept.maps.row(Layer(layer), row), cells.data() + bytes * size_t(row), bytes), 0)
            << layer;
    }
    EXPECT_EQ(file.header().job_text, small.job.text);
    EXPECT_NE(file.header().materials.find("polyester_powder_black"), std::string::npos);
    // The same, streamed and not kept.
    const std::string streamed = small.folder.file("streamed.mark.h5");
    request.file = streamed;
    request.keep = false;
    request.threads = 1;
    predict(small.job, request);
    std::vector<char> again(cells.size());
    MarkFile(streamed).read(Layer::margin, again.data());
    file.read(Layer::margin, cells.data());
    EXPECT_EQ(std::memcmp(again.data(), cells.data(), kept.maps.margin.size() * 4), 0);
  }
}

TEST(Predict, StoppingLeavesNothingBehind) {
  const SmallJob small;
  for (const double stop : {0.0, 0.3}) {
    Request request = small.request(false);
    request.file = small.folder.file("stopped.mark.h5");
    request.progress = [stop](double share) { return share < stop; };
    EXPECT_THROW(predict(small.job, request), quantity::Interrupted);
    EXPECT_EQ(small.folder.names(), std::vector<std::string>{"art.png"});
  }
}

// Predicts again at 2 % less and more than the power a margin names.
void confirm_margins(SmallJob small) {
  const Verdict v = small.verdict();
  const auto again = [&](double factor) {
    SmallJob other = SmallJob(island());
    other.job = small.job;
    other.job.folder = other.folder.path.string();
    other.job.laser.rated_power = 5000;
    other.job.scan.power = factor * v.power;
    other.job.scan.power_share = std::nan("");
    return other.verdict();
  };
  // Over-burned places are marked, too; stripes between lines are finer than the cells that are counted.
  const auto marks = [&](const Verdict& x) {
    return x.wanted[2] + x.wanted[3] >= small.job.outcome.required && !x.stripes;
  };
  const auto burnt = [](const Verdict& x) {
    return x.wanted[3] * x.wanted_area + x.unwanted[3] * x.unwanted_area;
  };
  ASSERT_TRUE(std::isfinite(v.least_factor));
  EXPECT_FALSE(marks(again(v.least_factor * 0.98)));
  EXPECT_TRUE(marks(again(v.least_factor * 1.02)));
  ASSERT_TRUE(std::isfinite(v.greatest_factor));
  EXPECT_LE(burnt(again(v.greatest_factor * 0.98)), small.job.outcome.tolerated * v.wanted_area);
  EXPECT_GT(burnt(again(v.greatest_factor * 1.02)), small.job.outcome.tolerated * v.wanted_area);
}

TEST(Predict, MarginsAreConfirmed) {
  SmallJob coated(island());
  confirm_margins(coated.with("outcome.required", "85 %"));
  SmallJob weak(island());
  confirm_margins(
      weak.with("scan.power", "8 %").with("outcome.required", "85 %").with("workpiece.base", "aisi_304"));
  SmallJob bare(island());
  confirm_margins(
      bare.bare("aisi_304", "0.5 mm").with("scan.spacing", "0.05 mm").with("outcome.required", "85 %"));
  SmallJob burnt(island());
  confirm_margins(burnt.bare("aisi_304", "0.5 mm")
                      .with("scan.spacing", "0.05 mm")
                      .with("scan.speed", "600 mm/min")
                      .with("scan.power", "100 %")
                      .with("outcome.required", "85 %"));
}

}  // namespace
}  // namespace circumfluence::mark
