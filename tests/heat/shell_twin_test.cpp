// Truth: an explicit finite-difference program for the same shell and the same moving beam, written here from
// the equation alone; conservation; symmetry.
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <string>

#include "heat/shell.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

using motion::Direction;

// So thin that heat is even through it at once: the twin knows no depth.
const Wall kSteel{0.4e-6, 16.2e3, 7900.0 * 500 * 1e3};

struct Case {
  ShellJob job;
  std::vector<std::vector<float>> rows;
  std::vector<BurntLine> lines;
};

// 12 lines of 15 cells on a small tube, each of its own pattern, at a beam wide enough for the twin.
Case small_case(Direction direction, std::optional<Water> water, int lines = 12) {
  Case c{{.wall = kSteel,
          .loss = {150, 80, water},
          .tube = {20e-3, 15e-3, 20, 15},
          .direction = direction,
          .beam = 1.2e-3,
          .lines = {}},
         {},
         {}};
  std::mt19937 random(2);
  for (int n = 0; n < lines; ++n) {
    c.rows.emplace_back(direction == Direction::axial ? 15 : 18);
    for (float& e : c.rows.back())
      e = std::max(0.0f, std::uniform_real_distribution<float>(-80, 120)(random));
    if (n == lines - 1) c.rows.back().assign(c.rows.back().size(), 0.0f);
  }
  for (int n = 0; n < lines; ++n)
    c.lines.push_back(
        {6e-3 + n * 0.4e-3, n * 1.05, 0.9, n % 2 == 0, direction == Direction::axial ? 0 : 1, c.rows[n]});
  c.job.lines = c.lines;
  return c;
}

// Cells of 0.2 mm, five to a coarse one; [around][axial]. The beam heats the strip of fine cells it is over.
class Twin {
 public:
  explicit Twin(const ShellJob& job)
      : job_(job),
        rows_(int(job.tube.circumference / kFine + 0.5)),
        columns_(int(job.tube.length / kFine + 0.5)),
        now_(std::size_t(rows_) * columns_, 0.0),
        next_(now_) {}

  // The rise at the middle of every coarse cell when the beam is there, line after line.
  std::vector<std::vector<double>> run() {
    const double step = 0.35 * kFine * kFine / (4 * job_.wall.diffusivity());
    std::vector<std::vector<double>> out;
    double time = 0;
    for (const BurntLine& line : job_.lines) {
      while (time < line.start) time += march(std::min(step, line.start - time));
      // The line's own heat must not be in what is read: a second wall without it.
      Twin dark = *this;
      out.emplace_back(line.energies.size());
      const int cells = static_cast<int>(line.energies.size());
      for (int i = 0; i < 5 * cells; ++i) {
        const int fine = line.forth ? i : 5 * cells - 1 - i;
        const double stay = line.duration / (5 * cells);
        const int steps = static_cast<int>(std::ceil(stay / step));
        if (fine % 5 == 2) {
          for (int k = 0; k < steps; ++k) dark.march(stay / steps / 2);
          out.back()[fine / 5] = dark.at(line.across, (line.first * 5 + fine));
          for (int k = 0; k < steps; ++k) dark.march(stay / steps / 2);
        } else {
          for (int k = 0; k < steps; ++k) dark.march(stay / steps);
        }
        for (int k = 0; k < steps; ++k) {
          heat(line, line.first * 5 + fine, line.energies[fine / 5] * kFine / steps);
          march(stay / steps);
        }
      }
      time = line.start + line.duration;
    }
    return out;
  }
  double water() const { return water_; }
  double mean() const {
    double sum = 0;
    for (const double t : now_) sum += t;
    return sum / double(now_.size());
  }

 private:
  static constexpr double kFine = 0.2e-3;

