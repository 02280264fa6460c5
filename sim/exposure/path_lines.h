// Events of a tool path: straight pieces at any angle, arcs, dwells, the focus moved on the way
// (exposure/path_pieces.h).
//
// Seen from above, a cell of a row is a rectangle of the beam's own cross-section, and a piece sends it
//   F A = E' int ds [Phi(x2/wx) - Phi(x1/wx)] [Phi(y2/wy) - Phi(y1/wy)]     [J]
// x1, x2, y1, y2 distances of its edges from the beam along the axis and across, A the cell's true area.
// Along the axis and around the integral is closed (exposure/cross_section.h); at an angle and on arcs it is
// a Gauss rule of four points to `kPanel` radii of path, as is a dwell of one: any orders of the profile,
// elliptical beams, any shape of part. Radii are those at the height where the beam's middle meets the part,
// as for the lines of a raster.
//
// One passage of the beam over a cell is one event. A piece goes on with the cell's passage when it is of the
// same chain, at most twice the beam's reach further along the path, and does not run against the direction
// in which the passage began; else it begins the next. The line energy that heats (energy) is E' over the
// surface of the pieces, as far as they have reached the cell; a dwell counts as the passage of a spot's
// diameter in its time.
//
// Within 1e-4 of the peak of direct integration in time (1e-3 where the focus moves on the way, or a beam
// stands far beside the axis of a standing part); energy to 1e-6 (docs/theory/exposure.md). Oblique states
// take the beam's radii along and across as those of its second moments, in five directions at most.
#pragma once

#include <memory>
#include <vector>

#include "exposure/cross_section.h"
#include "exposure/expose.h"
#include "exposure/path_pieces.h"

namespace circumfluence::exposure {

struct PathGround {
  workpiece::Surface surface;
  motion::Mount mount;
  beam::Laser laser;
  Light light;
  AngleFactor angle_factor;
  double width = 0;  // [m] that a lit piece is wanted to mark
};

class PathLines : public Exposure {
 public:
  // Throws ValidityError when the path lies so densely that its index would not fit the memory.
  PathLines(PathGround ground, std::shared_ptr<const Path> path);
  PathLines(PathGround ground, Path path) : PathLines(std::move(ground), std::make_shared<const Path>(std::move(path))) {}
  using Exposure::cursor;
  std::unique_ptr<Cursor> cursor(const Echo& echo) const override;
  const std::vector<SpotState>& states() const override { return states_->list(); }
  const Path& path() const { return path_; }

 private:
  friend class PathCursor;
  // How the beam meets the part at one place of the path.
  struct Sight {
    bool lit = false;
    double height = 0, incidence = 0;
    double feed = 0;              // [1] distance a cell moves past the beam per fed length around
    double turned = 1;            // [1] the part's speed over the fed one
    float axial = 1, around = 1;  // [m] radii
    float angle = 0;              // [1] absorptivity
  };
  struct Span {
    double low, high;
  };
  struct Rows {
    int first, last;
  };
  struct Reach {
    double axial, around;  // [m]
    States::Range height;  // [m]
  };
  struct Tilt {
    double radius, slope;
  };
  Sight sight(double fed, double focus, const Tilt& tilt) const;
  double fed(int row, double radius) const;  // [m] around, when the beam is over the row; NaN: never
  double radius_at(double axial, int stretch) const;
  Reach reach_of(const Piece& piece) const;
  Span arcs_of(const Piece& piece, double reach) const;
  void find_rows(const Piece& piece, double reach, std::vector<Rows>& out) const;
  void list_rows();
  void make_states(const States::Range& height);
  std::span<const std::uint32_t> row(int row) const;

  PathGround ground_;
  std::shared_ptr<const Path> owner_;
  const Path& path_;
  beam::SpotProfile axial_, around_;
  CrossSection axial_table_, around_table_;
  double least_radius_, greatest_radius_, most_reach_ = 0;  // [m]
  bool same_;                                               // every place around sees the beam alike
  std::vector<float> inverse_axial_,
      inverse_around_;                          // [1/m] by column, edges of the cells over the true surface
  std::vector<int> stretch_;                    // by column: of the part, without a step
  std::vector<std::pair<int, int>> stretches_;  // their columns
  std::unique_ptr<PathStates> states_;
  std::vector<size_t> first_of_row_;
  std::vector<std::uint32_t> pieces_of_row_;  // in the order of time
};

}  // namespace circumfluence::exposure
