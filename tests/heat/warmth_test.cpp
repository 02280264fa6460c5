// Truth: the law in the header, worked out directly with heat::peak and heat::LayeredSpot (themselves held to closed
// forms and published values).
#include "heat/warmth.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace circumfluence::heat {
namespace {

using Within = Warmth::Within;

const Base kSteel{{12.86, 12.86 / (7900.0 * 500)}, 0.4, 0.5e-3};
const std::vector<exposure::SpotState> kStates = {
    {40e-6, 40e-6, 0.03}, {40e-6, 55e-6, 0.0417}, {80e-6, 50e-6, 0.1}, {60e-6, 60e-6, 0.25}};

double direct(const Base& base, const exposure::SpotState& s, double eta) {
  const Stack stack{{{base.wall, base.solid.conductivity, base.solid.conductivity / base.solid.diffusivity}}};
  const LayeredSpot spot(stack, {s.along, s.across, s.speed}, 0, base.orders);
  return base.absorptivity * s.speed * spot.peak(eta * s.across).rise;
}

exposure::EventRow event(std::uint16_t state, float eta, float half = 0.3f) {
  exposure::EventRow row{};
  row.uniform = true;
  row.eta = eta;
  row.half = half;
  row.angle = 1;
  row.state = state;
  return row;
}

TEST(Warmth, IsThePeakOfTheMovingSpotAndTheWall) {
  const Warmth warmth(kSteel, kStates);
  for (std::uint16_t s = 0; s < kStates.size(); ++s) {
    const double line = direct(kSteel, kStates[s], 0);
    for (const float eta : {0.0f, 0.21f, 0.5f, 1.0f, 1.7f, 2.6f, 3.9f})
      EXPECT_NEAR(warmth.at(event(s, eta), Within::centre), direct(kSteel, kStates[s], eta), 2e-3 * line)
          << s << " " << eta;
  }
}

TEST(Warmth, OfAThickWallIsTheHalfSpace) {
  const Base thick{kSteel.solid, 0.4, 20e-3};
  const Warmth warmth(thick, kStates);
  for (std::uint16_t s = 0; s < kStates.size(); ++s)
    for (const float eta : {0.0f, 0.7f, 2.0f}) {
      const exposure::SpotState& state = kStates[s];
      const double rise = peak(thick.solid, {state.along, state.across, state.speed}, eta * state.across).rise;
      const double line = peak(thick.solid, {state.along, state.across, state.speed}).rise;
      EXPECT_NEAR(warmth.at(event(s, eta), Within::centre), 0.4 * state.speed * rise, 2e-3 * 0.4 * state.speed * line);
    }
}

TEST(Warmth, AFlatTopIsCoolerInTheMiddleThanAGaussianOfTheSameSecondMoment) {
  Base flat = kSteel;
  flat.orders = {10, 10};
  EXPECT_LT(Warmth(flat, kStates).at(event(0, 0), Within::centre), Warmth(kSteel, kStates).at(event(0, 0), Within::centre));
}

TEST(Warmth, StatesThatChangeLittleByLittleAreAsGoodAsOneByOne) {
  std::vector<exposure::SpotState> states;  // out of focus toward both ends
  for (int i = 0; i <= 300; ++i) {
    const double z = (i - 120) / 60.0, radius = 40e-6 * std::sqrt(1 + z * z);
    states.push_back({radius, 1.2 * radius, 0.04});
  }
  const Warmth warmth(kSteel, states);
  for (const int i : {0, 1, 2, 59, 118, 119, 121, 122, 123, 201, 298, 299, 300})
    for (const float eta : {0.0f, 0.8f, 2.0f})
      EXPECT_NEAR(warmth.at(event(std::uint16_t(i), eta), Within::centre), direct(kSteel, states[size_t(i)], eta),
                  2e-3 * direct(kSteel, states[size_t(i)], 0))
          << i << " " << eta;
}

TEST(Warmth, NearestPointOfACell) {
  const Warmth warmth(kSteel, kStates);
  EXPECT_EQ(warmth.at(event(1, 1.0f, 0.25f), Within::nearest), warmth.at(event(1, 0.75f), Within::centre));
  EXPECT_EQ(warmth.at(event(1, 0.1f, 0.25f), Within::nearest), warmth.at(event(1, 0.0f), Within::centre));
}

TEST(Warmth, RowsAgreeWithSingleEvents) {
  const Warmth warmth(kSteel, kStates);
  std::mt19937 random(7);
  constexpr int kColumns = 517;
  std::vector<float> etas(kColumns), halves(kColumns), angles(kColumns), out(kColumns);
  std::vector<std::uint16_t> states(kColumns);
  for (int i = 0; i < kColumns; ++i) {
    etas[i] = std::uniform_real_distribution<float>(0, 4)(random);
    halves[i] = std::uniform_real_distribution<float>(0, 1)(random);
    angles[i] = std::uniform_real_distribution<float>(0.5f, 1.5f)(random);
    states[i] = static_cast<std::uint16_t>(random() % kStates.size());
  }
  exposure::EventRow row{};
  row.etas = etas.data();
  row.halves = halves.data();
  row.angles = angles.data();
  row.states = states.data();
  for (const Within within : {Within::centre, Within::nearest}) {
    warmth.row(row, within, out);
    for (int i = 0; i < kColumns; ++i) {
      exposure::EventRow one = event(states[i], etas[i], halves[i]);
      one.angle = angles[i];
      const float alone = warmth.at(one, within);
      ASSERT_NEAR(out[i], alone, 2e-6 * alone) << i;
    }
  }
}

TEST(Warmth, FallsAwayFromTheLine) {
  const Warmth warmth(kSteel, kStates);
  for (std::uint16_t s = 0; s < kStates.size(); ++s)
    for (float eta = 0; eta < 5; eta += 0.05f)
      EXPECT_GE(warmth.at(event(s, eta), Within::centre) * (1 + 1e-6f),
                warmth.at(event(s, eta + 0.05f), Within::centre));
}

TEST(Warmth, WallShareAndGreatest) {
  const Warmth warmth(kSteel, kStates);
  double share = 0, greatest = 0;
  for (const exposure::SpotState& s : kStates) {
    const double thick = kSteel.absorptivity * s.speed * peak(kSteel.solid, {s.along, s.across, s.speed}).rise;
    share = std::max(share, 1 - thick / direct(kSteel, s, 0));
    greatest = std::max(greatest, direct(kSteel, s, 0));
  }
  EXPECT_NEAR(warmth.wall_share(), share, 1e-3);
  EXPECT_NEAR(warmth.greatest(), greatest, 2e-3 * greatest);

  const Base thin{{167, 167 / (2700.0 * 896)}, 0.08, 0.15e-3};
  EXPECT_GT(Warmth(thin, kStates).wall_share(),
            1.1 * Warmth({thin.solid, 0.08, 0.2e-3}, kStates).wall_share());
}

}  // namespace
}  // namespace circumfluence::heat
