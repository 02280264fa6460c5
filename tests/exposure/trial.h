// A whole exposure small enough to be worked out the slow way.
#pragma once

#include <cmath>
#include <memory>
#include <vector>

#include "artwork/slow_tone.h"
#include "exposure/expose.h"
#include "quantity/map.h"

namespace circumfluence::exposure::slow {

// Everything an exposure depends on, small enough to integrate.
struct Trial {
  workpiece::Part part;
  motion::Mount mount;
  beam::Laser laser;
  motion::Scan scan;
  artwork::Placement art;
  artwork::Image image;
  workpiece::Grid grid;
};

// A 10 mm rod with a patchy picture of 1.2 mm x 0.9 mm at its middle, lines along the axis.
inline Trial rod() {
  Trial t;
  t.part.shape = workpiece::Shape::straight;
  t.part.length = 6e-3;
  t.part.diameter = 10e-3;
  t.part.wall = 1e-3;
  t.laser.wavelength = 450e-9;
  t.laser.spot_axial = 90e-6;
  t.laser.spot_around = 130e-6;
  t.laser.m2_axial = 4;
  t.laser.m2_around = 12;
  t.scan = {.power = 5, .speed = 0.05, .spacing = 60e-6, .run_up = 10e-3, .acceleration = 1.0};
  t.mount.focus_at = 3e-3;
  t.image = {4, 3, {0, 65535, 0, 0, 0, 0, 65535, 0, 65535, 0, 0, 0}, {}};
  t.art = {.size_axial = 1.2e-3,
           .size_around = 0.9e-3,
           .axial = 3e-3,
           .threshold = 0.47};  // no dot is just half covered
  t.grid = {.cell = 20e-6, .margin = 0.4e-3};
  return t;
}

inline Arrangement arrange(const Trial& t) {
  const workpiece::Profile profile(t.part);
  const double focus_at = t.mount.focus_at;
  const double reference =
      (std::isnan(t.mount.drive_diameter) ? 2 * profile.radius(focus_at) : t.mount.drive_diameter) / 2;
  const artwork::Extent art = artwork::extent(t.art, t.image);
  workpiece::Region region{art.axial_from, art.axial_to, art.around_from, art.around_to};
  if (t.mount.hold == motion::Hold::standing) {
    region.around_from = reference * std::asin(std::max(-1.0, art.around_from / reference));
    region.around_to = reference * std::asin(std::min(1.0, art.around_to / reference));
  }
  return {.surface = workpiece::develop(profile, t.grid, region, reference),
          .mount = t.mount,
          .raster = motion::plan(t.scan, art),
          .laser = t.laser,
          .light = Light(beam::caustic(t.laser), profile, t.mount, focus_at, t.scan.focus_offset),
          .power = t.scan.power,
          .speed = t.scan.speed,
          .power_habit = t.scan.power_habit,
          .angle_factor = [](double, double) { return 1.0; },
          .image = t.image,
          .placement = t.art};
}

// Fluence of all events of every cell [J/m^2].
inline quantity::Map<double> fluence(const Arrangement& job) {
  const std::unique_ptr<Exposure> exposure = expose(job);
  const std::unique_ptr<Cursor> cursor = exposure->cursor();
  quantity::Map<double> map(job.surface.around, job.surface.axial);
  for (int row = 0; row < map.around(); ++row) {
    std::ranges::fill(map.row(row), 0.0);
    for (const EventRow& event : cursor->at(row))
      for (int i = 0; i < map.axial(); ++i)
        map.row(row)[i] += double(event.energy[i]) * double(event.uniform ? event.share : event.shares[i]);
  }
  return map;
}

}  // namespace circumfluence::exposure::slow
