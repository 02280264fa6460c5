// The picture as it lies on the part: how much of any rectangle wants to be burnt.
//
//   wanted share of a pixel = (1 - tone) opacity   when dark is burnt   [1]
//                           = tone opacity          when light is burnt  [1]
//
// Resampling is exact: the picture is piecewise constant, one value a pixel, and a cell gets its area mean,
// so the mean of the picture is conserved at any ratio of pixel to cell. Outside the picture, and where it is
// transparent, nothing is wanted. Shares are kept to 1/65535 (exact without partial transparency); the mean
// is good to 3e-7, and exactly 0 or 1 where all pixels under the cell are. Cell edges within 1e-9 pixel of a
// pixel's edge count as on it. Checked against a sum over all pixels in tests/artwork/tone_test.cpp.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "artwork/image.h"
#include "artwork/placement.h"

namespace circumfluence::artwork {

// Rectangle that the picture covers, in the plane of the developed art: axial position and arc length [m].
struct Extent {
  double axial_from, axial_to, around_from, around_to;
};

// Size and place from the section and the picture's aspect (after its quarter turns; pixels are square unless
// both sizes are given). Throws JobError: no size, no place, a turn that is not a quarter.
Extent extent(const Placement& placement, const Image& image);

// The coordinate that runs along a row of cells.
enum class Along { axial, around };

// Samples rows of cells that share their edges along the row. Immutable and safe to share between threads;
// each thread keeps its own Scratch.
class Tone {
 public:
  // edges: [m] along the row, strictly rising, n + 1 for n cells. Holds 2 bytes a pixel and at most 32 a
  // cell.
  Tone(const Image& image, const Placement& placement, Along along, std::span<const double> edges);

  // The same picture over cells of other edges; the pixels are shared.
  Tone over(std::span<const double> edges) const;

  // The pixels under a cell along one coordinate, numbered from 1; 0 and n + 1 are the blank beyond the
  // picture. The mean is head p[first] + middle (sum of those between) + tail p[last]; head is 1 when first
  // is last.
  struct Cover {
    int first = -1, last = -1;
    double head = 1.0, middle = 0.0, tail = 0.0;
    bool operator==(const Cover&) const = default;
  };

  // What the last call left behind; rows that lie on the same pixels in the same shares are copied.
  struct Scratch {
    std::uint64_t tone = 0;    // which Tone
    Cover cover;               // of the last call
    std::vector<float> sum;    // [1] the picture averaged across the row, one a column, blanks included
    std::vector<float> cells;  // [1] the last call's answer
  };

  // out[i] = mean wanted share, 0 to 1, of the cell between edges i and i + 1 along the row and from..to [m]
  // across it; out has one place a cell. Throws ValidityError unless from < to. Measured on one core of a
  // server processor with AVX-512: 6 Gcell/s when pixels are larger than cells, 1 Gcell/s at equal size, and
  // 1 to 2 Gpixel/s when the picture is finer.
  void row(double from, double to, std::span<float> out, Scratch& scratch) const;

  // Whether a row over from..to [m] can touch the picture.
  bool reaches(double from, double to) const {
    return to > rows_from_ - row_pitch_ && from < rows_from_ + (rows_ + 1) * row_pitch_;
  }

 private:
  void lay_cells(std::span<const double> edges);
  void orient(const Image& image, const Placement& placement, Along along);
  void average_rows(const Cover& across, float* sum) const;

  std::uint64_t id_;                          // one a picture; copies share it
  int columns_ = 0;                           // along the row
  int rows_ = 0;                              // across it
  double rows_from_ = 0.0, row_pitch_ = 0.0;        // [m] across
  double columns_from_ = 0.0, column_pitch_ = 0.0;  // [m] along
  // [rows_][columns_], 65535 wants all; rising along and across. Copies share it.
  std::shared_ptr<const std::uint16_t> share_;
  // Cells on at most two pixels, when all are: mean = p[first] + second (p[first + 1] - p[first]).
  std::vector<std::int32_t> first_;
  std::vector<float> second_;
  std::vector<Cover> covers_;        // otherwise
  int used_from_ = 0, used_to_ = 0;  // columns, numbered as in Cover, that some cell touches
};

}  // namespace circumfluence::artwork
