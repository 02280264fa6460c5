// Truth: Murray-Davies in its limit, Yule-Nielsen by figures worked out elsewhere, the width of a line by
// hand, and counts.
#include "look/tones.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "artwork/halftone.h"
#include "mark/small_job.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using artwork::Screen;
using mark::SmallJob;
using quantity::ValidityError;
using testing::Contains;
using testing::HasSubstr;
using testing::ThrowsMessage;

struct Ready {
  mark::Scene scene;
  Swatches swatches;
  Finish finish;

  explicit Ready(const SmallJob& small, double cell = 0)
      : scene(mark::prepare(small.job)), swatches(scene, cell), finish(scene, swatches.model()) {}
  ToneCurve curve(std::optional<Screen> screen, double dot = 0, int count = 17) const {
    return tone_curve(swatches, finish, {.screen = screen, .dot = dot, .count = count});
  }
};

Tone tone(double share, double reflectance) {
  const double y = reflectance * 100;
  return {share, appearance::lab_from_xyz({0.95047 * y, y, 1.08883 * y}), reflectance, share};
}

// Dots grow against the spot: what is left of the spread goes with one over their size, and the limit is
// Murray-Davies.
TEST(Tones, MurrayDaviesWhereTheSpotIsFarSmallerThanTheDot) {
  SmallJob small;
  small.with("laser.spot_axial", "20 um").with("laser.spot_around", "20 um").with("scan.spacing", "0.01 mm");
  const Ready ready(small.with("scan.power", "0.6 W"), 5e-6);
  double off[2] = {};
  for (const int i : {0, 1}) {
    const ToneCurve curve = ready.curve(Screen::bayer, i == 0 ? 0.2e-3 : 0.4e-3, 3);
    const Tone& ground = curve.tones.front();
    const Tone& mark = curve.tones.back();
    const auto half =
        std::find_if(curve.tones.begin(), curve.tones.end(), [](const Tone& t) { return t.share == 0.5; });
    ASSERT_NE(half, curve.tones.end());
    off[i] = (half->reflectance - ground.reflectance) / (mark.reflectance - ground.reflectance) - 0.5;
    EXPECT_GT(mark.marked, 0.999);
    EXPECT_EQ(ground.marked, 0);
  }
  EXPECT_GT(off[0], 0.01);
  EXPECT_NEAR(2 * off[1] - off[0], 0, 0.005);
}

// Yule-Nielsen of R_p = 0.80, R_s = 0.08, a = 0.5, worked out in double precision: n, R, and the area that R
// appears as.
TEST(Tones, ApparentNAndGain) {
  const double cases[][3] = {
      {1, 0.440000, 0.5}, {1.5, 0.379007, 0.58471}, {2, 0.346491, 0.62987}, {4, 0.297902, 0.69736}};
  for (const auto& [n, half, area] : cases) {
    const ToneCurve curve = curve_of({tone(0, 0.80), tone(0.5, half), tone(1, 0.08)});
    EXPECT_NEAR(curve.apparent_n, n, 2e-4);
    EXPECT_NEAR(curve.gain, area - 0.5, 1e-5);
  }
  EXPECT_TRUE(std::isnan(
      curve_of({tone(0, 0.80), tone(0.5, 0.1), tone(1, 0.08)}).apparent_n));         // beyond n = infinity
  const ToneCurve light = curve_of({tone(0, 0.08), tone(0.5, 0.5), tone(1, 0.80)});  // light dots that grew
  EXPECT_LT(light.apparent_n, 1);
  EXPECT_GT(light.gain, 0);
}

TEST(Tones, AStraightCurveIsItsOwnInverse) {
  std::vector<Tone> tones;
  for (int i = 0; i <= 16; ++i) {
    Tone t{i / 16.0, {80 - 60 * i / 16.0, 0, 0}, 0, 0};
    t.reflectance = 0.5 - i / 40.0;
    tones.push_back(t);
  }
  const ToneCurve curve = curve_of(tones);
  for (const double way : {0.0, 0.1, 0.5, 0.77, 1.0}) EXPECT_NEAR(given_for(curve, way), way, 1e-9);
  EXPECT_EQ(curve.unsteady, 0);
  EXPECT_NEAR(curve.start, 1 / 60.0, 0.01);  // one CIEDE2000 is about one of L
  EXPECT_NEAR(curve.full, 1 - 1 / 60.0, 0.01);
  EXPECT_GT(curve.steps, 40);
}

