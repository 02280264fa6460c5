// Stopped half way: where a job is started again, how the joint will look, and the rest as a job of its own.
//
// A raster. The line that was interrupted is either burnt again from its beginning, or joined where the beam
// went out. Both ends of a joint are as soft as the beam is long: at a distance x beyond its end a line
// brings the share
//   phi(-x / w),  phi the beam's cumulative profile along the line, w [m] its 1/e^2 radius that way,
// so that two ends which overlap by o each bring phi(o / 2w) of a whole line in the middle, one after the
// other. The smallest overlap is the one at which that is kReserve times what outcome.required asks for, or
// nearly all of a line. What is burnt twice is reckoned as an even fill with a pass more (mark/fill.h), the
// neighbours' included, which errs towards over-burning. The wall has cooled; the beam goes out and comes
// back at full speed. Factors refer to the place where the focus was set.
//
// A tool path starts again with a whole move: with the one interrupted, or where the beam had last come on.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "job/job.h"
#include "mark/verdict.h"
#include "motion/kinematics.h"

namespace circumfluence::mark {

inline constexpr double kReserve = 1.1;  // [1] on power, that a joint has at least

// What is known: the time, or the last line that is seen on the part. Lines and passes count from 0.
struct Stop {
  double elapsed = quantity::kUnset;  // [s] since the job began
  double doubt = 0;                   // [s] by which that may be wrong
  int line = -1;                      // of those that this job burns
  double cross = quantity::kUnset;    // [m] or where it lies: `line` is then the nearest
  double along = quantity::kUnset;    // [m] where that line ends, if it is seen to
  int pass = -1;                      // with several passes, the one under way
};

struct Joint {
  double overlap;   // [m] along the line that is burnt twice; negative: left out between the two ends
  double least;     // [1] on power: below it the joint is not marked as required; as for the two of a Verdict
  double greatest;  // [1] above it the joint over-burns
  double tolerance;  // [m] by which the overlap may come out short before the joint is not marked; infinity:
                     // by any
  Ruling ruling;

  double margin() const;  // [1] on power, the nearer one; below 1 where it is used up
};

struct Restart {
  int pass, line;                 // to start again with
  bool backward;                  // that line runs against the coordinate
  double cross;                   // [m] its position across; this and `along` as the art is fed
  double along;                   // [m] where the beam went out; NaN: not known
  int lines_twice;                // beside the line itself that may be burnt twice, as the time is in doubt
  double elapsed, left;           // [s] at the beginning of that line: gone by, still to come
  std::optional<Joint> repeated;  // the line burnt again from its beginning; nothing: it had not begun
  std::optional<Joint>
      joined;   // burnt from `along` less the overlap; nothing: not known well enough, or not begun
  bool repeat;  // rather than join
  std::string words;
};

// Throws ValidityError: nothing is left, or the stop does not say enough.
Restart restart(const Scene& scene, const Stop& stop);

// The rest from the beginning of that line, in order: what is left of the pass, then the passes still to
// come. The first one's grid is limited to what it burns. Throws ValidityError where scan.interleave leaves
// lines that no job can name.
std::vector<job::Job> rest(const Scene& scene, const Restart& restart);

// What is known of a path: one of the three.
struct PathStop {
  double elapsed = quantity::kUnset;  // [s] since the path began
  std::int64_t line = 0;              // of the file, from 1, that was under way
  std::int64_t offset = -1;           // [B] in the file: as far as the controller has taken it in
};

struct PathRestart {
  motion::Move move;                // under way
  motion::Move chain;               // the first one since the beam came on; `move` itself where it is off
  motion::PathPoint place;          // where the beam was; where the move begins, when the time is not known
  double along, since;              // [m] of the move, and since the chain began, that are behind it
  double elapsed, chain_at, total;  // [s] at the beginning of the move, of the chain, and of the whole path
  std::string words;
};

// Reads the whole path. Throws what that throws, JobError as motion::check does, and ValidityError when the
// stop is not in it.
PathRestart restart(const std::string& path, const motion::PathFile& how, const motion::Machine& machine,
                    const PathStop& stop, const quantity::Progress& progress = {});

// Writes the path from a move of it on: modes, S, F and the way there with the beam off, the move's line with
// the words that were in effect, and the lines after it as they are. Throws FileError.
void write_rest(const std::string& path, const motion::PathFile& how, const motion::Move& from,
                const std::string& out);

}  // namespace circumfluence::mark
