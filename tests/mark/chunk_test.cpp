// Truth: zlib's own inflate and the definition of HDF5's shuffle filter (byte b of every cell before byte b +
// 1).
#include "mark/chunk.h"

#include <gtest/gtest.h>

#include <cstdint>

namespace circumfluence::mark {
namespace {

std::vector<unsigned char> unpack(std::span<const unsigned char> packed, size_t bytes) {
  std::vector<unsigned char> out(bytes);
  uLongf size = uLongf(bytes);
  EXPECT_EQ(uncompress(out.data(), &size, packed.data(), uLong(packed.size())), Z_OK);
  EXPECT_EQ(size, bytes);
  return out;
}

TEST(ChunkPacker, ShufflesPadsAndIsReusable) {
  const int stride = 7;
  std::vector<std::uint32_t> cells(3 * stride);
  for (size_t i = 0; i < cells.size(); ++i) cells[i] = std::uint32_t(0x01020304u + 0x10000u * i + i);
  ChunkPacker packer(4, 5, 4);
  for (const int first : {0, 5}) {  // the second chunk is narrower, both are shorter than 4 rows
    const auto bytes =
        unpack(packer.pack(reinterpret_cast<const std::byte*>(cells.data()), 3, first, stride), 80);
    for (int row = 0; row < 4; ++row)
      for (int column = 0; column < 5; ++column)
        for (int b = 0; b < 4; ++b) {
          const bool inside = row < 3 && first + column < stride;
          const auto cell = inside ? cells[size_t(row * stride + first + column)] : 0u;
          EXPECT_EQ(bytes[size_t(b * 20 + row * 5 + column)], (cell >> (8 * b)) & 0xffu);
        }
  }
}

TEST(ChunkPacker, IncompressibleCellsStillFit) {
  std::vector<unsigned char> cells(64 * 256);
  std::uint32_t state = 1;
  for (unsigned char& cell : cells)
    cell = static_cast<unsigned char>((state = state * 1664525u + 1013904223u) >> 24);
  ChunkPacker packer(64, 256, 1);
  EXPECT_EQ(unpack(packer.pack(reinterpret_cast<const std::byte*>(cells.data()), 64, 0, 256), cells.size()),
            cells);
}

}  // namespace
}  // namespace circumfluence::mark