// CIEDE2000 of two greys is their difference in L over S_L = 1 + 0.015 (L - 50)^2 / sqrt(20 + (L - 50)^2), L
// their mean.
TEST(Tones, GreysThatStayApartAreCounted) {
  const auto lab = [](double share, double l) { return Tone{share, {l, 0, 0}, l / 100, 0}; };
  // From 45 to 55, where S_L is at most 1.06: nine steps and a bit; of four shares given only the four and
  // the ground.
  EXPECT_EQ(curve_of({lab(0, 45), lab(1, 55)}, 10000).steps, 10);
  EXPECT_EQ(curve_of({lab(0, 45), lab(1, 55)}, 4).steps, 5);
  EXPECT_EQ(curve_of({lab(0, 45), lab(0.01, 55), lab(1, 55)}, 100).steps, 2);  // a cliff between two shares
}

TEST(Tones, WhatTurnsBackIsPooled) {
  const auto lab = [](double share, double l) { return Tone{share, {l, 0, 0}, l / 100, 0}; };
  const ToneCurve curve = curve_of({lab(0, 20), lab(0.25, 60), lab(0.5, 40), lab(1, 80)});
  EXPECT_NEAR(curve.unsteady, 20.0 / 60, 1e-12);
  // 60 and 40 make a pool of 50: half way is reached at 0.25 and left at 0.5.
  EXPECT_NEAR(given_for(curve, 0.5), 0.25, 1e-9);
  EXPECT_NEAR(given_for(curve, 0.25), 0.125, 1e-9);
  EXPECT_NEAR(given_for(curve, 0.75), 0.75, 1e-9);
  for (size_t i = 1; i < curve.given.size(); ++i) EXPECT_GE(curve.given[i], curve.given[i - 1]);
}

TEST(Tones, NoContrastIsSaid) {
  const ToneCurve curve = curve_of({tone(0, 0.3), tone(1, 0.3)});
  EXPECT_THAT(curve.notes, Contains(HasSubstr("cannot be seen")));
  EXPECT_NEAR(given_for(curve, 0.4), 0.4, 1e-9);
  EXPECT_EQ(curve.steps, 1);
  EXPECT_THROW(curve_of({tone(0, 0.3)}), ValidityError);
}

// Dots of any screen: more given, more marked; nothing given, nothing; all given, the full area.
TEST(Tones, MarkedShareGrowsWithTheShareGiven) {
  const Ready ready(SmallJob(), 20e-6);
  for (const Screen screen : {Screen::bayer, Screen::floyd_steinberg, Screen::blue_noise}) {
    const ToneCurve curve = ready.curve(screen);
    ASSERT_GE(curve.tones.size(), 17u);
    ASSERT_LE(curve.tones.size(), 34u);
    EXPECT_EQ(curve.tones.front().marked, 0);
    EXPECT_EQ(curve.tones.front().share, 0);
    EXPECT_EQ(curve.tones.back().share, 1);
    EXPECT_NEAR(curve.tones.back().marked, full_share(ready.swatches), 0.01);
    for (size_t i = 1; i < curve.tones.size(); ++i) {
      EXPECT_GE(curve.tones[i].share, curve.tones[i - 1].share);
      if (curve.tones[i].share == curve.tones[i - 1].share) continue;
      EXPECT_GT(curve.tones[i].marked, curve.tones[i - 1].marked) << name_of(screen) << i;
    }
  }
}

