// Truth: what the lines were told, shifted by hand along them: an echo that hears one column hears that column.
#include <gtest/gtest.h>

#include <map>
#include <utility>

#include "exposure/trial.h"

namespace circumfluence::exposure {
namespace {

using Heard = std::map<std::pair<int, int>, float>;  // row, line: [J/m]

Heard heard(const Arrangement& job, const Echo& echo) {
  const std::unique_ptr<Exposure> exposure = expose(job);
  const std::unique_ptr<Cursor> cursor = exposure->cursor(echo);
  Heard out;
  for (int row = 0; row < job.surface.around; ++row)
    for (const EventRow& event : cursor->at(row))
      for (int i = 0; i < job.surface.axial; ++i)
        if (event.lines[i] >= 0) out[{row, event.lines[i]}] = event.heating[i];
  return out;
}

Echo one_column(int ahead) {
  return {2, {{ahead, {1, 0}, {0}}}};
}

slow::Trial around_rod(bool two_way) {
  slow::Trial trial = slow::rod();
  trial.scan.direction = motion::Direction::around;
  trial.scan.two_way = two_way;
  return trial;
}

TEST(AroundEcho, HearsWhatTheLineWasToldThere) {
  const slow::Trial trial = around_rod(true);
  const Arrangement job = slow::arrange(trial);
  const float full = static_cast<float>(trial.scan.power / trial.scan.speed);
  int lit = 0, dark = 0;
  for (const auto& [where, value] : heard(job, one_column(0))) {
    EXPECT_TRUE(value == 0 || std::abs(value - full) < 1e-4f * full) << value;
    (value > 0 ? lit : dark) += 1;
  }
  EXPECT_GT(lit, 100);
  EXPECT_GT(dark, 100);
}

TEST(AroundEcho, LooksAheadAndBackTheWayEachLineRuns) {
  const slow::Trial trial = around_rod(true);
  const Arrangement job = slow::arrange(trial);
  const Heard own = heard(job, one_column(0)), ahead = heard(job, one_column(3));
  const Echo older{2, {{0, {0, 0}, {1}}}};  // the mean of the two columns before the last two
  const Heard before = heard(job, older);
  int compared = 0;
  for (const auto& [where, value] : ahead) {
    const int back = job.raster.backward(where.second) ? -1 : 1;
    const auto next = own.find({where.first + 3 * back, where.second});
    const auto two = own.find({where.first - 2 * back, where.second}), three = own.find({where.first - 3 * back, where.second});
    if (next != own.end()) {
      EXPECT_EQ(value, next->second) << where.first << " " << where.second;
      ++compared;
    }
    if (two != own.end() && three != own.end()) {
      EXPECT_NEAR(before.at(where), (two->second + three->second) / 2, 1e-3);
    }
  }
  EXPECT_GT(compared, 1000);
}

}  // namespace
}  // namespace circumfluence::exposure
