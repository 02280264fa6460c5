// The walk over the surface: row by row, the events that reach it in the order of time, judged and handed on.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "mark/mark_file.h"
#include "mark/predict.h"
#include "motion/commands.h"
#include "response/judge.h"

namespace circumfluence::mark {

// What a walk needs to know and where its rows go; `maps` may be empty and `writer` null.
struct Walk {
  const Scene& scene;
  const workpiece::Surface& surface;
  const exposure::Exposure& exposure;
  const response::Model& model;
  const heat::Warmth& warmth;
  const exposure::Echo& echo;    // how a place remembers a line's power
  const Background& background;  // how warm the wall is already
  const motion::Raster& raster;
  const Maps& maps;
  MarkWriter* writer;
};

Tally traverse(const Walk& walk, const Request& request);

// Where the wall's warming makes the mark over-burn, says so in the verdict's notes, with the pause between lines or
// the order of lines that cures it. Walks once more to know; does nothing where nothing is over-burned.
void add_cure(const Walk& walk, const Request& request, Verdict& verdict);

// Columns taken through all events and judged at a time: a row's dozen arrays then stay in the innermost cache.
inline constexpr int kPiece = 512;

// The wall's own rise under the cells of a row, event by event; keeps the lines it has spread over the columns.
class BackgroundRows {
 public:
  explicit BackgroundRows(const Walk& walk);
  // [K] linear rise of columns first.. of the row, kPiece of them, when the event comes; null where it does not count.
  const float* at(const exposure::EventRow& event, int row, int first);

 private:
  struct Kept {
    long turn = -1, used = 0;
    std::vector<float> rises;  // by column
  };
  struct Between {
    int cell;  // and the next one
    float share;
  };
  Between between(double along) const;
  void spread(long turn, std::vector<float>& out) const;
  void path_rises(const exposure::EventRow& event, int row, int first);
  float rise(long turn, const Between& place) const;

  const Walk& walk_;
  std::vector<float> linear_;     // [K] all lines' coarse cells, as a linear rise
  std::vector<std::int32_t> cells_;  // where each column lies along the lines, as Between
  std::vector<float> shares_;
  std::vector<Kept> kept_;
  std::vector<float> across_;
  long clock_ = 0;
};

// One thread's part of the walk: everything a row needs, kept from row to row.
class RowWalker {
 public:
  // Without commands, a path's, the exposure says what is wanted.
  RowWalker(const Walk& walk, const std::optional<motion::Commands>& commands);

  // Where the cells of a row go.
  struct Cells {
    response::Judged judged;
    std::span<std::uint8_t> wanted;
  };
  void walk(int row, const Cells& out, appearance::Overview& overview);

  const response::Factors& mark() const { return mark_; }
  const response::Factors& over() const { return over_; }
  double hottest() const { return hottest_; }
  const Extreme& last_to_mark() const { return last_to_mark_; }
  const Extreme& first_to_burn() const { return first_to_burn_; }

 private:
  void pass(const exposure::EventRow& event, const float* background);
  bool one_state() const { return walk_.exposure.states().size() == 1; }
  void walk_piece(int row, int first, const Cells& out);
  void note_extremes(int row, int first, const Cells& cells);

  const Walk& walk_;
  std::unique_ptr<exposure::Cursor> cursor_;
  BackgroundRows background_;
  response::Judge judge_;
  response::Row row_;
  std::optional<motion::Wanted> wanted_;
  std::span<const exposure::EventRow> events_;
  std::vector<float> warmth_, centre_, threshold_, factor_, scale_;
  response::Factors mark_, over_;
  double hottest_ = 0;
  Extreme last_to_mark_, first_to_burn_;
};

}  // namespace circumfluence::mark
