// The path that a machine will run, as moves: what a file of words (G-code, RS-274 as of NIST IR 6556, ISO 6983-1) asks
// of the axes and of the beam.
//
// Coordinates are of the fed plane, as a raster's: `axial` along the part's axis, `around` arc at the driven diameter,
// `height` of the nominal focus above where it was set (the path's Z 0), all [m]. A turn word in degrees is
// around = A pi D/360 with D the driven diameter. Without words that say otherwise a path starts at its zero, in
// millimetres, G90, G94, with the beam off. A file is streamed: reading needs the same memory however long it is. What
// each word does, is read past for or is refused for: docs/theory/tool_path.md.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/bands.h"
#include "quantity/field.h"

namespace circumfluence::motion {

enum class AxisWord { x, y, a };  // a: degrees of the part; only of `turn`

// Section [path]. A job with it needs no [artwork] and no [scan].
struct PathFile {
  std::string file = {};                        // relative to the job file
  AxisWord along = AxisWord::x;                 // the word that moves along the part's axis
  AxisWord turn = AxisWord::y;                  // the word that turns the part, or crosses a standing one
  double axial = quantity::kUnset;              // [m] where the path's zero lies on the part
  double around = 0.0;                          // [m]
  double full_power_word = quantity::kUnset;    // [1] the S that asks for the rated power
  bool m3_follows_speed = false;                // power in proportion to the speed after M3, after M4
  bool m4_follows_speed = true;
  double rapid_speed = quantity::kUnset;        // [m/s] of G0; NaN: as fast as the axes go
  bool rapids_dark = true;                      // the controller puts the beam out during G0; RS-274 alone would not
  // Not a key of [path] but the job's mount.drive_diameter: whoever reads the file sets it here where `turn` is a.
  double driven_diameter = quantity::kUnset;    // [m]
};

const quantity::Fields<PathFile>& path_fields();

struct PathPoint {
  double axial = 0, around = 0, height = 0;  // [m]
};

// An arc in the fed plane about `axial`, `around`; `angle` [rad] turned, positive from axial towards around. Its radius
// goes evenly from the start's to the end's, which differ by no more than rounded words do; the height goes evenly too.
struct Arc {
  double axial = 0, around = 0;  // [m]
  double angle = 0;              // 0: a straight move; more than a turn where P asks for it
};

struct Move {
  enum class Kind : std::uint8_t { rapid, feed, dwell };
  Kind kind = Kind::feed;
  bool follows_speed = false;  // power in proportion to the speed: none where it stands
  bool darkened = false;       // a rapid with the beam on by its words, which the controller puts out (rapids_dark)
  float power = 0;             // [1] of the rated power, as asked for, above 1 too; 0 when off or darkened
  PathPoint from, to;          // of a dwell, and of a feed to where it already is, the same point
  Arc arc = {};
  double speed = 0;            // [m/s] asked for, of `length`; of a rapid that of G0; 0: as fast as the machine goes
  double pause = 0;            // [s] of a dwell
  std::int64_t line = 0;       // in the file, from 1
  std::int64_t offset = 0;     // [B] of that line's first byte

  double length() const;             // [m] along the move, arcs along the curve
  PathPoint at(double share) const;  // 0 to 1 of its length; exactly `to` at 1
};

// What was read past without effect, and how often: "T1" -> line of the first one.
struct Ignored {
  std::string word;
  std::int64_t line, count;
};

struct PathNotes {
  std::vector<Ignored> ignored;  // the first kMostIgnored kinds
  std::int64_t lines = 0, bytes = 0, moves = 0;
  bool ended = false;            // by M2, M30, or a closing %
  std::int64_t beam_on = 0;      // the line of the M3 or M4 that no M5 followed; 0: the beam was off
};

inline constexpr std::int64_t kMostPathBytes = std::int64_t(16) << 30;
inline constexpr std::int64_t kMostLineBytes = 4096;
inline constexpr int kMostIgnored = 100;
inline constexpr double kFarthest = 100.0;  // [m] of any coordinate from the part's zero

// Calls take(move) for each move in the order of time; false stops the reading. Throws FileError, Interrupted, or
// JobError with the file, line and column of the first word that is unknown, refused or lacks something.
using TakeMove = std::function<bool(const Move&)>;
PathNotes read_path(const std::string& path, const PathFile& how, const TakeMove& take,
                    const quantity::Progress& progress = {});
PathNotes parse_path(std::string_view text, const std::string& name, const PathFile& how, const TakeMove& take);

// Straight pieces of an arc that stay within `tolerance` [m] of it, calling piece(from, to); a straight move is one.
// An arc is cut into at most kMostChords, where the tolerance would need more they are coarser.
inline constexpr int kMostChords = 1'000'000;
using TakePiece = std::function<void(const PathPoint& from, const PathPoint& to)>;
void chords(const Move& move, double tolerance, const TakePiece& piece);

}  // namespace circumfluence::motion
