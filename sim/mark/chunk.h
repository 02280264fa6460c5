// One chunk of a compact map, packed as HDF5's shuffle and deflate filters would: any HDF5 reads it back.
//
// HDF5 compresses under its one lock; packing outside it lets every thread compress its own stripe.
#pragma once

#include <zlib.h>

#include <cstddef>
#include <span>
#include <vector>

namespace circumfluence::mark {

// Level 1 of 9: on maps the higher ones cost several times the time for little.
inline constexpr int kDeflateLevel = 1;

class ChunkPacker {
 public:
  ChunkPacker(int rows, int columns, int element);  // of a chunk; element: bytes a cell
  ~ChunkPacker();
  ChunkPacker(const ChunkPacker&) = delete;
  ChunkPacker& operator=(const ChunkPacker&) = delete;

  // Packs the cells [first_column, first_column + columns) of `rows` rows, `stride` cells apart; what the
  // chunk has beyond the map is filled with zeros. The result stands until the next call.
  std::span<const unsigned char> pack(const std::byte* cells, int rows, int first_column, int stride);

 private:
  int rows_, columns_, element_;
  z_stream stream_{};
  std::vector<unsigned char> shuffled_, packed_;
};

}  // namespace circumfluence::mark