// A lone line's width where what light is left removes the film, by hand: F(y) = E' / w sqrt(2 / pi) exp(-2
// y^2 / w^2).
TEST(Tones, LinesFarApartMarkTheirWidth) {
  SmallJob small;
  small.with("scan.spacing", "0.3 mm");
  const Ready ready(small, 2.5e-6);
  const response::Film& film = *ready.swatches.model().film;
  const double needed = (ready.swatches.model().thresholds[0] + film.need * film.energy) / film.absorptivity;
  const double w = 40e-6, peak = 7.5 / (2.5 / 60) / w * std::sqrt(2 / quantity::kPi);
  const double width = w * std::sqrt(2 * std::log(peak / needed));
  ASSERT_GT(peak, needed);
  EXPECT_NEAR(full_share(ready.swatches), width / 0.3e-3, 2 * 2.5e-6 / 0.3e-3);
}

// Corrected flat greys come out on the straight line of lightness.
TEST(Tones, CorrectedGreysAreAsLightAsAsked) {
  const Ready ready{SmallJob()};
  for (const bool dots : {true, false}) {
    const ToneCurve curve = ready.curve(dots ? std::optional(Screen::bayer) : std::nullopt, 0, 33);
    const double ground = curve.tones.front().lab.l, mark = curve.tones.back().lab.l;
    for (const double way : {0.2, 0.4, 0.6, 0.8}) {
      const auto asked = static_cast<std::uint16_t>(std::lround(65535 * (1 - way)));
      const artwork::Image flat{16, 16, std::vector<std::uint16_t>(256, asked), {}};
      artwork::Image art = corrected(flat, artwork::Burns::dark, curve);
      if (dots) art = artwork::halftone(art, Screen::bayer);
      const Swatch swatch =
          ready.swatches.burn(art, 0.1e-3, dots ? artwork::ToneUse::threshold : artwork::ToneUse::grey);
      const Shade shade = mean_shade(swatch, {-0.4e-3, 0.4e-3, -0.4e-3, 0.4e-3}, ready.finish);
      const double l = appearance::lab_from_xyz(appearance::xyz_from_linear(in_diffuse_light(shade))).l;
      EXPECT_NEAR(l, std::lerp(ground, mark, way), 2) << way;
    }
  }
}

// A ramp of all tones, corrected and burnt as blue noise, is as light as the ramp asks for, stripe by stripe;
// as it stands it is not.
TEST(Tones, ACorrectedRampFollowsThePicture) {
  const Ready ready{SmallJob()};
  const ToneCurve curve = ready.curve(Screen::blue_noise);
  artwork::Image ramp{64, 32, {}, {}};
  for (int i = 0; i < 64 * 32; ++i) ramp.tone.push_back(std::uint16_t(65535 * (63 - i % 64) / 63));
  const auto worst = [&](const artwork::Image& art) {
    const Swatch swatch =
        ready.swatches.burn(artwork::halftone(art, Screen::blue_noise), 0.1e-3, artwork::ToneUse::threshold);
    double most = 0;
    for (int x = 4; x < 60; x += 8) {
      const Shade shade =
          mean_shade(swatch, {(x - 32) * 0.1e-3, (x - 24) * 0.1e-3, -1.5e-3, 1.5e-3}, ready.finish);
      const double l = appearance::lab_from_xyz(appearance::xyz_from_linear(in_diffuse_light(shade))).l;
      most = std::max(
          most, std::abs(l - std::lerp(curve.tones.front().lab.l, curve.tones.back().lab.l, (x + 3.5) / 63)));
    }
    return most;
  };
  const double before = worst(ramp), after = worst(corrected(ramp, artwork::Burns::dark, curve));
  EXPECT_GT(before, 20);
  EXPECT_LT(after, 2.5);
}

