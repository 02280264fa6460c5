// Truth: the temperature of a place integrated directly in time, step by step, from instantaneous Gaussian sources.
#include "heat/warmth.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

using exposure::Sense;

constexpr double kThick = std::numeric_limits<double>::infinity();

struct Case {
  Solid solid;
  double wall;
  Spot spot;
  double column;
};

constexpr Solid kSteel{16.2, 16.2 / (7900.0 * 500)}, kAluminium{167, 167 / (2700.0 * 896)};
constexpr Solid kCard{0.10, 0.10 / (520.0 * 1800)};

// [K m/J] what a place at (0, y) feels at time `now` of power held at energies[i] * speed while the beam was in column i
// of the row that begins at `start` [m]: midpoint rule in the square root of the time gone by.
double felt(const Case& c, const std::vector<float>& energies, double start, double y, double now) {
  const double a = c.solid.diffusivity, v = c.spot.speed;
  constexpr int kSteps = 900;
  const double longest = std::sqrt(now - start / v), step = longest / kSteps;
  double sum = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double u = (i + 0.5) * step, s = u * u, beam = v * (now - s);
    const int column = static_cast<int>(std::floor((beam - start) / c.column));
    if (column < 0 || column >= int(energies.size()) || energies[size_t(column)] == 0) continue;
    const double sx = c.spot.along * c.spot.along + 8 * a * s, sy = c.spot.across * c.spot.across + 8 * a * s;
    double images = 1, image = 1;
    for (int m = 1; image > 1e-9 && m < 400; ++m) {
      image = std::exp(-m * m * c.wall * c.wall / (a * s));
      images += 2 * image;
    }
    sum += energies[size_t(column)] * 2 * step / std::sqrt(quantity::kPi * a) * 2 / quantity::kPi *
           std::exp(-2 * beam * beam / sx - 2 * y * y / sy) / std::sqrt(sx * sy) * images;
  }
  return sum * v * a / c.solid.conductivity;
}

// The highest over time at the middle of one column.
double highest(const Case& c, const std::vector<float>& energies, int column, double y = 0) {
  const double start = -(column + 0.5) * c.column, reach = 5 * c.spot.along + c.column;
  std::vector<double> beams;
  for (double beam = -reach; beam < reach; beam += c.spot.along / 16) beams.push_back(beam);
  for (double end = std::ceil(-reach / c.column) - 0.5; end * c.column < reach; end += 1) beams.push_back(end * c.column);
  double best = 0;
  for (const double beam : beams)
    if (beam > start) best = std::max(best, felt(c, energies, start, y, beam / c.spot.speed));
  return best;
}

std::vector<float> heard(const Case& c, const std::vector<float>& energies, Sense sense = Sense::forth) {
  const exposure::Echo echo = history(c.solid, c.spot, {c.column, c.wall});
  std::vector<float> dark(energies.size() + 400, 0.0f), out(energies.size());  // nothing beyond the row
  std::copy(energies.begin(), energies.end(), dark.begin() + 200);
  exposure::Listener(echo).row(dark, 200, sense, out);
  return out;
}

// The largest difference from the direct integration near the middle of the row, as a share of the steady line's peak.
double worst(const Case& c, const std::vector<float>& energies, double y) {
  const std::vector<float> out = heard(c, energies);
  const std::vector<float> always(160, 1.0f);
  const double on_line = highest(c, always, 120), steady = highest(c, always, 120, y);
  double most = 0;
  for (int i = int(energies.size()) / 2 - 5; i < int(energies.size()) / 2 + 5; ++i)
    most = std::max(most, std::abs(out[size_t(i)] * steady - highest(c, energies, i, y)) / on_line);
  return most;
}

std::vector<float> edge(int n) {
  std::vector<float> row(size_t(n), 0.0f);
  std::fill(row.begin() + n / 2, row.end(), 1.0f);
  return row;
}
std::vector<float> switched_off(int n) {
  std::vector<float> row = edge(n);
  std::reverse(row.begin(), row.end());
  return row;
}
std::vector<float> dot(int n) {
  std::vector<float> row(size_t(n), 0.0f);
  row[size_t(n) / 2] = 1.0f;
  return row;
}
std::vector<float> every_second(int n) {
  std::vector<float> row(size_t(n), 0.0f);
  for (int i = 0; i < n; ++i) row[size_t(i)] = i % 2 ? 1.0f : 0.0f;
  return row;
}

class HistoryOf : public ::testing::TestWithParam<Case> {};

