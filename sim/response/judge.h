// What became of a row of cells, and by which factor on power it could have been otherwise.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "response/model.h"
#include "response/outcome.h"
#include "response/row.h"

namespace circumfluence::response {

// Where a judged row is put; each span has the row's length.
struct Judged {
  std::span<float> fluence;           // [J/m^2]
  std::span<float> changed;           // [m]
  std::span<float> peak_temperature;  // [K]
  std::span<float> margin;            // [1] factor on power at which the cell just becomes fully marked
  std::span<std::uint8_t> outcome;    // Outcome
};

class Judge {
 public:
  Judge(const Model& model, const Limits& limits);

  void row(const Row& row, const Judged& out);
  // [1] by column, the factor on power at which the cell becomes over-burned.
  void over_factor(const Row& row, std::span<float> out) const;
  // [K] a linear rise of the base at the rise limit; Row needs it.
  float rise_limit() const { return limit_; }

 private:
  void judge_reacted(const Row& row, const Judged& out);
  void judge_organic(const Row& row, const Judged& out);

  const Model& model_;
  Body body_;
  float start_, bend_;           // T = start + 2 theta / (1 + sqrt(1 + bend theta))
  float onset_, faint_, limit_;  // [K] linear rises
  float thickness_, tolerated_, need_, removal_rise_;
  float ceiling_;         // [K] linear rise beyond which nothing warms
  float melt_;            // [K] linear rise at which a bare base begins to melt
  float char_strength_;   // [1] of an event that chars deep enough
  std::vector<float> scratch_;
};

}  // namespace circumfluence::response
