#include "appearance/overview.h"

#include <algorithm>
#include <cassert>
#include <cstring>
#include <string>

#include "quantity/error.h"
#include "quantity/lanes.h"

namespace circumfluence::appearance {
namespace {

constexpr int kLargestBlock = 255;  // so that a run of a block fits in a byte and a block in 16 bits
constexpr int kLargestPower = 128;  // the greatest power of two below it
constexpr int kPiece = 4096;        // cells prepared at a time, small enough for the innermost cache

// Where a cell of this state is counted in a word of eight bytes: eight times its index.
CIRCUMFLUENCE_LANES
void shifts_of(const std::uint8_t* outcome, const std::uint8_t* wanted, std::uint8_t* shift, int count) {
  for (int i = 0; i < count; ++i)
    shift[i] = static_cast<std::uint8_t>((outcome[i] & 3) * 8 + (wanted[i] != 0 ? 32 : 0));
}

void add(Overview::Counts& counts, std::uint64_t bytes) {
  std::uint8_t each[8];
  for (int i = 0; i < 8; ++i) each[i] = static_cast<std::uint8_t>(bytes >> (8 * i));
  for (int i = 0; i < 8; ++i) counts[i] = static_cast<std::uint16_t>(counts[i] + each[i]);
}

template <int Edge>
void add_blocks(const std::uint8_t* shift, Overview::Counts* counts, int blocks) {
  for (int b = 0; b < blocks; ++b, shift += Edge) {
    std::uint64_t bytes = 0;
    for (int i = 0; i < Edge; ++i) bytes += std::uint64_t{1} << shift[i];
    add(counts[b], bytes);
  }
}

void add_run(const std::uint8_t* shift, Overview::Counts& counts, int cells) {
  std::uint64_t bytes = 0;
  for (int i = 0; i < cells; ++i) bytes += std::uint64_t{1} << shift[i];
  add(counts, bytes);
}

// `edge` known at compile time for the usual sizes, which halves the time.
void add_blocks(const std::uint8_t* shift, Overview::Counts* counts, int blocks, int edge) {
  switch (edge) {
    case 1:
      return add_blocks<1>(shift, counts, blocks);
    case 2:
      return add_blocks<2>(shift, counts, blocks);
    case 4:
      return add_blocks<4>(shift, counts, blocks);
    case 8:
      return add_blocks<8>(shift, counts, blocks);
    default:
      for (int b = 0; b < blocks; ++b) add_run(shift + size_t(b) * edge, counts[b], edge);
  }
}

}  // namespace

Overview::Overview(int around_count, int axial_count, int most)
    : around_cells(around_count), axial_cells(axial_count) {
  if (around_count < 1 || axial_count < 1 || most < 1)
    throw quantity::ValidityError("overview: cells = " + std::to_string(around_count) + " x " +
                                  std::to_string(axial_count) +
                                  " (there is nothing to see; expected 1 or more)");
  const int longest = std::max(around_count, axial_count);
  while (longest > std::int64_t{block} * most && block <= kLargestBlock) block *= 2;
  if (block > kLargestBlock)
    throw quantity::ValidityError("overview: cells = " + std::to_string(around_count) + " x " +
                                  std::to_string(axial_count) + " (too many for a picture; expected up to " +
                                  std::to_string(kLargestPower * std::int64_t{most}) +
                                  " along a side). Make the cells larger");
  around = (around_count - 1) / block + 1;
  axial = (axial_count - 1) / block + 1;
  counts.resize(size_t(around) * size_t(axial), Counts{});
}

void Overview::add_row(int around_cell, std::span<const std::uint8_t> outcome,
                       std::span<const std::uint8_t> wanted) {
  assert(around_cell >= 0 && around_cell < around_cells);
  assert(outcome.size() == size_t(axial_cells) && wanted.size() == outcome.size());
  Counts* into = counts.data() + size_t(around_cell / block) * axial;
  const int piece = kPiece / block * block;
  alignas(64) std::uint8_t shift[kPiece];
  for (int first = 0; first < axial_cells; first += piece) {
    const int cells = std::min(piece, axial_cells - first);
    shifts_of(outcome.data() + first, wanted.data() + first, shift, cells);
    const int whole = cells / block;
    add_blocks(shift, into, whole, block);
    if (cells % block != 0) add_run(shift + size_t(whole) * block, into[whole], cells % block);
    into += whole;
  }
}

std::array<std::uint64_t, 8> Overview::totals() const {
  std::array<std::uint64_t, 8> sum{};
  for (const Counts& block_counts : counts)
    for (int i = 0; i < 8; ++i) sum[i] += block_counts[i];
  return sum;
}

}  // namespace circumfluence::appearance
