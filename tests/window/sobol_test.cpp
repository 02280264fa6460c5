// Truth: closed forms of the Ishigami function (Ishigami & Homma 1990; Saltelli et al. 2010 with a = 7, b =
// 0.1), of sums and of products; a Sobol sequence made by SciPy 1.10 from the same direction numbers; what a
// (0, m, 2)-net is.
#include "window/sobol.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

#include "quantity/error.h"

namespace circumfluence::window {
namespace {

using quantity::ValidityError;
using std::numbers::pi;
using testing::HasSubstr;
using testing::ThrowsMessage;

constexpr double kA = 7, kB = 0.1;

double ishigami(std::span<const double> u) {
  const double x = pi * (2 * u[0] - 1), y = pi * (2 * u[1] - 1), z = pi * (2 * u[2] - 1);
  return std::sin(x) + kA * std::sin(y) * std::sin(y) + kB * std::pow(z, 4) * std::sin(x);
}

struct Truth {
  double variance = kA * kA / 8 + kB * std::pow(pi, 4) / 5 + kB * kB * std::pow(pi, 8) / 18 + 0.5;
  double of_x = std::pow(1 + kB * std::pow(pi, 4) / 5, 2) / 2, of_y = kA * kA / 8;
  double of_both = 8 * kB * kB * std::pow(pi, 8) / 225;  // x and z together
  std::array<double, 3> first{of_x / variance, of_y / variance, 0};
  std::array<double, 3> total{(of_x + of_both) / variance, of_y / variance, of_both / variance};
};

Sampling uniform(int dimensions, int count, std::uint64_t seed = 1) {
  return {.dimensions = dimensions, .count = count, .seed = seed, .deviates = Deviates::uniform};
}

// The farthest any index of the Ishigami function lies from its closed form.
double farthest(int count, std::uint64_t seed) {
  const Indices found = sobol_indices(ishigami, uniform(3, count, seed));
  const Truth truth;
  double most = 0;
  for (size_t i = 0; i < 3; ++i)
    most = std::max(
        {most, std::abs(found.first[i] - truth.first[i]), std::abs(found.total[i] - truth.total[i])});
  return most;
}

double usual(int count) {
  double squares = 0;
  for (std::uint64_t seed = 1; seed <= 16; ++seed) squares += std::pow(farthest(count, seed), 2) / 16;
  return std::sqrt(squares);
}

TEST(SobolPoints, AreThoseOfJoeAndKuoUnderAShift) {
  constexpr std::array<size_t, 6> columns{0, 1, 2, 3, 9, 39};
  struct Row {
    size_t row;
    std::array<double, 6> values;
  };
  constexpr Row rows[] = {
      {1, {0.5, 0.5, 0.5, 0.5, 0.5, 0.5}},
      {2, {0.75, 0.25, 0.25, 0.25, 0.75, 0.25}},
      {4, {0.375, 0.375, 0.625, 0.875, 0.625, 0.875}},
      {100, {0.4140625, 0.2578125, 0.7734375, 0.7265625, 0.6953125, 0.1328125}},
      {777, {0.6923828125, 0.9365234375, 0.1630859375, 0.2744140625, 0.3232421875, 0.3583984375}}};
  const std::vector<double> points = uniform_points(40, 1024, 7);
  const auto bits = [&](size_t row, size_t column) {
    return static_cast<std::uint64_t>(points[row * 40 + column] * 0x1p52);
  };
  for (const Row& r : rows)
    for (size_t i = 0; i < columns.size(); ++i)
      EXPECT_DOUBLE_EQ(double(bits(r.row, columns[i]) ^ bits(0, columns[i])) * 0x1p-52, r.values[i])
          << r.row << ' ' << columns[i];
}

// Of 2^m points one lies in each of 2^m equal slices of every dimension, and, of the first two dimensions, in
// each rectangle of that area whose sides are powers of two.
TEST(SobolPoints, FillEverySliceOnce) {
  const std::vector<double> points = uniform_points(30, 256, 3);
  for (size_t i = 0; i < 30; ++i) {
    std::array<int, 256> hits{};
    for (size_t row = 0; row < 256; ++row) ++hits[size_t(points[row * 30 + i] * 256)];
    EXPECT_EQ(std::ranges::count(hits, 1), 256) << i;
  }
  for (const size_t wide : {2, 4, 16, 64}) {
    std::array<int, 256> hits{};
    for (size_t row = 0; row < 256; ++row)
      ++hits[size_t(points[row * 30] * double(wide)) * (256 / wide) +
             size_t(points[row * 30 + 1] * double(256 / wide))];
    EXPECT_EQ(std::ranges::count(hits, 1), 256) << wide;
  }
}

TEST(SobolPoints, RepeatForASeedAndDifferForAnother) {
  EXPECT_EQ(uniform_points(5, 100, 9), uniform_points(5, 100, 9));
  EXPECT_NE(uniform_points(5, 100, 9), uniform_points(5, 100, 10));
  // mt19937_64 is laid down by the C++ standard; its first number for its own seed, 5489, from memory.
  EXPECT_DOUBLE_EQ(uniform_points(1, 1, 5489)[0], (double(14514284786278117030ull >> 12) + 0.5) * 0x1p-52);
}

// The shift makes a point uniform on its own: over seeds, its mean is 1/2 and its variance 1/12, within four
// standard errors; so the corner that an unshifted sequence starts from is nowhere special.
TEST(SobolPoints, AreUniformOverSeeds) {
  constexpr int kSeeds = 4000;
  double sum = 0, squares = 0;
  for (int seed = 0; seed < kSeeds; ++seed) {
    const double u = uniform_points(2, 1, std::uint64_t(seed))[1] - 0.5;
    EXPECT_GT(u, -0.5);
    EXPECT_LT(u, 0.5);
    sum += u;
    squares += u * u;
  }
  EXPECT_NEAR(sum / kSeeds, 0, 4 * std::sqrt(1.0 / 12 / kSeeds));
  EXPECT_NEAR(squares / kSeeds, 1.0 / 12, 4 * std::sqrt(1.0 / 180 / kSeeds));
}

TEST(SobolPoints, OfTheNormalDistributionHaveItsMoments) {
  const std::vector<double> points = normal_points(12, 4096, 4);
  for (size_t i = 0; i < 12; ++i) {
    double sum = 0, squares = 0, fourth = 0;
    for (size_t row = 0; row < 4096; ++row) {
      const double z = points[row * 12 + i];
      sum += z / 4096;
      squares += z * z / 4096;
      fourth += z * z * z * z / 4096;
    }
    EXPECT_NEAR(sum, 0, 1e-3);  // of plain random numbers 1/64, sqrt(2)/64 and sqrt(96)/64 would be usual
    EXPECT_NEAR(squares, 1, 3e-3);
    EXPECT_NEAR(fourth, 3, 0.1);
  }
}

TEST(SobolPoints, OfTheNormalDistributionAreItsInverse) {
  const std::vector<double> shares = uniform_points(3, 500, 5), points = normal_points(3, 500, 5);
  for (size_t i = 0; i < shares.size(); ++i)
    EXPECT_NEAR(std::erfc(-points[i] / std::sqrt(2.0)) / 2 / shares[i], 1, 1e-12);
}

TEST(SobolPoints, RefuseWhatIsNoSequence) {
  EXPECT_THAT([] { uniform_points(0, 8, 1); }, ThrowsMessage<ValidityError>(HasSubstr("dimensions = 0")));
  EXPECT_THAT([] { normal_points(2001, 8, 1); },
              ThrowsMessage<ValidityError>(HasSubstr("expected 1 to 2000")));
  EXPECT_THAT([] { uniform_points(3, 0, 1); }, ThrowsMessage<ValidityError>(HasSubstr("count = 0")));
  EXPECT_THAT([] { uniform_points(2000, 2'000'000, 1); },
              ThrowsMessage<ValidityError>(HasSubstr("expected 1 to 1073741 in 2000 dimensions")));
}

TEST(SobolIndices, OfIshigamiAreItsClosedForms) {
  const Truth truth;
  EXPECT_NEAR(truth.first[0], 0.3139, 5e-5);
  EXPECT_NEAR(truth.total[0], 0.5576, 5e-5);
  EXPECT_NEAR(truth.first[1], 0.4424, 5e-5);
  EXPECT_NEAR(truth.total[2], 0.2437, 5e-5);
  const Indices found = sobol_indices(ishigami, uniform(3, 1 << 14));
  for (size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(found.first[i], truth.first[i], 2e-3) << i;
    EXPECT_NEAR(found.total[i], truth.total[i], 2e-3) << i;
  }
  EXPECT_NEAR(found.mean, kA / 2, 1e-3);
  EXPECT_NEAR(found.variance, truth.variance, 0.01);
}

// Plain random points would come 8 times nearer with 64 times as many; these come nearer by more than 20.
TEST(SobolIndices, ComeNearerFasterThanByChance) {
  const double few = usual(256), many = usual(256 * 64);
  EXPECT_LT(few, 0.05);
  EXPECT_GT(few / many, 20);
}

// The mean of 4096 points, over seeds, against the standard error of as many random ones.
TEST(SobolIndices, StandOnPointsMoreEvenThanChance) {
  double squares = 0;
  for (std::uint64_t seed = 1; seed <= 16; ++seed) {
    const std::vector<double> points = uniform_points(3, 4096, seed);
    double mean = 0;
    for (size_t row = 0; row < 4096; ++row) mean += ishigami({points.data() + 3 * row, 3}) / 4096;
    squares += std::pow(mean - kA / 2, 2) / 16;
  }
  EXPECT_LT(std::sqrt(squares), std::sqrt(Truth().variance / 4096) / 10);
}

// Y = sum a_i z_i of normal z: S_i = T_i = a_i^2 / sum a^2. With 10 unknowns, and a mean far from 0 which
// must not show.
TEST(SobolIndices, OfASumAreTheSharesOfItsSquares) {
  const auto sum = [](std::span<const double> z) {
    double y = 1000;
    for (size_t i = 0; i < z.size(); ++i) y += double(i) * z[i];
    return y;
  };
  const Indices found = sobol_indices(sum, {.dimensions = 10, .count = 4096});
  EXPECT_NEAR(found.mean, 1000, 0.02);
  EXPECT_NEAR(found.variance / 285, 1, 5e-3);
  for (size_t i = 0; i < 10; ++i) {
    EXPECT_NEAR(found.first[i], double(i * i) / 285, 5e-3) << i;
    EXPECT_NEAR(found.total[i], double(i * i) / 285, 5e-3) << i;
  }
  EXPECT_EQ(found.first[0], 0);  // never looked at
  EXPECT_EQ(found.total[0], 0);
}

// Y = z0 z1 of normal z: neither alone makes any of it, each is in all of it.
TEST(SobolIndices, OfAProductAreWhatNeitherMakesAlone) {
  const Indices found = sobol_indices([](std::span<const double> z) { return z[0] * z[1]; },
                                      {.dimensions = 2, .count = 1 << 14});
  for (size_t i = 0; i < 2; ++i) {
    EXPECT_NEAR(found.first[i], 0, 0.01);
    EXPECT_NEAR(found.total[i], 1, 0.02);
  }
}

TEST(SobolIndices, OfSeveralFiguresAreThoseOfEach) {
  const Answers both = [](std::span<const double> u, std::span<double> out) {
    out[0] = ishigami(u);
    out[1] = 3 * u[1];
  };
  const std::vector<Indices> found = sobol_indices(both, 2, uniform(3, 512));
  const Indices alone = sobol_indices(ishigami, uniform(3, 512));
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[0].first, alone.first);
  EXPECT_EQ(found[0].total, alone.total);
  EXPECT_NEAR(found[1].first[1], 1, 1e-2);
  EXPECT_EQ(found[1].total[0], 0);
  EXPECT_THROW(sobol_indices(both, 0, uniform(3, 512)), ValidityError);
}

TEST(SobolIndices, AreTheSameOnAnyNumberOfThreads) {
  Sampling one = uniform(3, 1000), many = one;
  one.threads = 1;
  many.threads = 4;
  const Indices a = sobol_indices(ishigami, one), b = sobol_indices(ishigami, many);
  EXPECT_EQ(a.first, b.first);
  EXPECT_EQ(a.total, b.total);
  EXPECT_EQ(a.variance, b.variance);
  EXPECT_NE(a.first, sobol_indices(ishigami, uniform(3, 1000, 2)).first);
}

TEST(SobolIndices, OfWhatDoesNotVaryAreNothing) {
  for (const double value : {0.0, 0.1, -1e300, 1e-310}) {
    const Indices found = sobol_indices([value](std::span<const double>) { return value; }, uniform(3, 100));
    EXPECT_EQ(found.first, std::vector<double>(3, 0.0));
    EXPECT_EQ(found.total, std::vector<double>(3, 0.0));
    EXPECT_EQ(found.variance, 0);
    EXPECT_NEAR(found.mean, value, std::abs(value) * 1e-12);
  }
}

TEST(SobolIndices, DoNotDependOnTheUnitOfTheAnswer) {
  const Indices plain = sobol_indices(ishigami, uniform(3, 256));
  const Indices great =
      sobol_indices([](std::span<const double> u) { return 1e200 * ishigami(u); }, uniform(3, 256));
  for (size_t i = 0; i < 3; ++i) EXPECT_NEAR(great.first[i], plain.first[i], 1e-12);
}

TEST(SobolIndices, RefuseAnAnswerThatIsNoNumber) {
  for (const double bad : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()})
    EXPECT_THAT(
        [bad] {
          sobol_indices([bad](std::span<const double> u) { return u[0] > 0.9 ? bad : u[0]; }, uniform(2, 64));
        },
        ThrowsMessage<ValidityError>(
            testing::AllOf(HasSubstr("at (0.9"), HasSubstr("expected a finite number"))));
}

TEST(SobolIndices, StopWhenToldTo) {
  int calls = 0;
  const auto stop = [&calls](double) { return ++calls < 3; };
  Sampling alone = uniform(3, 4096);
  alone.threads = 1;  // so that it is asked often
  EXPECT_THROW(sobol_indices(ishigami, alone, stop), quantity::Interrupted);
}

}  // namespace
}  // namespace circumfluence::window
