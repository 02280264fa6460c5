// What the two kinds of lines are tried on: shapes, ways of holding, and one change of the rod's job at a
// time.
#pragma once

#include <functional>
#include <ostream>
#include <string>

#include "exposure/slow_beam.h"

namespace circumfluence::exposure::slow {

// Agreement with the slow beam, over the peak: on one radius, and where the radius varies.
struct Tolerance {
  double one_radius, varied;
};

struct Change {
  const char* name;
  std::function<void(Trial&)> make;
  Tolerance tolerance;
};

struct Try {
  workpiece::Shape shape;
  motion::Hold hold;
  Change change;
  friend std::ostream& operator<<(std::ostream& out, const Try& t) {
    return out << "shape " << int(t.shape) << ", "
               << (t.hold == motion::Hold::turning ? "turning, " : "standing, ") << t.change.name;
  }
};

inline void shape(Trial& t, workpiece::Shape shape) {
  t.part.shape = shape;
  t.part.end_diameter = 9e-3;
  if (shape == workpiece::Shape::stepped) t.part.profile = {{0, 10e-3}, {3.0e-3, 9e-3}};
  if (shape == workpiece::Shape::table) t.part.profile = {{0, 9e-3}, {2.9e-3, 10e-3}, {6e-3, 9.4e-3}};
}

inline Trial trial(const Try& what, motion::Direction direction) {
  Trial t = rod();
  shape(t, what.shape);
  t.mount.hold = what.hold;
  t.scan.direction = direction;
  what.change.make(t);
  return t;
}

inline double tolerance(const Try& what) {
  const bool one = what.shape == workpiece::Shape::straight || what.shape == workpiece::Shape::stepped;
  return one ? what.change.tolerance.one_radius : what.change.tolerance.varied;
}

// Room for where an offset beam burns.
inline void look_aside(Trial& t, double from, double to) {
  t.grid.around_from = from;
  t.grid.around_to = to;
}

inline void all_around(Trial& t) {
  t.part.diameter = 1e-3;
  t.part.end_diameter = 0.9e-3;
  t.part.wall = 0.1e-3;
  for (auto& row : t.part.profile) row.second /= 10;
  t.art.size_around = 2 * quantity::kPi * workpiece::Profile(t.part).radius(3e-3);
}

// The agreement a change of the job allows; the same list serves both kinds of lines.
struct Tolerances {
  Tolerance plain, flat, astigmatic, offset, runout, one_line, short_run_up, turn;
};

inline std::vector<Change> changes(const Tolerances& t) {
  using artwork::ToneUse;
  const auto flat = [](double axial, double around) {
    return [=](Trial& r) {
      r.laser.order_axial = axial;
      r.laser.order_around = around;
      r.grid.cell = 10e-6;  // for the sake of the slow beam's quadrature
      r.grid.margin = 0.15e-3;
    };
  };
  return {
      {"as it is", [](Trial&) {}, t.plain},
      {"super-Gaussian 4, 2", flat(4, 2), t.flat},
      {"super-Gaussian 4, 10", flat(4, 10), t.flat},
      {"super-Gaussian 10, 4", flat(10, 4), t.flat},
      {"astigmatic, out of focus",
       [](Trial& r) {
         r.laser.waist_offset_axial = 0.6e-3;
         r.laser.waist_offset_around = -0.4e-3;
         r.scan.focus_offset = -0.3e-3;
       },
       t.astigmatic},
      {"beam beside the axis",
       [](Trial& r) {
         r.mount.beam_offset = 2e-3;
         look_aside(r, -1e-3, 4e-3);
       },
       t.offset},
      {"run-out",
       [](Trial& r) {
         r.mount.runout = 0.2e-3;
         r.mount.runout_phase = 0.7;
       },
       t.runout},
      {"beam beside the axis and much run-out",
       [](Trial& r) {
         r.mount.beam_offset = 1.5e-3;
         r.mount.runout = 0.5e-3;
         r.mount.runout_phase = 1.7;
         look_aside(r, -2e-3, 4e-3);
       },
       t.offset},
      {"grey, two passes, one way",
       [](Trial& r) {
         r.art.tone = ToneUse::grey;
         r.image.tone[3] = 30000;
         r.image.tone[6] = 50000;
         r.scan.passes = 2;
         r.scan.two_way = false;
       },
       t.plain},
      {"one line",
       [](Trial& r) {
         r.scan.spacing = 1.5e-3;
         r.art.threshold = 0.33;
       },
       t.one_line},
      {"slow ends", [](Trial& r) { r.scan.run_up = 0.2e-3; }, t.short_run_up},
      {"slow ends, power that follows",
       [](Trial& r) {
         r.scan.run_up = 0.2e-3;
         r.scan.power_habit = motion::PowerHabit::follows_speed;
       },
       t.plain},
      {"another driven diameter", [](Trial& r) { r.mount.drive_diameter = 9e-3; }, t.plain},
      {"a region within the art",
       [](Trial& r) {
         r.grid.axial_from = 2.7e-3;
         r.grid.axial_to = 3.35e-3;
         look_aside(r, -0.2e-3, 0.3e-3);
       },
       t.plain},
  };
}

inline std::vector<Try> tries(const Tolerances& tolerances) {
  std::vector<Try> all;
  using workpiece::Shape;
  for (const Change& change : changes(tolerances))
    for (const motion::Hold hold : {motion::Hold::turning, motion::Hold::standing})
      for (const Shape s : {Shape::straight, Shape::tapered, Shape::stepped, Shape::table})
        all.push_back({s, hold, change});
  for (const Shape s : {Shape::straight, Shape::tapered, Shape::stepped, Shape::table})
    all.push_back({s, motion::Hold::turning, {"all around", all_around, tolerances.turn}});
  return all;
}

}  // namespace circumfluence::exposure::slow
