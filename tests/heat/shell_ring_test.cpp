// Truth: published closed forms and check values for a thin ring: image sum against mode sum, Fourier
// stepping and quadrature, each by two independent methods; the fin and the lumped wall in closed form.
#include <gtest/gtest.h>

#include <cmath>

#include "heat/shell.h"

namespace circumfluence::heat {
namespace {

constexpr double kLine = 120;  // [J/m] 5 W at 41.667 mm/s
const Wall kSteel{0.5e-3, 16.2, 7900.0 * 500}, kAluminium{0.4e-3, 167, 2700.0 * 896},
    kCard{1.5e-3, 0.10, 520.0 * 1800};

// The same shell, but so thin that heat is even through it at once: what a theory of thin rings speaks of.
Wall thinned(const Wall& wall) {
  return {wall.thickness / 1000, wall.conductivity * 1000, wall.capacity * 1000};
}

struct Ring {
  Wall wall;
  double diameter, loss = 0;
  ShellJob job(std::span<const BurntLine> lines) const {
    return {.wall = thinned(wall),
            .loss = {loss, 0, {}},
            .tube = {M_PI * diameter, 1e-3, 64, 8},
            .direction = motion::Direction::axial,
            .beam = 1e-6,
            .lines = lines};
  }
};
const Ring kSteelRing{kSteel, 73e-3}, kAluminiumRing{kAluminium, 66e-3}, kCardRing{kCard, 50e-3};

const std::vector<float> kEven(8, 1.0f), kDark(8, 0.0f);

// The rise at a distance, some time after an instantaneous line; answered one by one, or by modes.
double after(const Ring& ring, double time, double distance, bool near) {
  const std::vector<float> row(8, float(kLine));
  const BurntLine lines[] = {{0.01, 0, 1e-6, true, 0, row}, {0.01 + distance, time, 1e-6, true, 0, kDark}};
  ShellJob job = ring.job(lines);
  if (near) job.window = 1e12;
  const WallWarming out = warm_wall(job);
  EXPECT_EQ(out.near, near ? 1 : 0);
  EXPECT_NEAR(out.rise(1)[0], out.rise(1)[7], 1e-5 * out.rise(1)[0] + 1e-6);
  return out.rise(1)[3];
}

TEST(ShellRing, InstantaneousLine) {
  for (const bool near : {false, true}) {
    EXPECT_NEAR(after(kSteelRing, 1, 0, near), 8.463505, 2e-5 * 8.46);
    EXPECT_NEAR(after(kSteelRing, 10, 0, near), 2.676395, 2e-5 * 2.68);
    EXPECT_NEAR(after(kSteelRing, 1000, kSteelRing.diameter * M_PI / 2, near), 0.240548, 2e-5 * 0.24);
    EXPECT_NEAR(after(kAluminiumRing, 1, 0, near), 4.210389, 2e-5 * 4.21);
    EXPECT_NEAR(after(kAluminiumRing, 10, 0, near), 1.331442, 2e-5 * 1.33);
    EXPECT_NEAR(after(kAluminiumRing, 1000, kAluminiumRing.diameter * M_PI / 2, near), 0.598075, 2e-5 * 0.6);
    EXPECT_NEAR(after(kCardRing, 1, 0, near), 73.764454, 2e-5 * 73.8);
    EXPECT_NEAR(after(kCardRing, 10, 0, near), 23.326368, 2e-5 * 23.3);
    EXPECT_NEAR(after(kCardRing, 1000, kCardRing.diameter * M_PI / 2, near), 0.000003, 5e-6);
  }
}

TEST(ShellRing, EvensOutToTheUniformLimit) {
  EXPECT_NEAR(after(kSteelRing, 2e5, 0.03, false), 0.264936, 1e-6);
  EXPECT_NEAR(after(kAluminiumRing, 2e5, 0.03, false), 0.598075, 1e-6);
  EXPECT_NEAR(after(kCardRing, 2e7, 0.03, false), 0.544119, 1e-6);
}

std::vector<BurntLine> raster(int lines, double duration, std::span<const float> row) {
  std::vector<BurntLine> out;
  for (int n = 0; n <= lines; ++n)
    out.push_back({n * 0.1e-3, n * 1.2, duration, true, 0, n < lines ? row : kDark});
  return out;
}

TEST(ShellRing, RasterJustBeforeTheNextLine) {
  const std::vector<float> row(8, float(kLine));
  for (const double duration : {1e-6, 1.2}) {
    const double share =
        duration < 1 ? 2e-5 : 5e-3;  // a beam that takes its time is not an instantaneous line
    const auto last = [&](const Ring& ring, int lines) {
      const std::vector<BurntLine> plan = raster(lines, duration, row);
      return warm_wall(ring.job(plan)).rise(lines)[4];
    };
    EXPECT_NEAR(last(kSteelRing, 10) / 38.70463, 1, share);
    EXPECT_NEAR(last(kSteelRing, 100) / 141.02954, 1, share);
    EXPECT_NEAR(last(kAluminiumRing, 10) / 19.29582, 1, share);
    EXPECT_NEAR(last(kAluminiumRing, 100) / 80.32599, 1, share);
  }
}

// The same raster on a body as good as endless (published to three digits): nearly nothing is left of it.
TEST(ShellRing, RasterOnAHalfSpace) {
  const std::vector<float> row(8, float(kLine));
  const auto last = [&](const Wall& wall, int lines) {
    const std::vector<BurntLine> plan = raster(lines, 1e-6, row);
    ShellJob job = kSteelRing.job(plan);
    job.tube.circumference = 1;
    job.wall = {0.25, wall.conductivity, wall.capacity};
    return warm_wall(job).rise(lines)[4];
  };
  EXPECT_NEAR(last(kSteel, 10), 2.87, 0.005);
  EXPECT_NEAR(last(kSteel, 100), 5.05, 0.005);
  EXPECT_NEAR(last(kAluminium, 10), 0.28, 0.005);
  EXPECT_NEAR(last(kAluminium, 100), 0.49, 0.005);
}

// A source that moves without a break, as lines at shorter and shorter intervals h: what they leave out goes
// as h^(1/2) and h^(3/2), so three of them give the limit.
double steady(const Ring& ring, double speed, double interval) {
  const auto at = [&](double step) {
    const std::vector<float> row(8, float(100 * step));
    std::vector<BurntLine> lines;
    const int count = static_cast<int>(9 * ring.wall.areal() / ring.loss / step);
    for (int n = 0; n <= count; ++n) lines.push_back({n * step * speed, n * step, 1e-6, true, 0, row});
    ShellJob job = ring.job(lines);
    job.window = 10 * step / 1e-6;
    return double(warm_wall(job).rises.back());
  };
  const double fine = at(interval), middle = at(4 * interval), coarse = at(16 * interval);
  return (8 * (2 * fine - middle) - (2 * middle - coarse)) / 7;
}

TEST(ShellRing, SteadyLineSourceMovesAround) {
  const double speeds[] = {0.01e-3, 0.1e-3, 1e-3};
  const double steel[] = {124.1915, 120.6638, 52.5168}, aluminium[] = {45.7190, 45.7014, 44.1216};
  const double card[] = {905.464, 561.548, 79.525};
  for (int i = 0; i < 3; ++i) {
    EXPECT_NEAR(steady({kSteel, 73e-3, 20}, speeds[i], 0.5) / steel[i], 1, 2e-3) << i;
    EXPECT_NEAR(steady({kAluminium, 66e-3, 20}, speeds[i], 0.5) / aluminium[i], 1, 2e-3) << i;
    EXPECT_NEAR(steady({kCard, 50e-3, 20}, speeds[i], i < 2 ? 0.1 : 0.02) / card[i], 1, 2e-3) << i;
  }
}

// 5 W for 60 s and 600 s on 60 x 60 mm, and on all of an aluminium bottle, H = 15.
TEST(ShellRing, LumpedWall) {
  const auto mean = [](const Wall& wall, double side, double length, double time) {
    const std::vector<float> row(10, float(5 * 1.0 / length));  // 5 W for one second each
    std::vector<BurntLine> lines;
    for (int n = 0; n < int(time); ++n)
      lines.push_back({0.37 * side * n, double(n), 1.0, n % 2 == 0, 0, row});
    return warm_wall({.wall = wall,
                      .loss = {10, 5, {}},
                      .tube = {side, length, 10, 10},
                      .direction = motion::Direction::axial,
                      .beam = 50e-6,
                      .lines = lines})
        .mean;
  };
  EXPECT_NEAR(mean(kSteel, 60e-3, 60e-3, 60) / 33.8883, 1, 3e-6);
  EXPECT_NEAR(mean(kSteel, 60e-3, 60e-3, 600) / 91.6209, 1, 3e-6);
  const double area = 5 / (15 * 8.0374) * (1 - std::exp(-600 / 64.51));  // the bottle's, from its final rise
  EXPECT_NEAR(mean(kAluminium, area / 0.2, 0.2, 60) / 4.8668, 1, 1e-4);
}

// A line burnt for good: beside it the wall is a fin, exp(-x / sqrt(k h / H)); 304 23.238 mm, Al 66.733 mm.
TEST(ShellRing, FinLength) {
  const auto length = [](const Wall& wall, double circumference) {
    const std::vector<float> row(8, 1.0f);
    std::vector<BurntLine> lines;
    const double time = 16 * wall.areal() / 15;
    for (int n = 0; n < 1600; ++n) lines.push_back({0, n * time / 1600, 1e-3, true, 0, row});
    const WallWarming out = warm_wall({.wall = wall,
                                       .loss = {15, 0, {}},
                                       .tube = {circumference, 8e-3, 400, 8},
                                       .direction = motion::Direction::axial,
                                       .beam = 50e-6,
                                       .lines = lines,
                                       .wait = time / 1600});
    return (80 - 40) * circumference / 400 / std::log(out.field[40 * 8] / out.field[80 * 8]);
  };
  EXPECT_NEAR(length(kSteel, 0.4) / 23.238e-3, 1, 5e-3);
  EXPECT_NEAR(length(kAluminium, 1.2) / 66.733e-3, 1, 5e-3);
}

// Design: a dense 10 mm motif on 0.4 mm of 304, 73 mm: 5 W absorbed, 41.667 mm/s, 0.1 mm pitch, 0.1 s to
// turn.
TEST(ShellRing, DenseMotifWarmsByMoreThanAHundredKelvin) {
  const std::vector<float> row(10, float(kLine));
  std::vector<BurntLine> lines;
  for (int n = 0; n < 100; ++n) lines.push_back({n * 0.1e-3, n * (0.24 + 0.1), 0.24, n % 2 == 0, 70, row});
  ShellJob job{.wall = {0.4e-3, 16.2, 7900.0 * 500},
               .loss = {air_transfer(8, 0.3, 320), air_transfer(5, 0.3, 320), {}},
               .tube = {73e-3 * M_PI, 150e-3, 229, 150},
               .direction = motion::Direction::axial,
               .beam = 50e-6,
               .lines = lines};
  const WallWarming steel = warm_wall(job);
  job.wall = kAluminium;
  const WallWarming aluminium = warm_wall(job);
  std::printf("  304: last line %.1f K (middle), greatest %.1f K; aluminium: %.1f K\n", steel.rise(99)[5],
              steel.greatest, aluminium.rise(99)[5]);
  EXPECT_GT(steel.rise(99)[5], 100);
  EXPECT_LT(aluminium.rise(99)[5], 0.2 * steel.rise(99)[5]);
}

}  // namespace
}  // namespace circumfluence::heat
