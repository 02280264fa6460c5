// The loops behind response/row.h: plain arrays in, plain arrays changed.
#pragma once

#include "response/row.h"

namespace circumfluence::response {

struct RowArrays {
  int n;
  float *fluence, *left, *rise, *centre, *absorbed, *spent, *over_cost, *over_by, *strongest;
};

void pass_steady(const RowArrays& row, const Passage& event, const Film& film, float rise_limit);
void pass_blow_off(const RowArrays& row, const Passage& event, const Film& film, float rise_limit);
void pass_bare(const RowArrays& row, const Passage& event);
struct Columns {
  int n;
  bool uniform;
};
// [K] linear rises of the cells' centres, the wall's own included.
void centre_rises(const Columns& columns, const Passage& event, float* out);
// An event too far away to bring light: it warms the base where that lies bare (a coat's row).
void pass_warm(const RowArrays& row, const Passage& event, float rise_limit);

}  // namespace circumfluence::response
