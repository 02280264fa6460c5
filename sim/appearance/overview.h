// A mark map seen from further away: how many cells of each state lie in each block, gathered row by row.
//
// Pictures are made from this, so that they can be drawn of a map that was streamed to a file and never held.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace circumfluence::appearance {

struct Overview {
  int around = 0;  // blocks
  int axial = 0;
  int block = 1;  // cells an edge; blocks at the far edges may be incomplete
  // [around][axial]: cells by state, index = outcome (0..3, response/outcome.h) + 4 where the art wanted a
  // mark.
  std::vector<std::array<std::uint16_t, 8>> counts;

  Overview() = default;
  // Blocks as small as keep both sides within `most` pixels.
  Overview(int around_cells, int axial_cells, int most = 1000);

  // Adds one row of cells; rows of different blocks may be added at the same time.
  void add_row(int around_cell, std::span<const std::uint8_t> outcome, std::span<const std::uint8_t> wanted);
};

}  // namespace circumfluence::appearance
