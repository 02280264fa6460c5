// Truth: a draw by hand, value exp(spread z); and predictions, which tell what a figure does by being
// altered.
#include "window/unknown.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <functional>
#include <set>

#include "mark/small_job.h"
#include "quantity/error.h"
#include "window/chance.h"
#include "window/sobol.h"

namespace circumfluence::window {
namespace {

using mark::Scene;
using mark::SmallJob;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;
using testing::ThrowsMessage;
using workpiece::Material;
using workpiece::Optics;

std::vector<std::string> names(const std::vector<Unknown>& unknowns) {
  std::vector<std::string> out;
  for (const Unknown& u : unknowns) out.push_back(u.name);
  return out;
}

const Unknown& named(const std::vector<Unknown>& unknowns, std::string_view name) {
  const auto found = std::ranges::find(unknowns, name, &Unknown::name);
  if (found == unknowns.end()) throw std::out_of_range(std::string(name));
  return *found;
}

// The scene with one unknown drawn.
Scene with(const Scene& scene, std::string_view name, double deviate) {
  const std::vector<Unknown> one{named(unknowns(scene), name)};
  return drawn(scene, one, std::vector{deviate});
}

SmallJob stated() {
  SmallJob small(mark::island());
  small.with("laser.power_spread", "5 %").with("laser.spot_spread", "10 %");
  small.with("workpiece.coat_spread", "20 %").with("mount.height_spread", "0.3 mm");
  return small;
}

TEST(Unknown, OfTheJobStandOnlyWhereStated) {
  const std::pair<const char*, const char*> keys[] = {{"laser.power_spread", "laser.power"},
                                                      {"laser.spot_spread", "laser.spot"},
                                                      {"laser.shape_spread", "laser.shape"},
                                                      {"laser.depth_spread", "laser.depth"},
                                                      {"workpiece.coat_spread", "workpiece.coat_thickness"},
                                                      {"mount.height_spread", "mount.height"}};
  const std::vector<std::string> without = names(unknowns(mark::prepare(SmallJob().job)));
  for (const auto& [key, name] : keys) {
    EXPECT_THAT(without, Not(Contains(name)));
    const char* const some = std::string_view(key).starts_with("mount") ? "1 mm" : "7 %";
    const char* const none = std::string_view(key).starts_with("mount") ? "0 mm" : "0 %";
    std::vector<std::string> one = names(unknowns(mark::prepare(SmallJob().with(key, some).job)));
    ASSERT_EQ(one.size(), without.size() + 1);
    EXPECT_EQ(one.front(), name);
    one.erase(one.begin());
    EXPECT_EQ(one, without);
    EXPECT_EQ(names(unknowns(mark::prepare(SmallJob().with(key, none).job))), without);
  }
  EXPECT_THAT(names(unknowns(mark::prepare(stated().job))),
              testing::IsSupersetOf({"laser.power", "laser.spot", "workpiece.coat_thickness", "mount.height",
                                     "polyester_powder_black.removal_energy", "al_6061.solidus"}));
}

TEST(Unknown, SaysWhatItIs) {
  const std::vector<Unknown> all = unknowns(mark::prepare(stated().job));
  const Unknown& power = named(all, "laser.power");
  EXPECT_DOUBLE_EQ(power.value, 7.5);  // 75 % of 10 W
  EXPECT_DOUBLE_EQ(power.spread, 0.05);
  EXPECT_TRUE(power.relative);
  const Unknown& height = named(all, "mount.height");
  EXPECT_EQ(height.value, 0);
  EXPECT_DOUBLE_EQ(height.spread, 0.3e-3);
  EXPECT_FALSE(height.relative);
  const Unknown& absorbs = named(all, "polyester_powder_black.absorptivity");
  EXPECT_EQ(absorbs.words, "absorptivity of black polyester powder coat, at 450 nm");
  EXPECT_DOUBLE_EQ(absorbs.value, 0.95);
  EXPECT_STREQ(absorbs.unit, "%");
  EXPECT_EQ(std::set<std::string>({"W", "um", "mm"}),
            std::set<std::string>({power.unit, named(all, "laser.spot").unit, height.unit}));
}

TEST(Unknown, NamesAreDistinctAndInOrder) {
  const std::vector<std::string> all = names(unknowns(mark::prepare(stated().job)));
  EXPECT_EQ(std::set<std::string>(all.begin(), all.end()).size(), all.size());
  EXPECT_EQ(all, names(unknowns(mark::prepare(stated().job))));
  const auto first = [&](std::string_view record) {
    return std::ranges::find_if(all, [&](const std::string& s) { return s.starts_with(record); }) -
           all.begin();
  };
  EXPECT_LT(first("laser"), first("polyester"));
  EXPECT_LT(first("polyester"), first("al_6061"));
}

TEST(Unknown, LeavesOutFiguresWithoutASpread) {
  SmallJob small;
  Scene scene = mark::prepare(small.job);
  EXPECT_THAT(names(unknowns(scene)), Contains("al_6061.solidus"));
  scene.base.solidus.spread = 0;
  EXPECT_THAT(names(unknowns(scene)), Not(Contains("al_6061.solidus")));
  scene.base.heat_capacity.value = quantity::kUnset;
  EXPECT_THAT(names(unknowns(scene)), Not(Contains("al_6061.heat_capacity")));
}

// Every double of the job's sections and of both records' figures, by their field tables.
std::vector<double> numbers(const Scene& s) {
  std::vector<double> out;
  const auto walk = [&out](const auto& section, const auto& fields) {
    using Section = std::decay_t<decltype(section)>;
    for (const auto& field : fields) {
      if (const auto* plain = std::get_if<double Section::*>(&field.member)) out.push_back(section.**plain);
      if (const auto* figure = std::get_if<quantity::Figure Section::*>(&field.member))
        out.push_back((section.**figure).value);
    }
  };
  walk(s.job.laser, beam::laser_fields());
  walk(s.job.workpiece, workpiece::part_fields());
  walk(s.job.mount, motion::mount_fields());
  walk(s.job.scan, motion::scan_fields());
  for (const Material* m : {&s.base, &s.coat.value()}) {
    walk(*m, workpiece::material_fields());
    for (const Optics& o : m->optics) walk(o, workpiece::optics_fields());
  }
  for (double& v : out)
    if (std::isnan(v)) v = -1e99;
  return out;
}

TEST(Drawn, AtNoughtIsTheSceneItself) {
  SmallJob small = stated();
  small.with("scan.power", "7.5 W");
  const Scene scene = mark::prepare(small.job);
  const std::vector<Unknown> all = unknowns(scene);
  const Scene same = drawn(scene, all, std::vector(all.size(), 0.0));
  EXPECT_EQ(numbers(same), numbers(scene));
  EXPECT_EQ(same.power(), scene.power());
  EXPECT_EQ(same.light.focus_height(), scene.light.focus_height());
  EXPECT_EQ(same.light.radii(1e-3).axial, scene.light.radii(1e-3).axial);
  EXPECT_EQ(same.reference_radius, scene.reference_radius);
}

// One standard deviation of one unknown alters one number (two of a spot), by the factor exp(spread).
TEST(Drawn, AltersTheOneFigureByItsSpread) {
  SmallJob small = stated();
  small.with("scan.power", "7.5 W");
  const Scene scene = mark::prepare(small.job);
  const std::vector<double> before = numbers(scene);
  for (const Unknown& u : unknowns(scene)) {
    if (u.name.ends_with("absorptivity") || u.name.ends_with("emissivity")) continue;  // held at 1
    const std::vector<double> after = numbers(with(scene, u.name, -1));
    int altered = 0;
    for (size_t i = 0; i < after.size(); ++i) {
      if (after[i] == before[i]) continue;
      ++altered;
      if (u.relative)
        EXPECT_NEAR(after[i] / before[i], std::exp(-u.spread), 1e-12) << u.name;
      else
        EXPECT_DOUBLE_EQ(after[i] - before[i], -0.3e-3) << u.name;
    }
    EXPECT_EQ(altered, u.name == "laser.spot" ? 2 : 1) << u.name;
  }
}

TEST(Drawn, MovesTheLight) {
  const Scene scene = mark::prepare(stated().job);
  const Scene high = with(scene, "mount.height", 2), wide = with(scene, "laser.spot", 1);
  EXPECT_NEAR(high.light.focus_height() - scene.light.focus_height(), 0.6e-3, 1e-12);
  EXPECT_NEAR(wide.light.radii(0).axial, 40e-6 * std::exp(0.1), 1e-15);
  EXPECT_NEAR(with(scene, "laser.power", 3).power(), 7.5 * std::exp(0.15), 1e-12);
}

TEST(Drawn, KeepsToWhatCanBe) {
  SmallJob small = stated();
  small.with("outcome.over_burn", "liquidus").with("laser.spot_spread", "1000 %");
  const Scene scene = mark::prepare(small.job);
  const double light = scene.job.laser.wavelength;
  EXPECT_EQ(workpiece::optics_at(*with(scene, "polyester_powder_black.absorptivity", 5).coat, light)
                .absorptivity.value,
            1);
  EXPECT_EQ(with(scene, "polyester_powder_black.emissivity", 5).coat->emissivity.value, 1);
  EXPECT_DOUBLE_EQ(
      with(scene, "polyester_powder_black.removal_temperature", -40).coat->removal_temperature.value,
      scene.job.workpiece.temperature + 1);
  const Scene molten = with(scene, "al_6061.liquidus", -60);
  EXPECT_EQ(molten.base.liquidus.value, molten.base.solidus.value);
  const Scene fine = with(scene, "laser.spot", -1);
  EXPECT_NEAR(fine.job.laser.spot_axial, 2 * light / 3.14159265358979, 1e-15);
}

// The middle of the art is one pixel that burns, and the art lies where it lay; put back, it is the art.
TEST(Drawn, LeavesThePictureOut) {
  SmallJob small = stated();
  small.with("artwork.turn", "90 deg");
  const Scene scene = mark::prepare(small.job);
  const Scene filled = with(scene, "laser.power", 0);
  EXPECT_EQ(filled.image.tone.size(), 1u);
  const motion::Raster was = mark::plan(scene), is = mark::plan(filled);
  EXPECT_EQ(is.lines, was.lines);
  EXPECT_NEAR(is.along_from, was.along_from, 1e-12);
  EXPECT_NEAR(is.along_to, was.along_to, 1e-12);
  const workpiece::Surface surface = mark::develop(filled);
  const auto tone = [&](const Scene& s) {
    motion::Commands::Scratch scratch;
    std::vector<float> out(size_t(surface.axial));
    const motion::Commands commands(s.image, s.job.artwork, surface.axial_edges());
    commands.row(surface.arc(surface.around / 2), surface.arc(surface.around / 2 + 1), out, scratch);
    return out;
  };
  EXPECT_EQ(tone(filled)[size_t(surface.axial / 2)], 1);
  Scene whole = filled;
  whole.image = scene.image;
  EXPECT_EQ(tone(whole), tone(scene));
  EXPECT_EQ(tone(whole)[size_t(surface.axial / 2)], 0);  // the island
  SmallJob light = stated();
  light.with("artwork.burns", "light");
  const Scene white = with(mark::prepare(light.job), "laser.power", 0);
  EXPECT_EQ(white.image.tone.front(), 65535);
}

TEST(Drawn, NeedsADeviateEach) {
  const Scene scene = mark::prepare(stated().job);
  const std::vector<Unknown> all = unknowns(scene);
  EXPECT_THAT([&] { drawn(scene, all, std::vector{0.0}); },
              ThrowsMessage<quantity::ValidityError>(HasSubstr("1 deviates for")));
  for (const double bad : {std::nan(""), 1e300})
    EXPECT_THAT([&] { with(scene, "laser.power", bad); },
                ThrowsMessage<quantity::ValidityError>(HasSubstr("unknown: deviate of laser.power")));
}

// On rollers that slip somewhat.
SmallJob rolling(const char* direction, const char* slip) {
  SmallJob small;
  small.with("rotary.drive", "rollers").with("rotary.slip", slip).with("rotary.slip_spread", "2 %");
  small.with("scan.direction", direction).with("scan.spacing", "80 um");
  return small;
}

TEST(Slip, StandsWhereThePartTurnsOnRollers) {
  const std::vector<Unknown> all = unknowns(mark::prepare(rolling("axial", "5 %").job));
  const Unknown& slip = named(all, "rotary.slip");
  EXPECT_DOUBLE_EQ(slip.at(-1.5), 0.02);
  EXPECT_STREQ(slip.unit, "%");
  for (const auto& [key, text] :
       {std::pair{"rotary.slip_spread", "0 %"}, std::pair{"mount.hold", "standing"}})
    EXPECT_THAT(names(unknowns(mark::prepare(rolling("axial", "5 %").with(key, text).job))),
                Not(Contains("rotary.slip")));
}

TEST(Slip, DrawsLinesTogetherOrSlowsThemDown) {
  const Scene axial = mark::prepare(rolling("axial", "4 %").job),
              around = mark::prepare(rolling("around", "4 %").job);
  EXPECT_NEAR(with(axial, "rotary.slip", 3).job.scan.spacing, 80e-6 * 0.90 / 0.96, 1e-15);
  EXPECT_EQ(with(axial, "rotary.slip", 3).job.scan.speed, axial.job.scan.speed);
  EXPECT_NEAR(with(around, "rotary.slip", -1).job.scan.speed, around.job.scan.speed * 0.98 / 0.96, 1e-15);
  EXPECT_EQ(with(around, "rotary.slip", -1).job.scan.spacing, around.job.scan.spacing);
  EXPECT_NEAR(with(axial, "rotary.slip", -9).job.scan.spacing, 80e-6 / 0.96, 1e-15);  // no less than none
  EXPECT_NEAR(with(axial, "rotary.slip", 90).job.scan.spacing, 80e-6 * 0.5 / 0.96, 1e-15);
}

// At the power from which a draw's fill is marked, so is a whole prediction that slips as much, where it is
// the driven radius that grows.
TEST(Slip, IsWhatAPredictionMakesOfIt) {
  for (const char* direction : {"axial", "around"}) {
    SmallJob small = rolling(direction, "0 %");
    small.with("laser.rated_power", "100 W").with("outcome.required", "90 %").with("scan.power", "10 W");
    const Scene firm = mark::prepare(small.job), slipping = with(firm, "rotary.slip", 7.5);
    const auto marks = [](const Scene& s) {
      return Look(s, place_of(s, fill_of(s.job)), s.job.scan.speed).ends().marks;
    };
    EXPECT_LT(marks(slipping), 0.87 * marks(firm)) << direction;
    small.with("grid.cell", "2 um").with("grid.margin", "0 mm").with("rotary.slip", "15 %");
    small.job.scan.power = marks(slipping);
    const mark::MarkMap map = small.on_a_cold_wall();
    EXPECT_NEAR(map.mark_factors.at_count(0.9 * double(map.mark_factors.cells())), 1, 0.05) << direction;
  }
}

// Whatever spacing and speed are asked about, draws see them slip.
TEST(Slip, IsInTheChances) {
  for (const char* direction : {"axial", "around"}) {
    Scene scene = mark::prepare(rolling(direction, "5 %").job);
    for (Material* m : {&scene.base, &*scene.coat}) {
      for (const auto& field : workpiece::material_fields())
        if (const auto* figure = std::get_if<quantity::Figure Material::*>(&field.member))
          (m->**figure).spread = 0;
      for (Optics& optics : m->optics) optics.absorptivity.spread = 0;
    }
    ASSERT_EQ(names(unknowns(scene)), std::vector<std::string>{"rotary.slip"});
    const Place place = place_of(scene, {80e-6, 0, 1});
    const double speed = 30e-3;
    const Outlook outlook = Doubt(scene, {.count = 4, .seed = 3}).over(place, std::span(&speed, 1)).front();
    const std::vector<double> deviates = normal_points(1, 4, 3);
    for (size_t i = 0; i < 4; ++i) {
      const double factor = (0.95 - 0.02 * deviates[i]) / 0.95;
      const bool axial = scene.job.scan.direction == motion::Direction::axial;
      const Place close = place_of(scene, {80e-6 * (axial ? factor : 1), 0, 1});
      const Ends found = Look(scene, close, speed * (axial ? 1 : factor)).ends();
      EXPECT_NEAR(outlook.marks()[i], std::log(found.marks), 1e-9);
      EXPECT_NEAR(outlook.burns()[i], std::log(found.burns), 1e-9);
    }
  }
}

// What a prediction says, but for its notes.
std::string told(const SmallJob& small) {
  mark::MarkMap map = small.predicted(true);
  map.verdict.notes.clear();
  map.verdict.cautions.clear();
  std::string out = mark::json(map.verdict);
  for (const quantity::Map<float>* m :
       {&map.maps.fluence, &map.maps.changed, &map.maps.peak_temperature, &map.maps.margin})
    for (int row = 0; row < map.surface.around; ++row)
      out.append(reinterpret_cast<const char*>(m->row(row).data()), m->row(row).size_bytes());
  return out;
}

struct Kind {
  const char* name;
  std::function<void(SmallJob&)> make;
  std::function<void(Material&)> alter = [](Material&) {};
};

class Read : public testing::TestWithParam<Kind> {
 protected:
  void SetUp() override {
    small_.with("grid.cell", "50 um").with("artwork.size_axial", "2 mm");
    GetParam().make(small_);
    const Scene scene = mark::prepare(small_.job);
    small_.job.materials = {scene.base};
    if (scene.coat) small_.job.materials.push_back(*scene.coat);
    for (Material& m : small_.job.materials) GetParam().alter(m);
    small_.job.grid.margin = 0.1e-3;
    plain_ = told(small_);
  }

