// Truth: every row is worked on exactly once; nothing goes on after a stop or an exception.
#include "quantity/bands.h"

#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <thread>
#include <vector>

#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

TEST(Bands, TouchEveryRowOnce) {
  for (const int threads : {1, 2, 5})
    for (const int count : {0, 1, 15, 16, 17, 1000}) {
      std::vector<std::atomic<int>> touched(count);
      for_bands({count, 16, threads}, [&](int first, int last, int thread) {
        EXPECT_LT(first, last);
        EXPECT_LE(last - first, 16);
        EXPECT_LT(thread, threads);
        for (int i = first; i < last; ++i) ++touched[i];
      });
      for (const auto& n : touched) EXPECT_EQ(n, 1);
    }
}

TEST(Bands, RunOnNoMoreThreadsThanPieces) {
  EXPECT_EQ(thread_count({100, 16, 3}), 3);
  EXPECT_EQ(thread_count({17, 16, 8}), 2);
  EXPECT_EQ(thread_count({0, 16, 8}), 1);
  EXPECT_GE(thread_count({100000, 16, 0}), 1);
}

TEST(Bands, TheCallerIsThreadZeroAndAloneReports) {
  const auto caller = std::this_thread::get_id();
  double before = -1;
  for_bands(
      {400, 8, 3},
      [&](int, int, int thread) { EXPECT_EQ(thread == 0, std::this_thread::get_id() == caller); },
      [&](double share) {
        EXPECT_EQ(std::this_thread::get_id(), caller);
        EXPECT_GE(share, before);
        before = share;
        return true;
      });
  EXPECT_EQ(before, 1.0);
}

TEST(Bands, AnExceptionEndsTheWorkAndIsRethrown) {
  std::atomic<int> done{0};
  const auto work = [&](int first, int, int) {
    if (first == 16) throw std::out_of_range("row 16");
    ++done;
  };
  EXPECT_THROW(for_bands({100000, 16, 2}, work), std::out_of_range);
  EXPECT_LT(done, 100000 / 16);
}

TEST(Bands, StopWhenProgressSaysSo) {
  std::atomic<int> done{0};
  int calls = 0;
  const auto work = [&](int, int, int) { ++done; };
  EXPECT_THROW(for_bands({1000, 10, 1}, work, [&](double) { return ++calls < 5; }), Interrupted);
  EXPECT_EQ(done, 4);
}

TEST(Progress, APartIsAWholeOfItsOwn) {
  std::vector<double> said;
  const Progress whole = [&said](double share) { return said.push_back(share), share < 0.7; };
  const Progress last = part(part(whole, 0, 0.8), 0.5, 1);  // 0.4 to 0.8 of all
  EXPECT_TRUE(last(0));
  EXPECT_TRUE(last(0.5));
  EXPECT_FALSE(last(1));  // what the whole says
  ASSERT_EQ(said.size(), 3u);
  EXPECT_NEAR(said[0], 0.4, 1e-15);
  EXPECT_NEAR(said[1], 0.6, 1e-15);
  EXPECT_EQ(said[2], 0.8);  // ends are met exactly: parts that follow each other never step back
}

TEST(Progress, APartOfNoneIsNone) {
  EXPECT_FALSE(part({}, 0, 0.5));
}

}  // namespace
}  // namespace circumfluence::quantity
