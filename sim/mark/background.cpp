#include <algorithm>
#include <cmath>

#include "mark/traverse.h"
#include "quantity/constants.h"
#include "quantity/lanes.h"

namespace circumfluence::mark {
namespace {

CIRCUMFLUENCE_LANES void interpolate(const float* line, const std::int32_t* cells, const float* shares, float* out,
                                     int n) {
  for (int i = 0; i < n; ++i) out[i] = line[cells[i]] + shares[i] * (line[cells[i] + 1] - line[cells[i]]);
}

}  // namespace

BackgroundRows::BackgroundRows(const Walk& walk) : walk_(walk), kept_(64) {
  const Background& background = walk.background;
  if (!background.counts()) return;
  for (const float rise : background.warming.rises)
    linear_.push_back(static_cast<float>(heat::linear_rise(background.conductivity, rise)));
  if (walk.raster.direction == motion::Direction::axial)
    for (int i = 0; i < walk.surface.axial; ++i) {
      const Between place = between(walk.surface.position(i));
      cells_.push_back(place.cell);
      shares_.push_back(place.share);
    }
  across_.resize(size_t(walk.surface.axial));
}

BackgroundRows::Between BackgroundRows::between(double along) const {
  const Background& b = walk_.background;
  const double at = std::clamp((along - b.from) / b.cell - 0.5, 0.0, double(b.cells - 1));
  const int cell = std::min(static_cast<int>(at), std::max(0, b.cells - 2));
  return {cell, b.cells > 1 ? static_cast<float>(at - cell) : 0.0f};
}

float BackgroundRows::rise(long turn, const Between& place) const {
  const Background& b = walk_.background;
  const float* const line = linear_.data() + turn * b.cells + place.cell;
  return b.cells > 1 ? line[0] + place.share * (line[1] - line[0]) : line[0];
}

void BackgroundRows::spread(long turn, std::vector<float>& out) const {
  const Background& b = walk_.background;
  const float* const line = linear_.data() + turn * b.cells;
  out.resize(cells_.size());
  if (b.cells > 1)
    interpolate(line, cells_.data(), shares_.data(), out.data(), static_cast<int>(out.size()));
  else
    std::fill(out.begin(), out.end(), line[0]);
}

const float* BackgroundRows::at(const exposure::EventRow& event, int row, int first) {
  if (linear_.empty()) return nullptr;
  if (!walk_.background.runs.runs.empty()) {
    path_rises(event, row, first);
    return across_.data() + first;
  }
  const motion::Raster& raster = walk_.raster;
  const long before = long(event.pass) * raster.lines;
  if (event.lines != nullptr) {
    const double turn = 2 * quantity::kPi * walk_.surface.reference_radius, along = walk_.surface.arc(row);
    const double from = walk_.background.from;
    const Between place = between(along - std::floor((along - from) / turn) * turn);
    for (int i = first; i < std::min(first + kPiece, walk_.surface.axial); ++i)
      across_[size_t(i)] = event.lines[i] < 0 ? 0.0f : rise(before + raster.turn(event.lines[i]), place);
    return across_.data() + first;
  }
  const long turn = before + raster.turn(event.line);
  Kept* oldest = &kept_.front();
  for (Kept& kept : kept_) {
    if (kept.turn == turn) {
      kept.used = ++clock_;
      return kept.rises.data() + first;
    }
    if (kept.used < oldest->used) oldest = &kept;
  }
  oldest->turn = turn;
  oldest->used = ++clock_;
  spread(turn, oldest->rises);
  return oldest->rises.data() + first;
}

}  // namespace circumfluence::mark
