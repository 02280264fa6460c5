// Truth: the records' own colours, Kubelka and Munk's layer in its hyperbolic form, closed forms of gloss and soot, and
// the order of published heat tints.
#include "look/finish.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "appearance/picture.h"
#include "appearance/thin_film.h"
#include "job/material_file.h"
#include "look/swatch.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using appearance::Lab;
using appearance::Linear;
using mark::SmallJob;
using response::Outcome;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;
using workpiece::Material;

constexpr int kLast = Finish::kSteps - 1;
constexpr std::uint8_t kMarked = std::uint8_t(Outcome::marked), kOver = std::uint8_t(Outcome::over_burned);

// A job's scene with its model; records may be altered before the finish is made.
struct Bench {
  SmallJob small;
  mark::Scene scene;
  response::Model model;

  explicit Bench(const SmallJob& job)
      : small(job), scene(mark::prepare(small.job)), model(mark::respond(scene, states())) {}
  std::vector<exposure::SpotState> states() const {
    return mark::expose(scene, surface(), mark::plan(scene))->states();
  }
  workpiece::Surface surface() const { return mark::develop(scene); }
  Finish finish(Wipe wipe = Wipe::after) const { return Finish(scene, model, wipe); }
};
SmallJob coated(const char* coat, const char* base = "al_6061") {
  SmallJob job;
  job.with("workpiece.coat", coat).with("workpiece.base", base);
  return job;
}
SmallJob bare(const char* base) {
  SmallJob job;
  job.bare(base);
  return job;
}

Linear light(const Shade& shade) {
  return in_diffuse_light(shade);
}
Linear light(const std::string& colour) {
  return appearance::linear_from_srgb(appearance::parse_colour(colour));
}
double y(const Linear& l) {
  return appearance::xyz_from_linear(l).y / 100;
}
Lab lab(const Linear& l) {
  return appearance::lab_from_xyz(appearance::xyz_from_linear(l));
}
void expect_same(const Linear& a, const Linear& b, double within = 1e-12) {
  for (size_t c = 0; c < 3; ++c) EXPECT_NEAR(a[c], b[c], within) << c;
}

TEST(Finish, GroundsAndMarksAreTheRecordsColours) {
  for (const char* coat :
       {"polyester_powder_black", "epoxy_powder_black", "acrylic_paint_black", "polyurethane_paint_black"}) {
    const Bench bench(coated(coat));
    expect_same(light(bench.finish().ground()), light(bench.scene.coat->ground_colour), 1e-4);
    expect_same(light(bench.finish().of(kOver, 0)), light(bench.scene.base.over_colour));
  }
  const Bench white(coated("polyester_powder_white"));  // 60 um are five of its optical depths
  expect_same(light(white.finish().ground()), light(white.scene.coat->ground_colour), 1e-4);
  for (const char* body : {"birch", "leather", "cork", "cardboard"}) {
    const Bench bench(bare(body));
    const Finish f = bench.finish();
    expect_same(light(f.ground()), light(bench.scene.base.ground_colour));
    expect_same(light(f.marked()), light(bench.scene.base.marked_colour), 1e-3);
    expect_same(light(f.of(kMarked, 1)), light(bench.scene.base.marked_colour));
    expect_same(light(f.of(kOver, 1)), light(bench.scene.base.over_colour));
  }
  const Bench dyed(coated("anodic_layer_dyed_black"));
  expect_same(light(dyed.finish().ground()), light(dyed.scene.coat->ground_colour));
  expect_same(light(dyed.finish().marked()), light(dyed.scene.coat->marked_colour));
  expect_same(light(dyed.finish().of(kOver, 0)), light(dyed.scene.coat->over_colour));
}

TEST(Finish, MetalsAreWhatTheirIndicesMakeOfThem) {  // records say "from n and k under D65"
  for (const char* metal : {"al_6061", "al_1050", "al_1100", "aisi_304", "aisi_316", "mild_steel", "titanium_grade_2",
                            "brass_70_30", "copper"}) {
    const Material& m = job::find_material(metal, {});
    const Linear bare = appearance::linear_from_xyz(
        appearance::seen(appearance::bare_reflectance(appearance::index_of(m.spectrum, metal))));
    EXPECT_LT(appearance::ciede2000(lab(bare), lab(light(m.ground_colour))), 1) << metal;
  }
  for (const char* metal : {"al_6061", "aisi_304", "mild_steel", "titanium_grade_2"}) {  // with the native oxide
    const Bench bench{bare(metal)};
    const Shade ground = bench.finish().ground();
    EXPECT_LT(appearance::ciede2000(lab(light(ground)), lab(light(bench.scene.base.ground_colour))), 1.5) << metal;
    EXPECT_EQ(y(ground.diffuse), 0);  // a mirror
  }
}

