// Truth: conservation (every cell is counted once) and a count written out cell by cell.
#include "appearance/overview.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <numeric>
#include <random>
#include <vector>

#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

struct Cells {
  int around, axial;
  std::vector<std::uint8_t> outcome, wanted;

  Cells(int a, int u) : around(a), axial(u), outcome(size_t(a) * u), wanted(size_t(a) * u) {
    std::mt19937 random(7);
    for (auto& o : outcome) o = static_cast<std::uint8_t>(random() % 4);
    for (auto& w : wanted) w = static_cast<std::uint8_t>(random() % 2);
  }
  void add_to(Overview& overview) const {
    for (int a = 0; a < around; ++a)
      overview.add_row(a, {outcome.data() + size_t(a) * axial, size_t(axial)},
                       {wanted.data() + size_t(a) * axial, size_t(axial)});
  }
};

// Each block's counts against the plain definition, for every block size with code of its own and beyond.
TEST(Overview, CountsAreThoseOfTheDefinition) {
  for (const int most : {101, 60, 40, 30, 23, 20, 17, 15, 12, 7, 1}) {
    const Cells cells(53, 101);
    Overview overview(cells.around, cells.axial, most);
    cells.add_to(overview);
    std::vector<Overview::Counts> expected(overview.counts.size(), Overview::Counts{});
    for (int a = 0; a < cells.around; ++a)
      for (int u = 0; u < cells.axial; ++u) {
        const size_t cell = size_t(a) * cells.axial + u;
        const int state = cells.outcome[cell] + 4 * cells.wanted[cell];
        ++expected[size_t(a / overview.block) * overview.axial + u / overview.block][state];
      }
    EXPECT_EQ(overview.counts, expected) << "block " << overview.block;
    EXPECT_LE(std::max(overview.around, overview.axial), most);
  }
}

TEST(Overview, EveryCellIsCountedOnceAlsoInLongRows) {
  const Cells cells(3, 10007);  // more than are prepared at a time, and prime
  Overview overview(cells.around, cells.axial, 3000);
  cells.add_to(overview);
  const auto totals = overview.totals();
  EXPECT_EQ(std::accumulate(totals.begin(), totals.end(), std::uint64_t{0}), 3u * 10007u);
  for (int state = 0; state < 8; ++state) {
    std::uint64_t count = 0;
    for (size_t i = 0; i < cells.outcome.size(); ++i)
      count += cells.outcome[i] + 4 * cells.wanted[i] == state;
    EXPECT_EQ(totals[state], count);
  }
}

TEST(Overview, BlocksAtTheFarEdgesMayBeIncomplete) {
  Overview overview(3, 7, 4);
  EXPECT_EQ(overview.block, 2);
  EXPECT_EQ(overview.around, 2);
  EXPECT_EQ(overview.axial, 4);
  const std::vector<std::uint8_t> outcome(7, 2), wanted(7, 1);
  for (int a = 0; a < 3; ++a) overview.add_row(a, outcome, wanted);
  const int expected[] = {4, 4, 4, 2, 2, 2, 2, 1};
  for (int b = 0; b < 8; ++b) EXPECT_EQ(overview.counts[b][6], expected[b]);
}

TEST(Overview, LargestBlockDoesNotOverflow) {
  Overview overview(128, 128, 1);
  const std::vector<std::uint8_t> outcome(128, 3), wanted(128, 0);
  for (int a = 0; a < 128; ++a) overview.add_row(a, outcome, wanted);
  EXPECT_EQ(overview.counts[0][3], 128 * 128);
}

// Powers of two, so that stripes of rows never share a block.
TEST(Overview, BlocksAreTheSmallestPowerOfTwo) {
  EXPECT_EQ(Overview(1200, 1200).block, 1);
  EXPECT_EQ(Overview(1201, 10).block, 2);
  EXPECT_EQ(Overview(10, 2401).block, 4);
}

TEST(Overview, RefusesWhatCanNotBeSeen) {
  EXPECT_THROW(Overview(0, 5), quantity::ValidityError);
  EXPECT_THROW(Overview(256, 256, 1), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::appearance
