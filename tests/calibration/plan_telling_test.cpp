// Truth: mutual information counted out over every draw and every outcome.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "calibration/plan.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;

double term(double p) {
  return p > 0 ? -p * std::log2(p) : 0.0;
}

// Two unknowns of 17 values each: one moves both ends, the other that which burns. Three candidates, two
// wanted settings.
struct Tiny {
  std::vector<std::array<std::array<double, 4>, 3>> candidates;
  std::vector<std::array<std::array<double, 4>, 2>> wanted;
  std::vector<std::array<double, 2>> ends;

  Tiny() {
    for (int a = 0; a < 17; ++a)
      for (int b = 0; b < 17; ++b) {
        const double marks = std::log(5.0) + 0.05 * (a - 8), burns = marks + 0.4 + 0.06 * (b - 8) * 0.5;
        const LogEnds now{marks - 0.1, marks, burns};
        candidates.push_back({chances(now, 4.6), chances(now, 7.4), chances(now, 0.2)});
        wanted.push_back({chances(now, 5.5), chances(now, 7.0)});
        ends.push_back({marks, burns});
      }
  }
  // Rows over and over, as many more for the truth.
  Foreseen foreseen(int times) const {
    const Eigen::Index draws = Eigen::Index(ends.size());
    Foreseen out{Eigen::MatrixXf(draws * (1 + times), 12), Eigen::MatrixXf(draws * (1 + times), 8),
                 Eigen::MatrixXf(draws * (1 + times), 2)};
    for (Eigen::Index i = 0; i < draws * (1 + times); ++i) {
      const size_t k = size_t(i % draws);
      for (int c = 0; c < 4; ++c) {
        for (int j = 0; j < 3; ++j) out.candidates(i, 4 * j + c) = float(candidates[k][size_t(j)][size_t(c)]);
        for (int j = 0; j < 2; ++j) out.wanted(i, 4 * j + c) = float(wanted[k][size_t(j)][size_t(c)]);
      }
      out.ends(i, 0) = float(ends[k][0]), out.ends(i, 1) = float(ends[k][1]);
    }
    return out;
  }
  // [bit] left of both wanted outcomes after those candidates, each outcome weighed by its chance.
  double entropy_after(const std::vector<int>& taken) const {
    double sum = 0;
    const int outcomes = 1 << (2 * taken.size());
    for (int y = 0; y < outcomes; ++y) {
      double whole = 0, classes[2][4] = {};
      for (size_t k = 0; k < ends.size(); ++k) {
        double weight = 1.0 / double(ends.size());
        for (size_t i = 0; i < taken.size(); ++i)
          weight *= candidates[k][size_t(taken[i])][size_t(y >> (2 * i) & 3)];
        whole += weight;
        for (size_t w = 0; w < 2; ++w)
          for (size_t c = 0; c < 4; ++c) classes[w][c] += weight * wanted[k][w][c];
      }
      for (auto& of : classes)
        for (const double part : of) sum += whole * term(part / whole);
    }
    return sum;
  }
};

TEST(Telling, AsCountedOut) {
  const Tiny tiny;
  Telling telling(tiny.foreseen(40), tiny.ends.size() * 40, 7);
  EXPECT_NEAR(telling.entropy(), tiny.entropy_after({}), 1e-5);
  for (int c = 0; c < 3; ++c)
    EXPECT_NEAR(telling.gain(size_t(c)).outcome, tiny.entropy_after({}) - tiny.entropy_after({c}), 2e-5) << c;
  telling.take(0);  // 11 560 simulated outcomes: some 1 % of noise
  EXPECT_NEAR(telling.entropy(), tiny.entropy_after({0}), 0.01);
  for (int c = 0; c < 3; ++c)
    EXPECT_NEAR(telling.gain(size_t(c)).outcome, tiny.entropy_after({0}) - tiny.entropy_after({0, c}), 0.01)
        << c;
  telling.take(1);
  EXPECT_NEAR(telling.entropy(), tiny.entropy_after({0, 1}), 0.01);
  EXPECT_LT(telling.gain(1).outcome,
            tiny.entropy_after({}) - tiny.entropy_after({1}));  // once more tells less
}

// A patch far below every threshold.
TEST(Telling, TheDarkTellsNothing) {
  const Tiny tiny;
  const Telling telling(tiny.foreseen(1), tiny.ends.size(), 7);
  EXPECT_NEAR(telling.gain(2).outcome, 0, 1e-6);
  EXPECT_NEAR(telling.gain(2).ends, 0, 1e-4);
}

// Ends known but for one unknown, normal: a class told surely halves no variance, a cut in the middle leaves
// 1 - 2/pi.
TEST(Telling, OfEndsAsTheHalvesOfANormal) {
  const int draws = 4000;
  Foreseen out{Eigen::MatrixXf::Zero(2 * draws, 4), Eigen::MatrixXf::Zero(2 * draws, 4),
               Eigen::MatrixXf(2 * draws, 2)};
  std::mt19937_64 dice(5);
  std::normal_distribution<double> normal;
  for (int i = 0; i < 2 * draws; ++i) {
    const double z = normal(dice);
    out.ends(i, 0) = float(3 + 0.2 * z), out.ends(i, 1) = 9;
    out.candidates(i, z > 0 ? 1 : 2) = 1;
    out.wanted(i, 2) = 1;
  }
  const Telling::Gain gain = Telling(out, draws, 1).gain(0);
  EXPECT_NEAR(gain.ends, -0.5 * std::log2(1 - 2 / std::numbers::pi), 0.02);
  EXPECT_NEAR(gain.outcome, 0, 1e-6);
}

TEST(Telling, WantsDrawsAndTruths) {
  const Tiny tiny;
  EXPECT_THROW(Telling(tiny.foreseen(1), 0, 1), ValidityError);
  EXPECT_THROW(Telling(tiny.foreseen(1), 2 * tiny.ends.size(), 1), ValidityError);
  Telling telling(tiny.foreseen(1), tiny.ends.size(), 1);
  EXPECT_NEAR(telling.effective(), double(tiny.ends.size()), 0.1);
  telling.take(0), telling.take(1);
  EXPECT_LT(telling.effective(), 0.7 * double(tiny.ends.size()));
}

}  // namespace
}  // namespace circumfluence::calibration