  bool axial() const { return job_.direction == Direction::axial; }
  double& cell(int across, int along) {
    return axial() ? now_[std::size_t(across) * columns_ + along]
                   : now_[std::size_t(along) * columns_ + across];
  }
  // `energy` [J] into the strip across, as the beam's Gaussian gives every cell its share.
  void heat(const BurntLine& line, int along, double energy) {
    const int count = axial() ? rows_ : columns_;
    const double length = count * kFine, root = std::sqrt(2.0) / job_.beam;
    for (int i = 0; i < count; ++i)
      for (int image = -1; image <= 1; ++image) {
        const double d = i * kFine - line.across + image * length;
        if (!axial() && image) continue;
        cell(i, along) += energy * (std::erf((d + kFine) * root) - std::erf(d * root)) / 2 /
                          (kFine * kFine * job_.wall.areal());
      }
  }
  double at(double across, int along) {
    const int count = axial() ? rows_ : columns_;
    const double place = across / kFine - 0.5;
    const int i = static_cast<int>(place);
    const double f = place - i;
    return (1 - f) * cell(i % count, along) + f * cell((i + 1) % count, along);
  }
  double march(double step) {
    const double f = job_.wall.diffusivity() * step / (kFine * kFine), areal = job_.wall.areal();
    const double to_water = job_.loss.water ? job_.loss.water->transfer : 0;
    const double loss = step * (job_.loss.outside + job_.loss.inside) / areal, wet = step * to_water / areal;
    double drawn = 0;
    for (int r = 0; r < rows_; ++r) {
      const double* const here = &now_[std::size_t(r) * columns_];
      const double* const left = &now_[std::size_t((r + rows_ - 1) % rows_) * columns_];
      const double* const right = &now_[std::size_t((r + 1) % rows_) * columns_];
      for (int c = 0; c < columns_; ++c) {
        const double t = here[c], before = here[c ? c - 1 : c], after = here[c + 1 < columns_ ? c + 1 : c];
        next_[std::size_t(r) * columns_ + c] =
            t + f * (left[c] + right[c] + before + after - 4 * t) - loss * t - wet * (t - water_);
        drawn += wet * (t - water_);
      }
    }
    if (job_.loss.water) water_ += drawn * areal * kFine * kFine / job_.loss.water->capacity;
    now_.swap(next_);
    return step;
  }

  ShellJob job_;
  int rows_, columns_;
  std::vector<double> now_, next_;
  double water_ = 0;
};

void expect_twin(const Case& c) {
  const WallWarming ours = warm_wall(c.job);
  Twin twin(c.job);
  const std::vector<std::vector<double>> theirs = twin.run();
  double worst = 0;
  for (std::size_t n = 0; n < theirs.size(); ++n)
    for (std::size_t j = 0; j < theirs[n].size(); ++j) {
      EXPECT_NEAR(ours.rise(n)[j], theirs[n][j], 0.005 * ours.greatest) << "line " << n << " cell " << j;
      worst = std::max(worst, std::abs(ours.rise(n)[j] - theirs[n][j]));
    }
  std::printf("  largest difference %.2e of %.1f K\n", worst / ours.greatest, ours.greatest);
  EXPECT_NEAR(ours.mean / twin.mean(), 1, 3e-3);
  EXPECT_NEAR(ours.water, twin.water(), 3e-3 * ours.water);
}

TEST(ShellTwin, AxialLines) {
  expect_twin(small_case(Direction::axial, {}));
}

TEST(ShellTwin, AxialLinesWaterBehind) {
  expect_twin(small_case(Direction::axial, Water{800, 0.8}));
}

TEST(ShellTwin, LinesAround) {
  expect_twin(small_case(Direction::around, {}));
}

TEST(ShellTwin, EnergyIsKept) {
  for (const Direction direction : {Direction::axial, Direction::around})
    for (const bool wet : {false, true})
      for (const double wait : {0.0, 0.3, 40.0}) {
        Case c = small_case(direction, wet ? std::optional(Water{800, 0.8}) : std::nullopt);
        c.job.wait = wait;
        const WallWarming out = warm_wall(c.job);
        double put = 0, field = 0;
        for (const auto& row : c.rows)
          for (const float e : row) put += e * 1e-3;
        for (const float t : out.field) field += t / double(out.field.size());
        const double area = 20e-3 * 15e-3, wall = out.mean * kSteel.areal() * area;
        EXPECT_NEAR(out.deposited / put, 1, 1e-6);
        EXPECT_NEAR((wall + out.lost + (wet ? out.water * 0.8 : 0)) / put, 1, 1e-6);
        EXPECT_NEAR(field / out.mean, 1, 1e-6);
        EXPECT_GT(out.lost, 0.02 * put);
      }
}

// What is lost, in closed form: one line, then only the mean's decay.
TEST(ShellTwin, LossesOfOneLine) {
  Case c = small_case(Direction::axial, {});
  c.job.lines = c.job.lines.first(1);
  c.job.wait = 3;
  BurntLine line = c.lines[0];
  line.duration = 1e-6;
  c.job.lines = {&line, 1};
  const WallWarming out = warm_wall(c.job);
  EXPECT_NEAR(out.lost / out.deposited, -std::expm1(-3 * 230 / kSteel.areal()), 1e-6);
}

