#include "motion/commands.h"

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::motion {
namespace {

constexpr int kMostRuns = 32;

}  // namespace

Wanted::Wanted(const workpiece::Surface& surface, Hold hold, Commands commands)
    : surface_(surface), commands_(std::move(commands)) {
  if (hold == Hold::turning) return;
  const auto [least, greatest] = std::minmax_element(surface.radius.begin(), surface.radius.end());
  const double tolerance = std::max(surface.cell_around / 8, (*greatest - *least) / kMostRuns);
  for (int i = 0; i < surface.axial; ++i) {
    const double radius = surface.radius[i];
    if (runs_.empty() || std::abs(radius - runs_.back().radius) > tolerance / 2)
      runs_.push_back({i, i, radius});
    runs_.back().last = i + 1;
  }
}

void Wanted::row(int row, std::span<std::uint8_t> out) {
  const double half = surface_.cell_around / 2, arc = surface_.arc(row);
  if (runs_.empty()) {
    const double turn = 2 * quantity::kPi * surface_.reference_radius;
    commands_.wanted(arc - half, arc + half, out, scratch_);
    whole_.resize(out.size());
    for (const double other : {arc - turn, arc + turn}) {  // the art may lie across the grid's cut
      if (!commands_.reaches(other - half, other + half)) continue;
      commands_.wanted(other - half, other + half, whole_, scratch_);
      for (size_t i = 0; i < out.size(); ++i) out[i] |= whole_[i];
    }
    return;
  }
  const double from = std::sin((arc - half) / surface_.reference_radius);
  const double to = std::sin((arc + half) / surface_.reference_radius);
  if (!(from < to)) {  // beyond the flank
    std::fill(out.begin(), out.end(), std::uint8_t{0});
    return;
  }
  whole_.resize(out.size());
  for (const Run& run : runs_) {
    commands_.wanted(run.radius * from, run.radius * to, whole_, scratch_);
    std::copy(whole_.begin() + run.first, whole_.begin() + run.last, out.begin() + run.first);
  }
}

}  // namespace circumfluence::motion