TEST(Finish, FadesTowardTheBaseWithoutTurningBack) {
  const Bench black{coated("polyester_powder_black")}, white{coated("polyester_powder_white", "mild_steel")};
  const Finish f = black.finish(), w = white.finish();
  EXPECT_NEAR(f.most(), 60e-6, 1e-12);
  for (int i = 1; i <= kLast; ++i)
    for (size_t c = 0; c < 3; ++c) {
      EXPECT_GE(light(f.shades()[size_t(i)])[c], light(f.shades()[size_t(i - 1)])[c] - 1e-12) << i;
      EXPECT_LE(light(w.shades()[size_t(i)])[c], light(w.shades()[size_t(i - 1)])[c] + 1e-12) << i;
    }
  EXPECT_LT(appearance::ciede2000(lab(light(f.marked())), lab(light(black.scene.base.ground_colour))), 1);
  EXPECT_EQ(f.entry(kMarked, 1), kLast);
  EXPECT_EQ(f.entry(std::uint8_t(Outcome::under_marked), 30e-6f), 256);  // 255.5
  EXPECT_EQ(f.entry(std::uint8_t(Outcome::untouched), 0), 0);
  EXPECT_EQ(f.entry(kOver, 0), kLast + 1);
  EXPECT_NEAR(f.marked().slope, black.scene.base.marked_roughness.value, 1e-12);
  EXPECT_NEAR(f.ground().slope, black.scene.coat->roughness.value, 1e-6);
}

// R = (1 - R_g (a - b coth bSX)) / (a - R_g + b coth bSX), a = (1/R + R) / 2, b = (1/R - R) / 2; bSX = thickness /
// depth.
TEST(Finish, AScatteringCoatIsKubelkasAndMunksLayer) {
  Bench bench{coated("polyester_powder_white", "birch")};
  bench.scene.coat->ground_colour = "#e0e0e0";
  bench.scene.base.ground_colour = "#404040";
  const double face = 0.04, thick = light("#e0e0e0")[1] - face, below = light("#404040")[1];
  const double a = 0.5 * (1 / thick + thick), b = 0.5 * (1 / thick - thick);
  const Finish f = bench.finish();
  for (const int step : {100, 300, 450, 500}) {
    const double x = 60e-6 * (kLast - step) / kLast / 12e-6, coth = 1 / std::tanh(x);
    const double layer = (1 - below * (a - b * coth)) / (a - below + b * coth), q = std::exp(-2 * x);
    expect_same(light(f.shades()[size_t(step)]),
                {layer + face * (1 - q), layer + face * (1 - q), layer + face * (1 - q)}, 1e-6);
  }
}

// Hardly any light comes back from black itself: what the base sends back is dimmed by exp(-2 t / depth), more in the
// blue.
TEST(Finish, ABlackCoatDimsItsBase) {
  Bench bench{coated("acrylic_paint_black")};
  bench.scene.coat->ground_colour = "#000000";
  const Finish f = bench.finish();
  const Linear base = light(f.marked());
  const double deep = 60e-6 * 24 / kLast, depth = 2.8e-6;  // at 450 nm, 24 steps before the end
  const Linear seen = light(f.shades()[size_t(kLast - 24)]);
  const double at[] = {610e-9, 550e-9, 460e-9};  // where the channels have their weight
  for (size_t c = 0; c < 3; ++c)
    EXPECT_NEAR(seen[c] / base[c] / std::exp(-2 * deep / depth * 450e-9 / at[c]), 1, 0.12) << c;
  EXPECT_GT(seen[0], seen[2]);
}

