// A job: everything a prediction depends on, as read from a job file or built in code.
#pragma once

#include <string>
#include <vector>

#include "artwork/placement.h"
#include "beam/laser.h"
#include "motion/kinematics.h"
#include "motion/mount.h"
#include "motion/raster.h"
#include "motion/rotary.h"
#include "motion/tool_path.h"
#include "response/limits.h"
#include "workpiece/grid.h"
#include "workpiece/material.h"
#include "workpiece/part.h"

namespace circumfluence::job {

// [artwork] and [scan] may be left out, or say less, where a tool path is burnt in their place.
struct Job {
  beam::Laser laser;
  workpiece::Part workpiece;
  motion::Mount mount;
  motion::Rotary rotary;
  motion::Machine machine;
  artwork::Placement artwork;
  motion::Scan scan;
  motion::PathFile path;  // with a file, in place of the art's own plan
  workpiece::Grid grid;
  response::Limits outcome;
  std::vector<workpiece::Material> materials;  // the job's own records, before any built-in of the same name
  std::string folder;                          // where relative paths start
  std::string name;  // of the file, in messages; empty for a job built or altered in code
  std::string text;  // TOML: as read, or as written by write_job after an alteration

  bool has_path() const { return !path.file.empty(); }
  std::string path_to(const std::string& file) const;  // a file that the job names, from its folder
};

}  // namespace circumfluence::job
