// The plan of a fill: parallel lines over the art, in the plane in which the art is fed to the machine.
#pragma once

#include "artwork/tone.h"
#include "motion/scan.h"
#include "motion/sweep.h"

namespace circumfluence::motion {

struct Raster {
  Direction direction;
  double along_from, along_to;  // [m] where the art begins and ends along the lines
  double first;                 // [m] cross position of line 0
  double spacing;               // [m]
  int lines;                    // a pass
  int passes;
  bool two_way;
  Sweep sweep;
  double turn_round;  // [s] from the end of a line to the start of the next, with the pause
  int interleave;     // lines 0, n, 2n, ... are burnt first, then 1, n + 1, ...
  double duration;    // [s] of the whole job

  double cross(int line) const { return first + line * spacing; }
  int turn(int line) const;  // its place in the order of a pass
  bool backward(int line) const { return two_way && turn(line) % 2 == 1; }
  double start(int line, int pass) const;  // [s] when the line's run-up begins
  // [s/m] mean slowness over [along, along + length] of the fed art; beyond its ends, where nothing is burnt,
  // that at the end.
  double slowness(double along, double length) const;
};

inline constexpr long kMostLines = 10'000'000;

// Throws JobError when the spacing makes more than kMostLines lines.
Raster plan(const Scan& scan, const artwork::Extent& art);

}  // namespace circumfluence::motion
