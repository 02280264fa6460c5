// Truth: the definitions in the header, worked out by hand for records made up here.
#include "response/model.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "quantity/error.h"
#include "response/threshold.h"

namespace circumfluence::response {
namespace {

using quantity::ValidityError;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::ThrowsMessage;
using workpiece::Kind;
using workpiece::Material;

const std::vector<exposure::SpotState> kStates = {{40e-6, 50e-6, 0.04}, {80e-6, 50e-6, 0.04}};

Material material(const char* name, Kind kind) {
  Material m;
  m.name = name;
  m.title = std::string("a test ") + name;
  m.kind = kind;
  m.density.value = kind == Kind::metal ? 7900 : 1400;
  m.heat_capacity.value = kind == Kind::metal ? 500 : 1500;
  m.conductivity.value = kind == Kind::metal ? 13 : 0.27;
  m.optics.resize(1);
  m.optics[0].wavelength.value = 450e-9;
  m.optics[0].absorptivity.value = kind == Kind::metal ? 0.4 : 0.9;
  return m;
}

Material metal() {
  Material m = material("steel", Kind::metal);
  m.conductivity_slope.value = 0.016;
  m.solidus.value = 1673;
  m.liquidus.value = 1723;
  m.marking_onset.value = 1300;
  m.marking_onset.spread = 0.1;
  return m;
}

Material paint(Kind kind = Kind::coat) {
  Material m = material(kind == Kind::coat ? "paint" : "wood", kind);
  m.removal_temperature.value = 950;
  m.removal_energy.value = 3.3e9;
  m.removal_depth.value = 5e-6;
  return m;
}

workpiece::Part part() {
  workpiece::Part p;
  p.wall = 0.5e-3;
  p.coat_thickness = 60e-6;
  p.temperature = 313.15;
  return p;
}

TEST(Model, CoatedMetal) {
  const Material base = metal(), coat = paint();
  const workpiece::Part p = part();
  Limits limits;
  limits.coat_left = 0.1;
  const Model model = make_model({p, base, &coat, 450e-9}, limits, kStates);
  EXPECT_EQ(model.body, Body::coated);
  ASSERT_TRUE(model.film);
  EXPECT_FLOAT_EQ(model.film->thickness, 60e-6f);
  EXPECT_FLOAT_EQ(model.film->need, 54e-6f);
  EXPECT_FLOAT_EQ(model.film->energy, 3.3e9f);
  EXPECT_FLOAT_EQ(model.film->absorptivity, 0.9f);
  EXPECT_THAT(model.thresholds,
              ElementsAre(float(threshold(coat, 313.15, 1e-3)), float(threshold(coat, 313.15, 2e-3))));
  EXPECT_EQ(model.limit, 1673);
  EXPECT_NEAR(model.conductivity.at_start, 13 + 0.016 * 20, 1e-12);  // the part starts at 40 degC
  EXPECT_NEAR(model.base.solid.diffusivity, model.conductivity.at_start / (7900 * 500), 1e-18);
  EXPECT_EQ(model.base.absorptivity, 0.4);
  EXPECT_THAT(model.notes, IsEmpty());
}

TEST(Model, LiquidusWhenMeltingIsTolerated) {
  const Material base = metal();
  const workpiece::Part p = part();
  Limits limits;
  limits.over_burn = OverBurn::liquidus;
  const Model model = make_model({p, base, nullptr, 450e-9}, limits, kStates);
  EXPECT_EQ(model.body, Body::bare);
  EXPECT_FALSE(model.film);
  EXPECT_EQ(model.limit, 1723);
  EXPECT_EQ(model.onset, 1300);
  EXPECT_LT(model.faint, model.onset);
  EXPECT_GT(model.faint, model.start);
  // int k dT over the rise, by the trapezoidal rule, which is exact for a line.
  const double rise = 1723 - 313.15, k0 = model.conductivity.at_start;
  EXPECT_NEAR(model.limit_rise(), rise * (k0 + (k0 + 0.016 * rise)) / 2 / k0, 1e-9);
}

TEST(Model, OrganicBodyIsItsOwnFilm) {
  const Material base = paint(Kind::organic);
  const workpiece::Part p = part();
  Limits limits;
  limits.removal = RemovalLaw::blow_off;  // for coats alone
  const Model model = make_model({p, base, nullptr, 450e-9}, limits, kStates);
  EXPECT_EQ(model.body, Body::organic);
  EXPECT_EQ(model.film->law, RemovalLaw::steady);
  EXPECT_FLOAT_EQ(model.film->thickness, 0.5e-3f);
  EXPECT_FLOAT_EQ(model.film->need, 5e-6f);
  EXPECT_EQ(model.limit, 950);
}

TEST(Model, ClearBodyTransmitsAndSaysSo) {
  Material glass = metal();
  glass.kind = Kind::glass;
  glass.optics[0].depth.value = 0.1;
  const workpiece::Part p = part();
  const Model model = make_model({p, glass, nullptr, 450e-9}, {}, kStates);
  EXPECT_NEAR(model.transmitted, std::exp(-0.5e-3 / 0.1), 1e-12);
  EXPECT_NEAR(model.base.absorptivity, 0.4 * (1 - std::exp(-std::sqrt(80e-6 * 50e-6) / 0.1)), 1e-12);
  EXPECT_THAT(model.notes, ElementsAre(AllOf(HasSubstr("clear at 450 nm"), HasSubstr("what lies behind"))));
}

TEST(Model, ThinFilmIsNoted) {
  const Material base = metal(), coat = paint();
  workpiece::Part p = part();
  p.coat_thickness = 10e-6;  // heat reaches 16 um in the longer dwell
  EXPECT_THAT(make_model({p, base, &coat, 450e-9}, {}, kStates).notes, ElementsAre(HasSubstr("is thin")));
}

TEST(Model, NamesWhatIsMissing) {
  const workpiece::Part p = part();
  const auto fails = [&](const Material& base, const Material* coat, double light, const char* words,
                         Limits limits = {}) {
    EXPECT_THAT(
        [&] {
          make_model({p, base, coat, light}, limits, kStates);
        },
        ThrowsMessage<ValidityError>(HasSubstr(words)));
  };
  Material coat = paint();
  coat.removal_energy = {};
  fails(metal(), &coat, 450e-9, "material paint has no removal_energy");
  coat = paint();
  coat.removal_depth = {};
  Limits blow_off;
  blow_off.removal = RemovalLaw::blow_off;
  fails(metal(), &coat, 450e-9, "material paint has no removal_depth", blow_off);
  coat = paint();
  fails(metal(), &coat, 1064e-9, "no optics at 1064 nm (on record: 450 nm)");
  Material base = metal();
  base.solidus = {};
  fails(base, nullptr, 450e-9, "material steel has no solidus");
  base = metal();
  base.oxide_rate.value = 1e-9;
  fails(base, nullptr, 450e-9, "material steel has no oxide_activation");
  base = metal();
  base.optics[0].absorptivity = {};
  fails(base, nullptr, 450e-9, "material steel has no absorptivity at 450 nm");
}

}  // namespace
}  // namespace circumfluence::response
