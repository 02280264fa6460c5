// The walk over the surface: row by row, the events that reach it in the order of time, judged and handed on.
#pragma once

#include <memory>
#include <vector>

#include "mark/mark_file.h"
#include "mark/predict.h"
#include "motion/wanted.h"
#include "response/judge.h"

namespace circumfluence::mark {

// What a walk needs to know and where its rows go; `maps` may be empty and `writer` null.
struct Walk {
  const Scene& scene;
  const workpiece::Surface& surface;
  const exposure::Exposure& exposure;
  const response::Model& model;
  const heat::Warmth& warmth;
  const exposure::Echo& echo;  // how a place remembers a line's power
  const Maps& maps;
  MarkWriter* writer;
};

Tally traverse(const Walk& walk, const Request& request);

// One thread's part of the walk: everything a row needs, kept from row to row.
class RowWalker {
 public:
  RowWalker(const Walk& walk, motion::Commands commands);

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
  void pass(const exposure::EventRow& event);
  void walk_piece(int row, int first, const Cells& out);
  void note_extremes(int row, int first, const Cells& cells);

  const Walk& walk_;
  std::unique_ptr<exposure::Cursor> cursor_;
  response::Judge judge_;
  response::Row row_;
  motion::Wanted wanted_;
  std::span<const exposure::EventRow> events_;
  std::vector<float> warmth_, centre_, threshold_, factor_;
  response::Factors mark_, over_;
  double hottest_ = 0;
  Extreme last_to_mark_, first_to_burn_;
};

}  // namespace circumfluence::mark
