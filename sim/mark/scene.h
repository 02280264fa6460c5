// A job made ready: files read, records found, geometry settled. Every stage of a prediction starts from
// here.
#pragma once

#include <memory>
#include <optional>

#include "exposure/expose.h"
#include "exposure/path_pieces.h"
#include "heat/shell.h"
#include "heat/warmth.h"
#include "job/job.h"
#include "motion/path_check.h"
#include "motion/raster.h"
#include "response/model.h"
#include "workpiece/surface.h"

namespace circumfluence::mark {

// A tool path as it is burnt in place of the art's own lines.
struct ToolPath {
  exposure::Path path;
  motion::PathNotes notes;
  double duration = 0, burning = 0;  // [s] of the whole; of it with the beam on and moving
  double power = 0, speed = 0;       // [W] at the source, [m/s]: what most of the burning is done with, by its middle
};

struct Scene {
  job::Job job;
  workpiece::Material base;
  std::optional<workpiece::Material> coat;
  workpiece::Profile profile;
  artwork::Image image;
  artwork::Extent art;      // [m] in the plane of the fed art
  double focus_at;          // [m] axial position
  double reference_radius;  // [m] arc lengths around are azimuth times this
  exposure::Light light;
  std::shared_ptr<const ToolPath> path = nullptr;  // none: the art's own lines

  double power() const;  // [W] set at the source
  response::Body body() const;
};

// Reads the picture and finds the records. Throws what reading and checking throw, and JobError when the art
// does not fit the part: beyond its ends, more than one turn around, or wider than a standing part. For a tool path the
// art, where the job has none, is what the path burns, and what [scan] leaves open is as it is burnt: power and speed.
Scene prepare(const job::Job& job);

// The smallest rectangle of the fed plane that holds what the path burns. Throws what reading throws, and JobError when
// it burns nothing.
artwork::Extent outline(const job::Job& job, const motion::PathFile& how);
std::shared_ptr<const ToolPath> read_tool_path(const Scene& scene, const motion::PathFile& how);
// As its reader wants it: with the driven diameter.
motion::PathFile path_file(const Scene& scene);
// What the machine would do badly, or was hardly meant: motion/path_check.h, for this part, laser and machine.
std::vector<motion::Finding> check_path(const Scene& scene, const quantity::Progress& progress = {});

// Where the art is fed so that it lands where the job wants it: the art is started where the beam falls,
// which on a turning part under a beam beside the axis is not top dead centre.
artwork::Placement fed(const Scene& scene);

// The stages, in the order in which data goes through them.
workpiece::Surface develop(const Scene& scene);
motion::Raster plan(const Scene& scene);
std::unique_ptr<exposure::Exposure> expose(const Scene& scene, const workpiece::Surface& surface,
                                           const motion::Raster& raster);
exposure::Arrangement arrangement(const Scene& scene, const workpiece::Surface& surface,
                                  const motion::Raster& raster);  // of the lines of a plan
heat::Orders orders(const job::Job& job);  // of the beam's profile, along and across the lines
response::Model respond(const Scene& scene, const exposure::Exposure& exposure);
response::Model respond(const Scene& scene, const std::vector<exposure::SpotState>& states);
// Absorptivity of the base against that at normal incidence; 1 where its record has no n and k.
exposure::AngleFactor angle_factor(const Scene& scene);
// How a place remembers the power of a line that passed it, for the middle one of the job's states; the ratio to a
// steady line changes little between them.
exposure::Echo remember(const Scene& scene, const workpiece::Surface& surface, const heat::Base& base,
                        const exposure::Exposure& exposure);

// A tool path as runs over the wall's coarse cells, in the order of time, which stand for its lines: each along the axis,
// or around, and as far across as its first step.
struct PathRuns {
  struct Run {
    double across;           // [m] of the tube
    int first, cells;        // along it
    bool forth;
    double start, duration;  // [s]
    size_t energies;         // where its cells begin
  };
  struct Of {
    std::uint32_t first, last;
  };
  bool axial = true;
  std::vector<Run> runs;
  std::vector<float> energies;  // [J/m] sent, run after run
  std::vector<Of> of_piece;     // the runs of each piece of the path
};
PathRuns runs_of(const Scene& scene, const heat::Tube& tube);

// The rise of the wall where and when each line is burnt, by coarse cells along the lines; heat/shell.h.
struct Background {
  heat::WallWarming warming;
  heat::Tube tube;
  double from = 0, cell = 0;      // [m] along the lines: where the first cell begins, and its length
  double across = 0;              // [m] across the lines: where the tube's first cell begins
  int cells = 0;                  // of a line
  heat::Conductivity conductivity{};
  PathRuns runs{};      // of a tool path, in place of lines
  bool capped = false;  // the wall would have got hotter than it can: it melts, chars or loses its coat before

  // A wall that stays this cool does not change a mark; it is then left out of the walk.
  static constexpr double kLeast = 2.0;  // [K]
  bool counts() const { return warming.greatest > kLeast; }
  // [K] coarse cells of the line burnt at that turn of the job, counted over all passes.
  std::span<const float> line(long turn) const { return warming.rise(size_t(turn)); }
};

// The heat that the lines of the whole job leave in the wall, after what the coat's removal has carried off, and how
// warm it makes the places that are burnt later. On tapered and stepped parts the tube is that at the middle of the
// art; the thickness of a coat, ramps at line ends and what neighbouring tones differ by are left out.
struct WallMap;
WallMap wall_map(const Scene& scene, const motion::Raster& raster, const Background& background);
Background warm(const Scene& scene, const motion::Raster& raster, const exposure::Exposure& exposure,
                const response::Model& model, int threads);

}  // namespace circumfluence::mark
