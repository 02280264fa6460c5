#include "mark/traverse.h"

#include <algorithm>

#include "quantity/lanes.h"

namespace circumfluence::mark {
namespace {

using Within = heat::Warmth::Within;

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

}  // namespace

RowWalker::RowWalker(const Walk& walk, motion::Commands commands)
    : walk_(walk),
      cursor_(walk.exposure.cursor()),
      judge_(walk.model, walk.scene.job.outcome),
      row_(walk.surface.axial, walk.model.film ? &*walk.model.film : nullptr, judge_.rise_limit()),
      wanted_(walk.surface, walk.scene.job.mount.hold, std::move(commands)),
      warmth_(walk.surface.axial),
      centre_(walk.surface.axial),
      threshold_(walk.surface.axial, 1.0f),
      factor_(walk.surface.axial) {}

void RowWalker::walk(int row, const Cells& out, appearance::Overview& overview) {
  wanted_.row(row, out.wanted);
  row_.clear();
  for (const exposure::EventRow& event : cursor_->at(row)) pass(event);
  judge_.row(row_, out.judged);
  mark_.add(out.judged.margin, out.wanted);
  judge_.over_factor(row_, factor_);
  over_.add(factor_);
  overview.add_row(row, out.judged.outcome, out.wanted);
  note_hottest(row, out.judged.peak_temperature);
}

void RowWalker::pass(const exposure::EventRow& event) {
  const bool film = walk_.model.film.has_value();
  if (event.uniform) {
    const float warmth = walk_.warmth.at(event, Within::nearest),
                centre = walk_.warmth.at(event, Within::centre);
    const float threshold = film ? walk_.model.thresholds[event.state] : 1.0f;
    row_.pass({event.energy, &event.share, &warmth, &threshold, true, &centre});
    return;
  }
  walk_.warmth.row(event, Within::nearest, warmth_);
  if (film)
    look_up(walk_.model.thresholds.data(), event.states, threshold_.data(), row_.columns());
  else
    walk_.warmth.row(event, Within::centre, centre_);
  row_.pass({event.energy, event.shares, warmth_.data(), threshold_.data(), false, centre_.data()});
}

void RowWalker::note_hottest(int row, std::span<const float> temperatures) {
  const float most = greatest(temperatures.data(), static_cast<int>(temperatures.size()));
  if (!(most > hottest_)) return;
  hottest_ = most;
  const auto at = std::find(temperatures.begin(), temperatures.end(), most) - temperatures.begin();
  hottest_at_ = {walk_.surface.position(static_cast<int>(at)), walk_.surface.arc(row)};
}

}  // namespace circumfluence::mark