// The field of a plate in closed form: one cosine along, left alone, keeps its shape and decays.
TEST(ShellTwin, FieldOfOneCosine) {
  std::vector<float> row(15);
  for (int j = 0; j < 15; ++j) row[j] = float(100 * (1 + std::cos(M_PI * (j + 0.5) / 15)));
  const BurntLine line{
      .across = 10e-3, .start = 0, .duration = 1e-4, .forth = true, .first = 0, .energies = row};
  for (const double wait : {0.05, 2.0, 8.0}) {
    Case c = small_case(Direction::axial, {});
    c.job.lines = {&line, 1};
    c.job.loss = {};
    c.job.wait = wait;
    const WallWarming out = warm_wall(c.job);
    double low = 0, high = 0;  // summed around: the line's shape across is gone
    for (int s = 0; s < 20; ++s) low += out.field[s * 15 + 3] / 20, high += out.field[s * 15 + 11] / 20;
    const double k = M_PI / 15e-3, left = std::exp(-k * k * kSteel.diffusivity() * wait);
    const double unit = 100 / (kSteel.areal() * 20e-3);
    EXPECT_NEAR(low / unit, 1 + left * std::cos(M_PI * 3.5 / 15), 3e-3) << wait;
    EXPECT_NEAR(high / unit, 1 + left * std::cos(M_PI * 11.5 / 15), 3e-3) << wait;
  }
}

TEST(ShellTwin, MirrorAndTurn) {
  Case c = small_case(Direction::axial, Water{800, 0.8});
  const WallWarming out = warm_wall(c.job);
  for (std::size_t n = 0; n < c.rows.size(); ++n) {
    std::reverse(c.rows[n].begin(), c.rows[n].end());
    c.lines[n].forth = !c.lines[n].forth;
    c.lines[n].across += 7e-3 + 3 * 20e-3;
  }
  const WallWarming mirrored = warm_wall(c.job);
  for (std::size_t n = 0; n < c.rows.size(); ++n)
    for (int j = 0; j < 15; ++j) EXPECT_NEAR(out.rise(n)[j], mirrored.rise(n)[14 - j], 2e-5 * out.greatest);
  for (int s = 0; s < 20; ++s)
    for (int j = 0; j < 15; ++j)
      EXPECT_NEAR(out.field[s * 15 + j], mirrored.field[(s + 7) % 20 * 15 + 14 - j], 2e-5 * out.greatest);
}

TEST(ShellTwin, TransferToAir) {
  EXPECT_NEAR(air_transfer(5, 0.9, 300), 5 + 4 * 0.9 * 5.670374419e-8 * 2.7e7, 1e-9);
  EXPECT_NEAR(air_transfer(0, 1, 293.15), 5.714, 1e-3);  // the handbook's blackbody at 20 degC
}

TEST(ShellTwin, SaysNo) {
  const Case good = small_case(Direction::axial, {});
  const auto refused = [&](auto change) {
    Case c = small_case(Direction::axial, {});
    change(c);
    try {
      warm_wall(c.job);
    } catch (const quantity::ValidityError& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  EXPECT_EQ(refused([](Case&) {}), "");
  EXPECT_NE(refused([](Case& c) { c.lines[4].start -= 0.3; }).find("line 5 starts at"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.lines[4].first = 3; }).find("line 5: cells"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.rows[2][3] = NAN; }).find("line 3: energy"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.job.wall.thickness = 0; }).find("thickness"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.job.loss.outside = -1; }).find("outside"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.job.beam = NAN; }).find("beam"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.lines[1].duration = 0; }).find("duration"), std::string::npos);
  EXPECT_NE(refused([](Case& c) { c.lines[1].across = INFINITY; }).find("across"), std::string::npos);
  Case early = small_case(Direction::axial, {});
  for (BurntLine& line : early.lines) line.start -= 1e4;  // the clock's zero is nobody's business
  const WallWarming now = warm_wall(good.job), before = warm_wall(early.job);
  for (std::size_t i = 0; i < now.rises.size(); ++i) EXPECT_NEAR(now.rises[i], before.rises[i], 1e-4);
  ShellJob empty = good.job;
  empty.lines = {};
  EXPECT_EQ(warm_wall(empty).rises.size(), 0u);
  EXPECT_EQ(warm_wall(empty).field, std::vector<float>(300, 0.0f));
}

}  // namespace
}  // namespace circumfluence::heat