TEST_P(HistoryOf, SteadyLineReturnsItsOwnEnergy) {
  const std::vector<float> out = heard(GetParam(), std::vector<float>(3000, 2.5f));
  EXPECT_NEAR(out[2900], 2.5f, 0.015);
  EXPECT_LE(*std::max_element(out.begin(), out.end()), 2.5f * 1.0001f);
}

TEST_P(HistoryOf, AgreesWithTimeIntegrationOnTheLine) {
  const Case& c = GetParam();
  EXPECT_LT(worst(c, edge(40), 0), 0.04) << "edge";
  EXPECT_LT(worst(c, switched_off(40), 0), 0.04) << "end";
  EXPECT_LT(worst(c, dot(20), 0), 0.04) << "dot";
  EXPECT_LT(worst(c, every_second(40), 0), 0.04) << "every second";
}

TEST_P(HistoryOf, AgreesWithTimeIntegrationBesideTheLine) {
  const Case& c = GetParam();
  for (const double radii : {0.5, 1.0}) {
    const double y = radii * c.spot.across;
    EXPECT_LT(worst(c, edge(40), y), 0.08) << radii;
    EXPECT_LT(worst(c, dot(20), y), 0.08) << radii;
    EXPECT_LT(worst(c, every_second(40), y), 0.08) << radii;
  }
  EXPECT_LT(worst(c, dot(20), 2 * c.spot.across), 0.08);
}

INSTANTIATE_TEST_SUITE_P(Walls, HistoryOf,
                         ::testing::Values(Case{kSteel, kThick, {40e-6, 40e-6, 41.667e-3}, 50e-6},
                                           Case{kSteel, kThick, {40e-6, 25e-6, 1.0}, 20e-6},
                                           Case{kSteel, 0.2e-3, {40e-6, 40e-6, 41.667e-3}, 50e-6},
                                           Case{kAluminium, kThick, {60e-6, 40e-6, 41.667e-3}, 50e-6},
                                           Case{kCard, kThick, {40e-6, 40e-6, 20e-3}, 25e-6}));

// Where the back face is heard most: with the images left out every one of these rows is outside its bound.
TEST(History, HearsTheBackOfAWallAsThinAsTheSpot) {
  constexpr Case kThin{kSteel, 50e-6, {40e-6, 40e-6, 41.667e-3}, 50e-6};
  for (const std::vector<float>& row : {edge(40), switched_off(40), dot(20), every_second(40)}) {
    EXPECT_LT(worst(kThin, row, 0), 0.06);
    EXPECT_LT(worst(kThin, row, kThin.spot.across), 0.10);
  }
  EXPECT_LT(worst(kThin, dot(20), 2 * kThin.spot.across), 0.12);
}

constexpr Case kThinSteel{kSteel, 0.4e-3, {40e-6, 40e-6, 41.667e-3}, 50e-6};

TEST(History, BackIsForthSeenFromTheOtherEnd) {
  std::vector<float> row = edge(64);
  const std::vector<float> out = heard(kThinSteel, row);
  std::reverse(row.begin(), row.end());
  std::vector<float> mirrored = heard(kThinSteel, row, Sense::back);
  std::reverse(mirrored.begin(), mirrored.end());
  EXPECT_EQ(out, mirrored);
}

TEST(History, HeatsInProportionAndNeverBelowALesserPower) {  // linear in power, monotone in it
  std::vector<float> some(50), more(50);
  for (int i = 0; i < 50; ++i) {
    some[size_t(i)] = float((i * 7) % 5);
    more[size_t(i)] = some[size_t(i)] + float((i * 3) % 2);
  }
  const std::vector<float> a = heard(kThinSteel, some), b = heard(kThinSteel, more);
  for (int i = 0; i < 50; ++i) EXPECT_GE(b[size_t(i)], a[size_t(i)] * 0.999999f);
  for (float& e : some) e *= 3;
  const std::vector<float> c = heard(kThinSteel, some);
  for (int i = 0; i < 50; ++i) EXPECT_NEAR(c[size_t(i)], 3 * a[size_t(i)], 1e-5 * 15);
}

TEST(History, RefusesWhatHasNoHistory) {
  EXPECT_THROW(history(kSteel, {40e-6, 40e-6, 0}, {50e-6, kThick}), quantity::ValidityError);
  EXPECT_THROW(history(kSteel, {40e-6, 40e-6, 1}, {50e-6, 0}), quantity::ValidityError);
  EXPECT_THROW(history(kSteel, {40e-6, 40e-6, 1}, {-1, kThick}), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::heat
