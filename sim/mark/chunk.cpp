#include "mark/chunk.h"

#include <algorithm>
#include <cstring>
#include <new>

namespace circumfluence::mark {

ChunkPacker::ChunkPacker(int rows, int columns, int element)
    : rows_(rows), columns_(columns), element_(element), shuffled_(size_t(rows) * columns * element) {
  if (deflateInit(&stream_, kDeflateLevel) != Z_OK) throw std::bad_alloc();
  packed_.resize(deflateBound(&stream_, uLong(shuffled_.size())));
}

ChunkPacker::~ChunkPacker() {
  deflateEnd(&stream_);
}

std::span<const unsigned char> ChunkPacker::pack(const std::byte* cells, int rows, int first_column,
                                                 int stride) {
  const int columns = std::min(columns_, stride - first_column);
  if (rows < rows_ || columns < columns_) std::fill(shuffled_.begin(), shuffled_.end(), 0);
  const size_t plane = size_t(rows_) * columns_;
  for (int row = 0; row < rows; ++row) {
    const auto* from =
        reinterpret_cast<const unsigned char*>(cells + (size_t(row) * stride + first_column) * element_);
    unsigned char* to = shuffled_.data() + size_t(row) * columns_;
    if (element_ == 1) {
      std::memcpy(to, from, size_t(columns));
    } else {
      for (int byte = 0; byte < element_; ++byte)
        for (int i = 0; i < columns; ++i) to[size_t(byte) * plane + i] = from[size_t(i) * element_ + byte];
    }
  }
  deflateReset(&stream_);
  stream_.next_in = shuffled_.data();
  stream_.avail_in = uInt(shuffled_.size());
  stream_.next_out = packed_.data();
  stream_.avail_out = uInt(packed_.size());
  deflate(&stream_, Z_FINISH);  // always room: deflateBound
  return {packed_.data(), size_t(stream_.total_out)};
}

}  // namespace circumfluence::mark