  // Whether any alteration within the field's bounds shows.
  template <class Field>
  bool shows(quantity::Figure& figure, const Field& field) {
    const quantity::Figure kept = figure;
    bool shown = false;
    for (const double factor : {1.03, 0.97, 0.3, 3.0, 10.0}) {
      figure.value = std::clamp(kept.value * factor, field.low, field.high);
      try {
        shown = shown || (figure.value != kept.value && told(small_) != plain_);
      } catch (const std::exception&) {  // a solidus above its liquidus, and the like: tells nothing
      }
    }
    figure = kept;
    return shown;
  }

  template <class Section>
  void each(Section& section, const quantity::Fields<Section>& fields, const std::string& record) {
    const std::vector<std::string> listed = names(unknowns(mark::prepare(small_.job)));
    for (const auto& field : fields) {
      const auto* const member = std::get_if<quantity::Figure Section::*>(&field.member);
      const std::string key = field.key, name = record + "." + key;
      if (!member || !(section.**member).known() || key.ends_with("_activation") || key == "wavelength")
        continue;
      const bool lists = std::ranges::find(listed, name) != listed.end();
      if (!lists && !((section.**member).spread > 0)) continue;
      EXPECT_EQ(lists, shows(section.**member, field)) << name;
    }
  }

  SmallJob small_{mark::island()};
  std::string plain_;
};

// A figure is listed just when altering it alters the prediction; activations are held, their rates have the
// doubt.
TEST_P(Read, IsWhatIsListed) {
  const double light = small_.job.laser.wavelength;
  for (Material& m : small_.job.materials) {
    each(m, workpiece::material_fields(), m.name);
    const Optics& found = workpiece::optics_at(m, light);
    each(m.optics[size_t(&found - m.optics.data())], workpiece::optics_fields(), m.name);
  }
}

void measured_threshold(Material& m) {
  if (m.kind != workpiece::Kind::coat) return;
  m.threshold = {3e3, 0.2, "made up"};
  m.threshold_dwell = {1e-3, 0.1, "made up"};
}

INSTANTIATE_TEST_SUITE_P(
    Bodies, Read,
    testing::Values(
        Kind{"coated", [](SmallJob&) {}},
        Kind{"blown_off", [](SmallJob& s) { s.with("outcome.removal", "blow_off"); }},
        Kind{"measured", [](SmallJob&) {}, measured_threshold},
        Kind{"liquidus", [](SmallJob& s) { s.with("outcome.over_burn", "liquidus"); }},
        Kind{"standing",
             [](SmallJob& s) {
               s.bare("aisi_304", "0.4 mm").with("mount.hold", "standing").with("workpiece.diameter", "4 mm");
             }},
        Kind{"around", [](SmallJob& s) { s.bare("aisi_304", "0.4 mm").with("scan.direction", "around"); }},
        Kind{"tapered", [](SmallJob& s) { s.bare("aisi_304", "0.4 mm").tapered(30e-3); }},
        Kind{"beside", [](SmallJob& s) { s.bare("aisi_304", "0.4 mm").with("mount.beam_offset", "10 mm"); }},
        Kind{"oxidised", [](SmallJob& s) { s.bare("aisi_304", "0.4 mm"); }},
        Kind{"seen", [](SmallJob& s) { s.bare("copper", "0.5 mm"); }},
        Kind{"glass", [](SmallJob& s) { s.bare("soda_lime_glass", "3 mm"); }},
        Kind{"dyed",
             [](SmallJob& s) {
               s.job.workpiece.coat_thickness = 15e-6;
               s.with("workpiece.coat", "anodic_layer_dyed_black");
             }},
        Kind{"organic", [](SmallJob& s) { s.bare("leather", "3 mm").with("scan.power", "0.05 W"); }},
        Kind{"painted", [](SmallJob& s) { s.with("workpiece.base", "birch"); }}),
    [](const auto& param) { return std::string(param.param.name); });

}  // namespace
}  // namespace circumfluence::window