TEST(Finish, OxideTakesTheColoursOfHeatTintsInTheirOrder) {  // pale yellow, straw, brown, purple, blue
  for (const char* metal : {"aisi_304", "titanium_grade_2", "mild_steel"}) {
    const Bench bench{bare(metal)};
    const Finish f = bench.finish();
    const double order[] = {90, 70, 30, 330, 285};  // [deg] hues
    size_t next = 0;
    double before = 0, last = 100;
    for (int i = 0; f.most() * i / kLast < 70e-9 && next < 5; ++i) {
      const Lab c = lab(light(f.shades()[size_t(i)]));
      if (std::hypot(c.a, c.b) < 5) continue;
      double hue = std::atan2(c.b, c.a) * 180 / std::numbers::pi;
      while (hue > last + 180) hue -= 360;
      if (i > 0 && last < 99) {
        EXPECT_LT(hue, last + 3) << metal << i;  // never turns back
      }
      last = hue;
      const double wanted = order[next] > 180 ? order[next] - 360 : order[next];
      if (hue <= wanted) {
        EXPECT_GE(f.most() * i / kLast, before);
        before = f.most() * i / kLast, ++next;
      }
    }
    EXPECT_EQ(next, 5u) << metal;
    EXPECT_THAT(f.notes(), Contains(HasSubstr("known to a factor of")));
  }
}

TEST(Finish, ThickOxideLosesItsColourWhereItIsUneven) {
  Bench bench{bare("aisi_304")};
  const auto chroma = [&] {
    const Finish f = bench.finish();
    const Lab c = lab(light(f.of(kMarked, 160e-9f)));
    return std::hypot(c.a, c.b);
  };
  bench.scene.base.oxide_uneven = {0, 0, "even"};
  const double even = chroma();
  bench.scene.base.oxide_uneven = {0.25, 0, "uneven"};
  EXPECT_LT(chroma(), 0.5 * even);
  EXPECT_GT(even, 50);  // 65 at 160 nm, worked out independently
}

TEST(Finish, OxideCountsFromTheNativeOne) {
  Bench bench{bare("aisi_304")};
  bench.scene.base.oxide_uneven = {0, 0, "even"};
  const Finish f = bench.finish();
  const int step = f.entry(kMarked, 47e-9f);
  const double grown = f.most() * step / kLast;
  EXPECT_NEAR(grown, 47e-9, 0.5e-9);
  const auto film = appearance::film_reflectance(
      appearance::even_index(2.3), appearance::index_of(bench.scene.base.spectrum, "it"), {3e-9 + grown, 0});
  Linear told = appearance::linear_from_xyz(appearance::seen(film));
  for (double& l : told) l = std::clamp(l, 0.0, 1.0);
  expect_same(light(f.shades()[size_t(step)]), told, 1e-9);
  EXPECT_GT(f.marked().slope, f.ground().slope);
}

TEST(Finish, MetalsWithoutAnOxideOnRecordGoByState) {
  const Bench bench{bare("brass_70_30")};
  const Finish f = bench.finish();
  EXPECT_TRUE(std::isinf(f.most()));
  expect_same(light(f.of(kMarked, 0)), light(bench.scene.base.marked_colour));
  const Linear half = light(f.of(std::uint8_t(Outcome::under_marked), 0)), from = light(f.ground()),
               to = light(f.marked());
  for (size_t c = 0; c < 3; ++c) EXPECT_NEAR(half[c], 0.5 * (from[c] + to[c]), 0.003);
  expect_same(light(f.of(0, 0)), from);
}

TEST(Finish, DensitiesAdd) {
  const Bench bench{coated("anodic_layer_dyed_black")};
  const Finish f = bench.finish();
  const Linear half = light(f.shades()[kLast / 2]), from = light(f.ground()), to = light(f.marked());
  const double s = double(kLast / 2) / kLast;
  for (size_t c = 0; c < 3; ++c) EXPECT_NEAR(half[c], std::pow(from[c], 1 - s) * std::pow(to[c], s), 1e-12);
}

