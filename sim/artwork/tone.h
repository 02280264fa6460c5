// The picture as it lies on the part: how much of any rectangle wants to be burnt.
//
// Resampling is exact: the picture is piecewise constant, one value a pixel, and a cell gets its area mean,
// so the mean of the picture is conserved at any ratio of pixel to cell. Outside the picture, and where it is
// transparent, nothing is wanted.
#pragma once

#include <span>
#include <vector>

#include "artwork/image.h"
#include "artwork/placement.h"

namespace circumfluence::artwork {

// Rectangle that the picture covers, in the plane of the developed art: axial position and arc length [m].
struct Extent {
  double axial_from, axial_to, around_from, around_to;
};

// Size and place from the section and the picture's aspect (after its quarter turns).
Extent extent(const Placement& placement, const Image& image);

// The coordinate that runs along a row of cells.
enum class Along { axial, around };

// Samples rows of cells that share their edges along the row. Immutable and safe to share between threads;
// each thread keeps its own Scratch.
class Tone {
 public:
  // edges: [m] along the row, strictly rising, n + 1 for n cells.
  Tone(const Image& image, const Placement& placement, Along along, std::span<const double> edges);

  struct Scratch {
    std::vector<float> sum;        // one a picture column
    double from = 0.0, to = -1.0;  // the cross range that out of the last call held
  };

  // out[i] = mean wanted share, 0 to 1, of the cell between edges i and i + 1 along the row and from..to [m]
  // across it. At least 1 Gcell/s for pictures of about the grid's resolution.
  void row(double from, double to, std::span<float> out, Scratch& scratch) const;

 private:
  // implementation's own: picture oriented with the row coordinate contiguous, as wanted shares
};

}  // namespace circumfluence::artwork
