// A job: everything a prediction depends on, as read from a job file or built in code.
#pragma once

#include <string>
#include <vector>

#include "artwork/placement.h"
#include "beam/laser.h"
#include "motion/mount.h"
#include "motion/raster.h"
#include "response/limits.h"
#include "workpiece/grid.h"
#include "workpiece/material.h"
#include "workpiece/part.h"

namespace circumfluence::job {

struct Job {
  beam::Laser laser;
  workpiece::Part workpiece;
  motion::Mount mount;
  artwork::Placement artwork;
  motion::Scan scan;
  workpiece::Grid grid;
  response::Limits outcome;
  std::vector<workpiece::Material> materials;  // the job's own records, before any built-in of the same name
  std::string folder;                          // where relative paths start
  std::string name;  // of the file, in messages; empty for a job built or altered in code
  std::string text;  // TOML: as read, or as written by write_job after an alteration
};

}  // namespace circumfluence::job