TEST(Finish, SootDimsUntilItIsWiped) {
  Bench bench{coated("polyester_powder_black")};
  const Finish wiped = bench.finish(), loose = bench.finish(Wipe::before);
  const double m = bench.scene.coat->residue.value * 1400 * 60e-6;  // [kg/m^2] laid bare
  const double share = y(light(loose.marked())) / y(light(wiped.marked()));
  EXPECT_LT(std::abs(std::log(share) + 2 * 7000 * m), 0.02 * 2 * 7000 * m);  // the eye's middle is near 555 nm
  expect_same(light(loose.ground()), light(wiped.ground()), 1e-12);
  EXPECT_LT(contrast(loose.ground(), loose.marked()).diffuse, contrast(wiped.ground(), wiped.marked()).diffuse);
  bench.scene.coat->residue = {};
  expect_same(light(bench.finish(Wipe::before).marked()), light(wiped.marked()));
}

TEST(Finish, GlossIsBeckmanns) {
  const Shade shade{{0.1, 0.2, 0.3}, {0.5, 0.5, 0.5}, 0.2};
  const Linear at = at_gloss(shade, 0, 0), beside = at_gloss(shade, 0.4, 0.5);
  EXPECT_NEAR(at[0], 0.1 + 0.5 / (4 * 0.04), 1e-12);
  const double lean = std::pow(std::cos(0.2), 4), side = std::pow(std::cos(0.5), 2);
  EXPECT_NEAR(beside[2], 0.3 + 0.5 * std::exp(-std::pow(std::tan(0.2) / 0.2, 2)) / (0.16 * lean * side), 1e-12);
  // What a smooth mirror sends on adds up to what falls on it: the integral of value / pi over the cone.
  double sum = 0;
  for (int i = 0; i < 20000; ++i) {
    const double off = (i + 0.5) * 4e-5;
    sum += 2 * std::sin(off) * 4e-5 * at_gloss({{}, {1, 1, 1}, 0.05}, off, 0)[1];
  }
  EXPECT_NEAR(sum, 1, 0.01);
}

// A full area shows what the job does to it: all of the mark at its settings, less of it with less power.
TEST(Finish, ContrastOfAFullAreaIsWhatTheJobMakesOfIt) {
  mark::SmallJob small;
  const Swatches strong(mark::prepare(small.job)), weak(mark::prepare(small.with("scan.power", "4 %").job));
  const Finish finish(strong.scene(), strong.model());
  const double whole = contrast(finish.ground(), finish.marked()).diffuse;
  EXPECT_NEAR(contrast(strong, finish).diffuse, whole, 0.03 * whole);
  EXPECT_LT(contrast(weak, finish).diffuse, 0.5 * whole);
}

TEST(Finish, Contrast) {
  const Bench bench{coated("polyester_powder_black")};
  const Contrast c = contrast(bench.finish().ground(), bench.finish().marked());
  EXPECT_TRUE(c.lighter);
  EXPECT_GT(c.diffuse, 60);
  EXPECT_GE(c.gloss, c.gloss_least);
  const Bench wood{bare("birch")};
  EXPECT_FALSE(contrast(wood.finish().ground(), wood.finish().marked()).lighter);
  const Shade same = wood.finish().ground();
  EXPECT_EQ(contrast(same, same).diffuse, 0);
  EXPECT_EQ(contrast(same, same).gloss, 0);
  // Black against white light: 100, and a mirror's glare counts no more than white.
  EXPECT_NEAR(contrast({{}, {}, 0.1}, {{1, 1, 1}, {}, 0.1}).diffuse, 100, 0.01);
  EXPECT_NEAR(contrast({{}, {}, 0.1}, {{1, 1, 1}, {1, 1, 1}, 0.1}).gloss, 100, 0.01);
}

TEST(Finish, SaysWhatIsMissingAndWhatIsAGuess) {
  Bench bench{coated("polyester_powder_black")};
  EXPECT_THAT(bench.finish().notes(),
              Contains(HasSubstr("The colour of black polyester powder coat is the one on its record")));
  EXPECT_THAT(bench.finish().notes(), Not(Contains(HasSubstr("aluminium"))));  // computed
  bench.scene.base.ground_colour.clear();
  bench.finish();  // still computed
  bench.scene.coat->optics.clear();
  bench.scene.coat->roughness = {};
  EXPECT_THAT(bench.finish().notes(), Contains(HasSubstr("how it thins to the eye is a guess")));
  EXPECT_THAT(bench.finish().notes(), Contains(HasSubstr("its gloss is a guess")));
  bench.scene.coat->ground_colour.clear();
  EXPECT_THROW(bench.finish(), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::look
