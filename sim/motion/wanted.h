// Which cells of a row the art wants marked.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "motion/commands.h"
#include "motion/mount.h"
#include "workpiece/surface.h"

namespace circumfluence::motion {

// On a turning part the fed art's coordinate is the arc at the reference radius. On a standing part it is the
// lateral position, which differs from column to column where the radius does: columns are then taken in runs
// of nearly one radius (within an eighth of a cell, or a 32nd of the range).
class Wanted {
 public:
  // `surface` must outlive it.
  Wanted(const workpiece::Surface& surface, Hold hold, Commands commands);
  void row(int row, std::span<std::uint8_t> out);

 private:
  struct Run {
    int first, last;  // columns
    double radius;    // [m]
  };
  const workpiece::Surface& surface_;
  std::vector<Run> runs_;  // empty on a turning part
  Commands commands_;
  Commands::Scratch scratch_;
  std::vector<std::uint8_t> whole_;
};

}  // namespace circumfluence::motion
