// The mark of a coated part under axial lines as a plain program would work it out: double, one cell and one
// event after the other, erf and exp where the equations have them. To measure against and to compare with.
//
// It takes from the library what is no part of the walk: the job, materials, grid, caustic, and the profile
// of the peak beside a line at a given spot.
#pragma once

#include <cstdint>
#include <vector>

#include "mark/scene.h"

namespace circumfluence::benchmarks {

struct PlainMaps {
  int around = 0, axial = 0;
  std::vector<float> fluence, removed, peak_temperature, margin;  // rounded on storing
  std::vector<std::uint8_t> outcome, wanted;
};

PlainMaps plain_mark(const mark::Scene& scene);

}  // namespace circumfluence::benchmarks
