// From plan to events: which lines reach a row of cells, and what each brings.
#pragma once

#include <functional>
#include <memory>

#include "beam/laser.h"
#include "exposure/event.h"
#include "motion/commands.h"
#include "motion/mount.h"
#include "motion/raster.h"
#include "workpiece/surface.h"

namespace circumfluence::exposure {

// Absorptivity of the base against that at normal incidence, by cosine of incidence and the axial share of
// the tilt (beam/fresnel.h).
using AngleFactor = std::function<double(double incidence, double slope_share)>;

struct Arrangement {
  workpiece::Surface surface;
  motion::Mount mount;
  motion::Raster raster;
  beam::Laser laser;
  Light light;
  double power;  // [W] on the part, at full tone
  double speed;  // [m/s] asked for
  motion::PowerHabit power_habit;
  AngleFactor angle_factor;
  artwork::Image image;
  artwork::Placement placement;
};

// Fluence of an event is the mean over the cell. The beam's radii are those at the height where the line's
// middle meets the part; a line that misses the part with its middle burns nothing. Within 1e-4 of the peak
// of direct integration in time on a cylinder, 1e-3 on tapers, 1e-2 where a steep flank is far out of focus
// or a beam stands far beside the axis of a taper (docs/theory/exposure.md). Energy is conserved to 1e-4 in
// float maps.
std::unique_ptr<Exposure> expose(Arrangement arrangement);

}  // namespace circumfluence::exposure
