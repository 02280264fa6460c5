// Truth: the rise of every pair of cells, cut into sixteen pieces, added up in double by images (closed form
// of an instantaneous line in a plate with insulated faces and edges), without modes, moments or a window.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "heat/shell.h"

namespace circumfluence::heat {
namespace {

using motion::Direction;

const Wall kSteel{0.4e-3, 16.2, 7900.0 * 500}, kAluminium{0.4e-3, 167, 2700.0 * 896},
    kCard{1.5e-3, 0.1, 520.0 * 1800};

struct Plan {
  ShellJob job;
  std::vector<std::vector<float>> rows;
  std::vector<BurntLine> lines;
};

struct Raster {
  int lines, cells, first;
  double pitch, time, turn;  // [m], [s], [s]
  bool two_way = true;
};

ShellJob body(const Wall& wall, Direction direction) {
  return {.wall = wall,
          .loss = {12, 5, {}},
          .tube = {60e-3, 30e-3, 60, 30},
          .direction = direction,
          .beam = 60e-6,
          .lines = {}};
}

Plan raster(const ShellJob& job, const Raster& r, unsigned seed = 1) {
  Plan plan{job, {}, {}};
  std::mt19937 random(seed);
  for (int n = 0; n < r.lines; ++n) {
    plan.rows.emplace_back(r.cells);
    for (float& e : plan.rows.back())
      e = std::max(0.0f, std::uniform_real_distribution<float>(-60, 120)(random));
  }
  for (int n = 0; n < r.lines; ++n)
    plan.lines.push_back(
        {5e-3 + n * r.pitch, n * (r.time + r.turn), r.time, !r.two_way || n % 2 == 0, r.first, plan.rows[n]});
  plan.job.lines = plan.lines;
  return plan;
}

double gauss_images(double from, double to, double length, bool closed, double size) {
  double sum = 0;
  const int most = 2 + static_cast<int>(8 * std::sqrt(size) / length);
  for (int j = -most; j <= most; ++j) {
    const auto term = [&](double d) { return std::exp(-2 * d * d / size) * std::sqrt(2 / (M_PI * size)); };
    sum += term(from - to + j * length * (closed ? 1 : 2));
    if (!closed) sum += term(from + to + 2 * j * length);
  }
  return sum;
}

double box_images(double a, double b, double x, double length, bool closed, double size) {
  double sum = 0;
  const int most = 2 + static_cast<int>(8 * std::sqrt(size) / length);
  for (int j = -most; j <= most; ++j) {
    const double shift = j * length * (closed ? 1 : 2), r = std::sqrt(size);
    sum += std::erf((b + shift - x) / r) - std::erf((a + shift - x) / r);
    if (!closed) sum += std::erf((shift - a - x) / r) - std::erf((shift - b - x) / r);
  }
  return sum / 2;
}

double theta(double fourier) {
  double sum = 1;
  for (int p = 1; p * p * fourier < 4; ++p) sum += 2 * std::exp(-p * p * M_PI * M_PI * fourier);
  return sum;
}

double moment(const BurntLine& line, double cells) {
  const double n = static_cast<double>(line.energies.size());
  return line.start + line.duration * (line.forth ? cells : n - cells) / n;
}

double direct(const ShellJob& job, std::size_t n, int cell) {
  constexpr int kPieces = 16;
  const bool axial = job.direction == Direction::axial;
  const double length = axial ? job.tube.length : job.tube.circumference;
  const double width = axial ? job.tube.circumference : job.tube.length;
  const double size = length / (axial ? job.tube.axial : job.tube.around), a = job.wall.diffusivity();
  const BurntLine& now = job.lines[n];
  const double x = (now.first + cell + 0.5) * size, time = moment(now, cell + 0.5);
  double sum = 0;
  for (std::size_t m = 0; m < n; ++m)
    for (std::size_t j = 0; j < job.lines[m].energies.size(); ++j)
      for (int p = 0; p < kPieces; ++p) {
        const BurntLine& old = job.lines[m];
        const double from = (old.first + double(j) + double(p) / kPieces) * size;
        const double t = time - moment(old, double(j) + (p + 0.5) / kPieces);
        if (axial && std::abs(from - x) > size + 14 * std::sqrt(a * t) &&
            std::min(x, length - x) > 14 * std::sqrt(a * t))
          continue;
        const double along = box_images(from, from + size / kPieces, x, length, !axial, 4 * a * t);
        const double across =
            gauss_images(old.across, now.across, width, axial, job.beam * job.beam + 8 * a * t);
        sum += old.energies[j] * along * across * theta(a * t / (job.wall.thickness * job.wall.thickness)) *
               std::exp(-(job.loss.outside + job.loss.inside) * t / job.wall.areal()) / job.wall.areal();
      }
  return sum;
}

// The largest difference, as a share of what the line before adds where it adds most, and of the whole.
void expect_direct(const Plan& plan, double share) {
  const WallWarming ours = warm_wall(plan.job);
  double worst = 0, most = 0;
  std::mt19937 random(3);
  for (std::size_t n = 1; n < plan.lines.size(); n += 1 + n / 6) {
    const std::span<const float> rise = ours.rise(n);
    for (int i = 0; i < int(rise.size()); i += (i < 2 || i > int(rise.size()) - 4) ? 1 : 5) {
      const double truth = direct(plan.job, n, i);
      most = std::max(most, truth);
      worst = std::max(worst, std::abs(rise[i] - truth));
      EXPECT_NEAR(rise[i], truth, share * std::max(truth, most)) << "line " << n << " cell " << i;
    }
  }
  ::testing::Test::RecordProperty("worst", std::to_string(worst / most));
  std::printf("  largest difference %.2e of %.1f K; modes %d, near %d\n", worst / most, most, ours.modes,
              ours.near);
}

TEST(ShellDirect, SteelTwoWay) {
  expect_direct(raster(body(kSteel, Direction::axial), {24, 30, 0, 0.1e-3, 0.72, 0.15}), 1e-3);
}

TEST(ShellDirect, AluminiumTwoWay) {
  expect_direct(raster(body(kAluminium, Direction::axial), {24, 30, 0, 0.1e-3, 0.72, 0.15}), 1e-3);
}

TEST(ShellDirect, NoTimeToTurn) {
  expect_direct(raster(body(kSteel, Direction::axial), {12, 30, 0, 0.1e-3, 0.72, 0}), 3e-3);
}

TEST(ShellDirect, OneWayShortMotif) {
  expect_direct(raster(body(kSteel, Direction::axial), {40, 10, 12, 0.1e-3, 0.24, 0.3, false}), 1e-3);
}

TEST(ShellDirect, ThickCardIsAHalfSpaceAtFirst) {
  expect_direct(raster(body(kCard, Direction::axial), {16, 30, 0, 0.15e-3, 0.72, 0.15}), 1e-3);
}

TEST(ShellDirect, AroundTwoWay) {
  expect_direct(raster(body(kSteel, Direction::around), {24, 40, 10, 0.1e-3, 0.96, 0.1}), 1e-3);
}

TEST(ShellDirect, AroundWithoutEndMeetsItsOwnTail) {
  expect_direct(raster(body(kSteel, Direction::around), {12, 60, 0, 0.1e-3, 1.44, 0, false}), 3e-3);
}

TEST(ShellDirect, SkipOrderPausesAndUnevenLines) {
  Plan plan = raster(body(kSteel, Direction::axial), {24, 30, 0, 0.1e-3, 0.72, 0.15});
  std::mt19937 random(5);
  double start = 0;
  for (int n = 0; n < 24; ++n) {
    BurntLine& line = plan.lines[n];
    line.across = 5e-3 + 0.1e-3 * (n % 8 * 3 + n / 8);
    line.first = n % 5;
    line.energies = std::span<const float>(plan.rows[n]).first(18 + n % 7);
    line.duration = 0.024 * double(line.energies.size());
    line.start = start;
    start += line.duration + std::uniform_real_distribution<>(0.02, 0.4)(random) + (n == 15 ? 20 : 0);
  }
  plan.job.lines = plan.lines;
  expect_direct(plan, 1e-3);
}

// The two treatments meet: where the window lies hardly shows.
TEST(ShellDirect, TheWindowDoesNotShow) {
  Plan plan = raster(body(kSteel, Direction::axial), {60, 30, 0, 0.1e-3, 0.72, 0.1});
  const WallWarming near = (plan.job.window = 100, warm_wall(plan.job));
  EXPECT_EQ(near.near, 59);
  for (const double window : {0.5, 0.9, 1.0, 1.5, 2.0, 3.0, 4.5}) {
    plan.job.window = window;
    const WallWarming far = warm_wall(plan.job);
    EXPECT_LT(far.near, 8);
    double worst = 0;
    for (std::size_t i = 0; i < far.rises.size(); ++i)
      worst = std::max(worst, double(std::abs(far.rises[i] - near.rises[i])));
    std::printf("  window %.1f: %.2e of %.1f K, modes %d\n", window, worst / near.greatest, near.greatest,
                far.modes);
    EXPECT_LT(worst, 3e-4 * near.greatest);
  }
}

}  // namespace
}  // namespace circumfluence::heat
