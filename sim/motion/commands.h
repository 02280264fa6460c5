// What the controller is told, how much of the set power dot by dot, and which cells the art wants marked.
//
// A dot is one cell along the line; the tone of the art over a dot (and over a line spacing across) is burnt
// on and off at the threshold, or in proportion; a halftone's picture is dots already (artwork/halftone.h), on and off.
#pragma once

#include <span>
#include <vector>

#include "artwork/tone.h"
#include "motion/mount.h"
#include "workpiece/surface.h"

namespace circumfluence::motion {

class Commands {
 public:
  // edges: [m] of the columns of dots along the axis, rising.
  Commands(const artwork::Image& image, const artwork::Placement& placement, std::span<const double> edges);

  // The same art over other columns; its pixels are shared.
  Commands over(std::span<const double> edges) const { return {tone_.over(edges), use_, threshold_}; }

  using Scratch = artwork::Tone::Scratch;
  // out[i] = share of the set power, 0 to 1, over column i and from..to [m] around.
  void row(double from, double to, std::span<float> out, Scratch& scratch) const;
  // out[i] = 1 where the art wants a mark over that cell, else 0.
  void wanted(double from, double to, std::span<std::uint8_t> out, Scratch& scratch) const;
  // False where neither of them finds any art.
  bool reaches(double from, double to) const { return tone_.reaches(from, to); }

 private:
  Commands(artwork::Tone tone, artwork::ToneUse use, float threshold)
      : tone_(std::move(tone)), use_(use), threshold_(threshold) {}

  artwork::Tone tone_;
  artwork::ToneUse use_;
  float threshold_;
};

// Which cells of a row the art wants marked. On a turning part the fed art's coordinate is the arc at the reference radius. On a standing part it is the
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
