#include "exposure/expose.h"

#include "exposure/around_lines.h"
#include "exposure/axial_lines.h"

namespace circumfluence::exposure {

std::unique_ptr<Exposure> expose(Arrangement arrangement) {
  if (arrangement.raster.direction == motion::Direction::axial)
    return std::make_unique<AxialLines>(std::move(arrangement));
  return std::make_unique<AroundLines>(std::move(arrangement));
}

}  // namespace circumfluence::exposure
