#include "heat/thin_wall.h"

#include <cmath>

#include "quantity/constants.h"

namespace circumfluence::heat {

double wall_excess(const Solid& solid, double wall, double speed) {
  const double images = -std::log(-std::expm1(-speed * wall / solid.diffusivity));
  return images / (2 * quantity::kPi * solid.conductivity * wall);
}

}  // namespace circumfluence::heat
