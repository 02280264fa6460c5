// A mark map seen from further away: how many cells of each state lie in each block, gathered row by row.
//
// Pictures are made from this, so that they can be drawn of a map that was streamed to a file and never held.
// Exact: every cell is counted once. A block holds at most 255 x 255 cells.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace circumfluence::appearance {

struct Overview {
  // Cells by state: index = outcome (0..3, response/outcome.h) + 4 where the art wanted a mark.
  using Counts = std::array<std::uint16_t, 8>;

  int around = 0;  // blocks
  int axial = 0;
  int block = 1;  // cells an edge; blocks at the far edges may be incomplete
  int around_cells = 0;
  int axial_cells = 0;
  std::vector<Counts> counts;  // [around][axial]

  Overview() = default;
  // Blocks as small as keep both sides within `most` pixels; a power of two, so that stripes of rows whose
  // height is one too never share a block. Throws ValidityError when there is no cell or
  // a block would need more than 255 cells an edge.
  Overview(int around_cells, int axial_cells, int most = 1200);

  // Adds one row of cells; rows of different block rows may be added at the same time. `wanted` is 0 or not.
  void add_row(int around_cell, std::span<const std::uint8_t> outcome, std::span<const std::uint8_t> wanted);

  // Cells by state over the whole map.
  std::array<std::uint64_t, 8> totals() const;
};

}  // namespace circumfluence::appearance