TEST(Tones, CorrectedArtKeepsItsSizeAndOpacityCounts) {
  const ToneCurve curve = curve_of({tone(0, 0.8), tone(0.5, 0.1), tone(1, 0.08)});
  const artwork::Image art{2, 2, {0, 65535, 0, 32768}, {65535, 65535, 0, 65535}};
  const artwork::Image dark = corrected(art, artwork::Burns::dark, curve);
  EXPECT_EQ(dark.width, 2);
  EXPECT_TRUE(dark.opacity.empty());
  EXPECT_EQ(dark.tone[0], 0);
  EXPECT_EQ(dark.tone[1], 65535);
  EXPECT_EQ(dark.tone[2], 65535);  // transparent: nothing asked
  EXPECT_NEAR(dark.tone[3], 65535 * (1 - given_for(curve, 32767 / 65535.0)), 1);
  const artwork::Image light = corrected(art, artwork::Burns::light, curve);
  EXPECT_EQ(light.tone[0], 65535);
  EXPECT_EQ(light.tone[1], 0);
}

TEST(Tones, SaysWhereItOverBurns) {
  SmallJob small;
  small.bare("aisi_304")
      .with("scan.power", "10 W")
      .with("scan.speed", "300 mm/min")
      .with("scan.spacing", "0.05 mm");
  const Ready ready(small);
  const ToneCurve curve = ready.curve(std::nullopt, 0, 9);
  EXPECT_EQ(curve.tones.front().over, 0);
  EXPECT_GT(curve.tones.back().over, 0.5);
  for (size_t i = 1; i < curve.tones.size(); ++i) EXPECT_GE(curve.tones[i].over, curve.tones[i - 1].over);
  EXPECT_THAT(curve.notes, Contains(HasSubstr("places over-burn")));
}

TEST(Tones, SmallestDotAndGap) {
  const Ready ready(SmallJob(), 5e-6);
  const Smallest least = smallest(ready.swatches);
  EXPECT_GT(least.dot, 0.02e-3);
  EXPECT_LT(least.dot, 0.3e-3);
  // Where marks are wider than drawn, gaps are narrower.
  EXPECT_GT(least.gap, least.dot / 2);
  SmallJob faint;
  const Ready none(faint.with("scan.power", "0.1 W"), 10e-6);
  EXPECT_TRUE(std::isinf(smallest(none.swatches).dot));
  EXPECT_EQ(smallest(none.swatches).gap, 0);
}

TEST(Tones, SaysWhenDotsAreTooFineOrUneven) {
  const Ready ready(SmallJob(), 20e-6);
  EXPECT_THAT([&] { ready.curve(Screen::bayer, 30e-6); },
              ThrowsMessage<ValidityError>(HasSubstr("cells of at most 15 um")));
  EXPECT_THROW(ready.curve(Screen::bayer, 0, 2), ValidityError);
  EXPECT_THROW(ready.curve(Screen::bayer, 0, 258), ValidityError);
  EXPECT_THAT(ready.curve(Screen::bayer, 0.15e-3, 3).notes, Contains(HasSubstr("1.50 lines wide")));
  EXPECT_THAT(ready.curve(Screen::bayer, 0.05e-3, 3).notes, Contains(HasSubstr("finer than the lines")));
  int calls = 0;
  const auto stop = [&](double) { return ++calls < 3; };
  EXPECT_THROW(tone_curve(ready.swatches, ready.finish, {.progress = stop}), quantity::Interrupted);
}

TEST(Tones, ChartHoldsEveryCurve) {
  const Ready ready(SmallJob(), 20e-6);
  const appearance::Chart chart = tone_chart({ready.curve(std::nullopt), ready.curve(Screen::bayer)});
  EXPECT_EQ(chart.curves.size(), 4u);
  EXPECT_EQ(chart.curves[0].label, "power");
  EXPECT_TRUE(chart.curves[3].dashed);
  // Corrected, lightness runs straight from end to end.
  const std::vector<appearance::Point>& line = chart.curves[3].points;
  for (const appearance::Point& p : line)
    EXPECT_NEAR(p.y, std::lerp(line.front().y, line.back().y, p.x / 100), 1.5);
  for (const appearance::Curve& curve : chart.curves)
    for (const appearance::Point& p : curve.points) EXPECT_TRUE(p.y >= chart.y.from && p.y <= chart.y.to);
}

}  // namespace
}  // namespace circumfluence::look
