#include "mark/traverse.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "quantity/lanes.h"

namespace circumfluence::mark {
namespace {

using Within = heat::Warmth::Within;

constexpr float kNever = std::numeric_limits<float>::infinity();

CIRCUMFLUENCE_LANES void look_up(const float* table, const std::uint16_t* states, float* out, int n) {
  for (int i = 0; i < n; ++i) out[i] = table[states[i]];
}

CIRCUMFLUENCE_LANES float greatest(const float* values, int n) {
  float most[16] = {};
  int i = 0;
  for (; i + 16 <= n; i += 16)
    for (int k = 0; k < 16; ++k) most[k] = values[i + k] > most[k] ? values[i + k] : most[k];
  for (; i < n; ++i) most[0] = values[i] > most[0] ? values[i] : most[0];
  return *std::max_element(most, most + 16);
}

// Factors are positive, so that they are ordered as their bits are, and integers reduce without lanes by
// hand.
CIRCUMFLUENCE_LANES float least(const float* factors, int n) {
  std::int32_t first = std::bit_cast<std::int32_t>(kNever);
  for (int i = 0; i < n; ++i) first = std::min(first, std::bit_cast<std::int32_t>(factors[i]));
  return std::bit_cast<float>(first);
}

// The greatest factor of the cells with a 1 in `chosen` that some power brings about; 0 where there is none.
CIRCUMFLUENCE_LANES float last_reached(const float* factors, const std::uint8_t* chosen, int n) {
  constexpr std::int32_t kNeverBits = std::bit_cast<std::int32_t>(kNever);
  std::int32_t most = 0;
  for (int i = 0; i < n; ++i) {
    const std::int32_t bits = std::bit_cast<std::int32_t>(factors[i]) & -std::int32_t(chosen[i]);
    most = std::max(most, bits < kNeverBits ? bits : 0);
  }
  return std::bit_cast<float>(most);
}

RowWalker::Cells part_of(const RowWalker::Cells& cells, int first, int count) {
  const size_t from = size_t(first), n = size_t(count);
  const response::Judged& j = cells.judged;
  return {{j.fluence.subspan(from, n), j.changed.subspan(from, n), j.peak_temperature.subspan(from, n),
           j.margin.subspan(from, n), j.outcome.subspan(from, n)},
          cells.wanted.subspan(from, n)};
}

}  // namespace

RowWalker::RowWalker(const Walk& walk, const std::optional<motion::Commands>& commands)
    : walk_(walk),
      cursor_(walk.exposure.cursor(walk.echo)),
      background_(walk),
      judge_(walk.model, walk.scene.job.outcome),
      row_(std::min(kPiece, walk.surface.axial), walk.model.film ? &*walk.model.film : nullptr, judge_.rise_limit(),
           walk.model.reacting ? &*walk.model.reacting : nullptr),
      warmth_(kPiece),
      centre_(kPiece),
      threshold_(kPiece, 1.0f),
      factor_(kPiece),
      scale_(kPiece) {
  if (commands) wanted_.emplace(walk.surface, walk.scene.job.mount.hold, *commands);
}

void RowWalker::walk(int row, const Cells& out, appearance::Overview& overview) {
  wanted_ ? wanted_->row(row, out.wanted) : cursor_->wanted(row, out.wanted);
  events_ = cursor_->at(row);
  const int columns = walk_.surface.axial;
  for (int first = 0; first < columns; first += kPiece)
    walk_piece(row, first, part_of(out, first, std::min(kPiece, columns - first)));
  overview.add_row(row, out.judged.outcome, out.wanted);
}

void RowWalker::walk_piece(int row, int first, const Cells& out) {
  const int columns = static_cast<int>(out.wanted.size());
  row_.clear(columns);
  for (const exposure::EventRow& event : events_) pass(event.from(first), background_.at(event, row, first));
  judge_.row(row_, out.judged);
  mark_.add(out.judged.margin, out.wanted);
  const std::span<float> factor(factor_.data(), size_t(columns));
  judge_.over_factor(row_, factor);
  over_.add(factor);
  note_extremes(row, first, out);
}

void RowWalker::pass(const exposure::EventRow& event, const float* background) {
  const bool film = walk_.model.film.has_value(), reacts = walk_.model.reacting && !one_state();
  if (event.uniform) {
    const float warmth = walk_.warmth.at(event, Within::nearest),
                centre = walk_.warmth.at(event, Within::centre);
    const float threshold = film ? walk_.model.thresholds[event.state] : 1.0f;
    const float* const scale = reacts ? &walk_.model.reacting->scale[event.state] : nullptr;
    row_.pass({event.energy, event.heating, &event.share, &warmth, &threshold, true, &centre, scale, background});
    return;
  }
  const int columns = row_.columns();
  walk_.warmth.row(event, Within::nearest, {warmth_.data(), size_t(columns)});
  if (film)
    look_up(walk_.model.thresholds.data(), event.states, threshold_.data(), columns);
  else
    walk_.warmth.row(event, Within::centre, {centre_.data(), size_t(columns)});
  if (reacts) look_up(walk_.model.reacting->scale.data(), event.states, scale_.data(), columns);
  row_.pass({event.energy, event.heating, event.shares, warmth_.data(), threshold_.data(), false, centre_.data(),
             reacts ? scale_.data() : nullptr, background});
}

void RowWalker::note_extremes(int row, int first, const Cells& cells) {
  const int n = static_cast<int>(cells.wanted.size());
  const auto place = [&](int column) {
    return Spot{walk_.surface.position(first + column), walk_.surface.arc(row)};
  };
  hottest_ = std::max(hottest_, double(greatest(cells.judged.peak_temperature.data(), n)));
  const float burns = least(factor_.data(), n);
  if (burns < (first_to_burn_.factor > 0 ? first_to_burn_.factor : double(kNever)))
    first_to_burn_ = {
        burns, place(static_cast<int>(std::find(factor_.begin(), factor_.begin() + n, burns) - factor_.begin()))};
  const float marks = last_reached(cells.judged.margin.data(), cells.wanted.data(), n);
  if (!(marks > last_to_mark_.factor)) return;
  int column = 0;
  while (cells.wanted[size_t(column)] == 0 || cells.judged.margin[size_t(column)] != marks) ++column;
  last_to_mark_ = {marks, place(column)};
}

}  // namespace circumfluence::mark
