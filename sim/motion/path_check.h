// What of a tool path the machine would do badly, or surely was not meant: findings with the lines they are from.
//
// The moves are looked at once, in order, in bounded memory, before anything is predicted: geometry and words
// alone, so a finding says what to look at and not how the mark will be. Each kind is counted in full; lines
// and the worst are kept. Assumes a part that turns where `turn` is known. Estimates: arcs count as chords
// within kArcTolerance; a place is burnt twice where boxes of half a degree of the part meet that different
// turns have burnt; a fill is two passes or more at one regular spacing. Checked on paths written for the
// purpose, with one fault each.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "motion/kinematics.h"
#include "motion/tool_path.h"
#include "workpiece/profile.h"

namespace circumfluence::motion {

struct Finding {
  enum class Kind : std::uint8_t {
    reversal,      // worst: [m] how soon after it
    lit_rapid,     // [m] the longest
    dark_rapid,    // dark only because the controller sees to it
    standing,      // [s] the longest pause
    off_the_part,  // [m] how far beyond an end, or beside a part that stands
    second_turn,   // [m] burnt arc, from first to last
    too_fast,      // [1] speed asked for over what the axes can
    slow_bend,     // [1] likewise, of arcs
    slow_corner,   // [1] likewise, of corners; infinite where it stops
    power,         // [1] of the rated power
    spacing,       // [m] the widest
    height,        // [m] the longest way up or down
    left_on,
    count
  };
  Kind kind = Kind::reversal;
  std::int64_t count = 0;
  std::vector<std::int64_t> lines = {};  // the first kMostLinesNamed
  double worst = 0;
  std::int64_t worst_line = 0;
};
inline constexpr int kMostLinesNamed = 5;
inline constexpr double kArcTolerance = 20e-6;  // [m]

const char* name(Finding::Kind kind);
// "The beam is on while the head stands, 3 times (lines 4, 9, 12), for up to 0.5 s: ..." One sentence.
std::string words(const Finding& finding);

struct PathSetting {
  double length = quantity::kUnset;  // [m] of the part, along its axis from 0; NaN: not known, not checked
  double turn = quantity::kUnset;    // [m] arc of a full turn, at the driven diameter; NaN: the part stands
  const workpiece::Profile* standing = nullptr;  // of a part that stands, which the beam can pass beside; outlives it
  double beam_offset = 0;                        // [m] of its mount
  double clear_width = quantity::kUnset;  // [m] that a line clears; NaN: not known, spacings are not checked
  double slack = 1e-3;                    // [m] of turning after a reversal that is looked at; a choice
  Machine machine = {};                   // without accelerations: speeds are not checked
};

// Burnt after the part has turned back.
class Reversals {
 public:
  // Whether this piece is the first burnt one within `slack` of a reversal; `way` then is how far after it.
  bool take(double around, bool lit, double slack);
  double way = 0;  // [m]

 private:
  int sense_ = 0;
  bool pending_ = false;
};

// Places that more than one turn of the part has burnt.
class TurnBoxes {
 public:
  bool take(const PathPoint& from, const PathPoint& to, double turn);

 private:
  static constexpr int kBins = 720, kTurns = 8;
  struct Box {
    std::int64_t turn;
    double low, high, left, right;  // [m] around within the turn, axial
    bool meets(const Box& other) const;
    void add(const Box& other);
  };
  struct Bin {
    int used = 0;
    std::array<Box, kTurns> box;
    std::optional<Box> earlier;  // turns before those
  };
  bool take(const Box& box, int slot);
  std::vector<Bin> bins_;
};

// Straight passes that lie side by side.
class Passes {
 public:
  // The distance to the pass before [m] once a pass is over that continues a regular spacing; of line().
  std::optional<double> take(const Move& move, bool lit, double clear_width);
  std::optional<double> finish(double clear_width);
  std::int64_t line() const { return last_line_; }

 private:
  static constexpr int kRecent = 8;
  struct Pass {
    double axial, around, x, y;  // [m] a point of it; direction, of length 1
    double low = 0, high = 0;    // [m] burnt, from that point
    bool lit = false;
    std::int64_t line = 0;
  };
  std::optional<double> gap(const Pass& pass, const Pass& before) const;
  std::optional<Pass> now_;
  std::vector<Pass> recent_;
  double spacing_ = 0;  // [m] of the last two
  std::int64_t last_line_ = 0;
};

class PathCheck {
 public:
  explicit PathCheck(const PathSetting& setting);
  void take(const Move& move);
  std::vector<Finding> finish(const PathNotes& notes);  // in the order of the kinds

 private:
  void find(Finding::Kind kind, std::int64_t line, double worst);
  void check_words(const Move& move, bool lit);
  void check_speeds(const Move& move, bool lit);
  double off_the_part(const PathPoint& at) const;
  void check_place(const Move& move, const PathPoint& from, const PathPoint& to, bool lit);

  PathSetting setting_;
  Machine speeds_only_;
  bool has_machine_;
  std::array<Finding, static_cast<size_t>(Finding::Kind::count)> findings_;
  Reversals reversals_;
  TurnBoxes boxes_;
  Passes passes_;
  double first_ = 0, last_ = 0;  // [m] around, burnt from and to
  bool burnt_ = false;
  struct Before {
    Heading end;
    double speed;
    bool lit;
  };
  std::optional<Before> before_;  // the move before, where it runs into this one
};

}  // namespace circumfluence::motion
