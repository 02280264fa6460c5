#include "exposure/expose.h"

#include <algorithm>

#include "exposure/around_lines.h"
#include "exposure/axial_lines.h"

namespace circumfluence::exposure {

std::unique_ptr<Exposure> expose(Arrangement arrangement) {
  if (arrangement.raster.direction == motion::Direction::axial)
    return std::make_unique<AxialLines>(std::move(arrangement));
  return std::make_unique<AroundLines>(std::move(arrangement));
}

std::unique_ptr<Cursor> Exposure::cursor() const {
  static const Echo none;
  return cursor(none);
}

void Cursor::wanted(int, std::span<std::uint8_t> out) {
  std::fill(out.begin(), out.end(), std::uint8_t{0});
}

EventRow EventRow::from(int column) const {
  EventRow part = *this;
  part.energy += column;
  part.heating += column;
  if (lines != nullptr) part.lines += column;
  if (uniform) return part;
  part.shares += column;
  part.etas += column;
  part.halves += column;
  part.angles += column;
  part.states += column;
  return part;
}

void repeat(std::vector<EventRow>& events, int passes) {
  const size_t a_pass = events.size();
  events.reserve(a_pass * size_t(passes));
  for (int pass = 1; pass < passes; ++pass)
    for (size_t i = 0; i < a_pass; ++i) {
      events.push_back(events[i]);
      events.back().pass = pass;
    }
}

}  // namespace circumfluence::exposure
