#include "heat/moving_spot.h"

#include <fmt/format.h>

#include <cmath>

#include "heat/spot_integral.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::heat {

namespace {

void need_positive(double value, const char* key, const char* unit) {
  if (!(value > 0) || !std::isfinite(value))
    throw quantity::ValidityError(fmt::format(
        "heat: {} = {} (a body and a spot have a finite extent; expected more than 0). Check the material "
        "record and the beam",
        key, quantity::format(value, unit)));
}

void check(const Solid& solid, const Spot& spot, const Point& at) {
  need_positive(solid.conductivity, "conductivity", "W/(m K)");
  need_positive(solid.diffusivity, "diffusivity", "m^2/s");
  need_positive(spot.along, "spot radius along", "um");
  need_positive(spot.across, "spot radius across", "um");
  if (!(spot.speed >= 0) || !std::isfinite(spot.speed))
    throw quantity::ValidityError(
        fmt::format("heat: speed = {} (the spot moves toward +x; expected 0 or more). Mirror x instead",
                    quantity::format(spot.speed, "mm/s")));
  if (!(at.z >= 0))
    throw quantity::ValidityError(
        fmt::format("heat: depth = {} (the body begins at 0; expected 0 or more). Depth grows into the wall",
                    quantity::format(at.z, "um")));
}

SpotIntegral integral(const Solid& solid, const Spot& spot, double z) {
  return {{spot.along, spot.across, spot.speed / (8 * solid.diffusivity)}, kFine, z > 0};
}

double per_watt(const Solid& solid) {
  return std::sqrt(2 / quantity::kPi) / (quantity::kPi * solid.conductivity);
}

}  // namespace

double rise(const Solid& solid, const Spot& spot, const Point& at) {
  check(solid, spot, at);
  return per_watt(solid) * integral(solid, spot, at.z).at(at).value;
}

Peak peak(const Solid& solid, const Spot& spot, double y, double z) {
  check(solid, spot, {0, y, z});
  const Crest crest = integral(solid, spot, z).crest(y, z);
  return {per_watt(solid) * crest.value, crest.x};
}

}  // namespace circumfluence::heat
