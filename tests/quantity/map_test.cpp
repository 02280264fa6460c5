// Truth: row-major layout, alignment to 64 bytes, writable to the last byte.
#include "quantity/map.h"

#include <gtest/gtest.h>

#include <cstdint>
#include <numeric>

namespace circumfluence::quantity {
namespace {

TEST(Map, IsRowMajorAroundByAxial) {
  Map<float> map(3, 5);
  std::iota(map.cells().begin(), map.cells().end(), 0.0f);
  EXPECT_EQ(map.row(2)[1], 11.0f);
  EXPECT_EQ(map.row(2).size(), 5u);
  EXPECT_EQ(map.size(), 15u);
  EXPECT_EQ(map.row(1).data(), map.data() + 5);
}

TEST(Map, CopiesShareTheirMemoryAndKeepItAlive) {
  Map<int> copy;
  EXPECT_TRUE(copy.empty());
  {
    Map<int> map(2, 2);
    map.row(1)[1] = 7;
    copy = map;
    EXPECT_EQ(map.owner().use_count(), 2);
  }
  EXPECT_EQ(copy.row(1)[1], 7);
}

TEST(Pages, AreAlignedAndWritableToTheEnd) {
  for (const size_t bytes :
       {size_t{0}, size_t{1}, size_t{64}, size_t{4097}, size_t{2} << 20, (size_t{5} << 20) + 3}) {
    const std::shared_ptr<void> block = allocate_pages(bytes);
    EXPECT_EQ(reinterpret_cast<std::uintptr_t>(block.get()) % 64, 0u);
    if (bytes > 0) static_cast<char*>(block.get())[bytes - 1] = 'x';
  }
}

}  // namespace
}  // namespace circumfluence::quantity
