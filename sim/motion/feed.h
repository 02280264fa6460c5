// Which point of the art as meant belongs to which point of the plane in which it is fed to the machine.
//
// The art as meant has its size on the part's own surface: `along` and `around` [m] are true lengths from its
// middle, which lies at axial position u0 and azimuth phi0 = around / R with the reference radius R. Two ways
// to lay a flat picture on a part:
//   level:     along = l(u) - l(u0), the length of the surface along its profile; around = r(u) (phi - phi0).
//              Lines of text stay parallel to the rim, every place has its true size along and around. On a
//              stepped part this is true band by band; the face of a step counts for nothing.
//   developed: the art is a label laid on a cone without stretching, workpiece/development.h.
// Both are the same on a cylinder. A fed point (u, s) [m] lands at the azimuth
//   turning:  phi = s / R                    a rotary turns angles, so that arcs come out r(u) / R as long
//   standing: phi = asin(s / r(u))           the head moves across, s is the lateral position
//
// Faults of the mount (a beam beside the axis, run-out) are left in: they are not what the art was drawn for.
// Closed forms, exact but for rounding; extent() samples the rim of the art at 513 places a side and both
// sides of every kink and step. Checked in tests/motion/feed_test.cpp and through a whole prediction in
// tests/mark/pre_distort_test.cpp.
#pragma once

#include <optional>

#include "artwork/tone.h"
#include "motion/mount.h"
#include "workpiece/development.h"
#include "workpiece/profile.h"

namespace circumfluence::motion {

enum class Truth { level, developed };

// The art as meant.
struct Lie {
  Truth truth = Truth::level;
  double axial = 0, around = 0;            // [m] its middle; around: arc at the reference radius
  double size_along = 0, size_around = 0;  // [m] on the part's surface
};

struct ArtPoint {
  double along, around;  // [m] from the middle of the art, on the surface
};

struct FedPoint {
  double axial, around;  // [m] in the fed plane, as a raster's
};

class Feed {
 public:
  // Throws JobError when the art cannot lie so: beyond the part's ends, round and over itself, past the flank
  // of a standing part, over the point of a taper, or developed over a kink or step.
  Feed(const workpiece::Part& part, const Mount& mount, double reference_radius, const Lie& lie);

  // Nothing where the beam misses the part, or beyond its ends.
  std::optional<ArtPoint> meant(FedPoint point) const;
  // Of a point of the art.
  FedPoint fed(ArtPoint point) const { return under_head(landing(point)); }
  // What the art covers of the fed plane.
  const artwork::Extent& extent() const { return extent_; }
  // [rad] the farthest from top dead centre of all that is marked, on a standing part; there a fed length
  // around is its cosine times the true one.
  double farthest() const { return farthest_; }

 private:
  struct Landing {
    double axial, azimuth;  // [m], [rad] of the part
  };
  Landing landing(ArtPoint point) const;
  FedPoint under_head(Landing at) const;
  void check_ends() const;
  void check_one_slope() const;
  void check_landing(Landing at) const;
  void add(ArtPoint point);

  workpiece::Profile profile_;
  workpiece::Slant slant_;
  workpiece::Cone cone_;
  Hold hold_;
  Lie lie_;
  double reference_radius_;  // [m]
  double azimuth_;           // [rad] of the middle
  double origin_;            // [m] slant of the middle
  artwork::Extent extent_;
  double farthest_ = 0;  // [rad]
};

}  // namespace circumfluence::motion
