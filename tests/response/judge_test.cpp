// Truth: the definitions of the outcomes, on rows brought just below and just above each limit; temperatures
// from heat/kirchhoff.h.
#include "response/judge.h"

#include <gtest/gtest.h>

#include <cmath>

namespace circumfluence::response {
namespace {

constexpr double kStart = 293.15;

struct Answer {
  float fluence, removed, temperature, margin, over;
  Outcome outcome;
};

Model model(Body body) {
  Model m{};
  m.body = body;
  m.start = kStart;
  m.conductivity = {13, 0.016};
  m.onset = 1300;
  m.faint = 1200;
  m.limit = body == Body::organic ? 950 : 1673;
  if (body != Body::bare)
    m.film = Film{RemovalLaw::steady,
                  1.0f,
                  body == Body::organic ? 1e-3f : 50e-6f,
                  2e9f,
                  0,
                  body == Body::organic ? 5e-6f : 49e-6f,
                  0.002f};
  return m;
}

// One event of `fluence` [J/m^2] that warms by `heat` [K, linear] when all of it reaches the base.
Answer judged(const Model& m, float fluence, float heat, float centre = -1) {
  Judge judge(m, {});
  Row row(1, m.film ? &*m.film : nullptr, judge.rise_limit());
  row.clear(row.columns());
  const float energy = 100, share = fluence / energy, warmth = heat / energy, threshold = 1e4f;
  const float middle = (centre < 0 ? heat : centre) / energy;
  row.pass({&energy, &energy, &share, &warmth, &threshold, true, &middle});
  Answer a{};
  std::uint8_t outcome = 99;
  judge.row(row, {{&a.fluence, 1}, {&a.removed, 1}, {&a.temperature, 1}, {&a.margin, 1}, {&outcome, 1}});
  judge.over_factor(row, {&a.over, 1});
  a.outcome = Outcome(outcome);
  return a;
}

TEST(Judge, Coated) {
  const Model m = model(Body::coated);  // the whole coat costs 1e4 + 1e5 J/m^2, a mark 1e4 + 0.98e5
  EXPECT_EQ(judged(m, 0.99e4f, 10).outcome, Outcome::untouched);
  EXPECT_EQ(judged(m, 1.01e4f, 10).outcome, Outcome::under_marked);
  EXPECT_EQ(judged(m, 1.079e5f, 10).outcome, Outcome::under_marked);
  EXPECT_EQ(judged(m, 1.081e5f, 10).outcome, Outcome::marked);
  const float limit = static_cast<float>(m.limit_rise());
  // Half of the light is left for the base.
  EXPECT_EQ(judged(m, 2.2e5f, 1.99f * limit).outcome, Outcome::marked);
  EXPECT_EQ(judged(m, 2.2e5f, 2.01f * limit).outcome, Outcome::over_burned);
  const Answer a = judged(m, 2.2e5f, limit);
  EXPECT_NEAR(a.temperature, kStart + heat::true_rise(m.conductivity, m.limit_rise() / 2), 0.1);
  EXPECT_NEAR(a.removed, 50e-6, 1e-10);
  EXPECT_NEAR(a.margin, 1.08e5 / 2.2e5, 1e-5);
  EXPECT_NEAR(a.over, 1.1e5 / 2.2e5 + 1, 1e-5);
}

TEST(Judge, CoatKeepsTheBaseCold) {
  const Answer a = judged(model(Body::coated), 1.0e5f, 1e4f);
  EXPECT_FLOAT_EQ(a.temperature, float(kStart));
  EXPECT_EQ(a.outcome, Outcome::under_marked);
}

TEST(Judge, Bare) {
  const Model m = model(Body::bare);
  const auto rise = [&](double temperature) {
    return static_cast<float>(heat::linear_rise(m.conductivity, temperature - kStart));
  };
  EXPECT_EQ(judged(m, 1e5f, rise(1199)).outcome, Outcome::untouched);
  EXPECT_EQ(judged(m, 1e5f, rise(1201)).outcome, Outcome::under_marked);
  EXPECT_EQ(judged(m, 1e5f, rise(1299)).outcome, Outcome::under_marked);
  EXPECT_EQ(judged(m, 1e5f, rise(1301)).outcome, Outcome::marked);
  EXPECT_EQ(judged(m, 1e5f, rise(1672)).outcome, Outcome::marked);
  EXPECT_EQ(judged(m, 1e5f, rise(1674)).outcome, Outcome::over_burned);
  const Answer a = judged(m, 1e5f, rise(1500));
  EXPECT_NEAR(a.temperature, 1500, 0.05);
  EXPECT_NEAR(a.margin, rise(1300) / rise(1500), 1e-5);
  EXPECT_NEAR(a.over, rise(1673) / rise(1500), 1e-5);
  EXPECT_EQ(a.removed, 0);
}

TEST(Judge, BareMarksByItsCentreAndBurnsByItsHottestPoint) {
  const Model m = model(Body::bare);
  const float onset = static_cast<float>(m.onset_rise()), limit = static_cast<float>(m.limit_rise());
  EXPECT_EQ(judged(m, 1e5f, 0.99f * limit, 0.5f * onset).outcome, Outcome::untouched);
  EXPECT_EQ(judged(m, 1e5f, 1.01f * limit, 0.5f * onset).outcome, Outcome::over_burned);
  EXPECT_NEAR(judged(m, 1e5f, limit, 0.5f * onset).margin, 2, 1e-5);
}

TEST(Judge, Organic) {
  const Model m = model(Body::organic);  // a mark costs 1e4 + 1e4 J/m^2, burning through 1e4 + 2e6
  EXPECT_EQ(judged(m, 0.9e4f, 0).outcome, Outcome::untouched);
  EXPECT_EQ(judged(m, 1.9e4f, 0).outcome, Outcome::under_marked);
  EXPECT_EQ(judged(m, 2.1e4f, 0).outcome, Outcome::marked);
  EXPECT_EQ(judged(m, 2.02e6f, 0).outcome, Outcome::over_burned);
  EXPECT_NEAR(judged(m, 2.1e4f, 0).temperature, 950, 0.01);
  EXPECT_NEAR(judged(m, 0.5e4f, 0).temperature, kStart + 0.5 * (950 - kStart), 0.1);
  EXPECT_NEAR(judged(m, 4e4f, 0).margin, 0.5, 1e-5);
  EXPECT_NEAR(judged(m, 4e4f, 0).over, 2.01e6 / 4e4, 1e-2);
}

TEST(Judge, NoLight) {
  for (const Body body : {Body::coated, Body::bare, Body::organic}) {
    const Answer a = judged(model(body), 0, 0);
    EXPECT_EQ(a.outcome, Outcome::untouched);
    EXPECT_TRUE(std::isinf(a.margin));
    EXPECT_TRUE(std::isinf(a.over));
    EXPECT_FLOAT_EQ(a.temperature, float(kStart));
  }
}

}  // namespace
}  // namespace circumfluence::response
