// What a stack and a spot must be to be computed.
#include <fmt/format.h>

#include <cmath>

#include "heat/layered_spot.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::heat {
namespace {

[[noreturn]] void refuse(const std::string& what) {
  throw quantity::ValidityError("heat: " + what);
}

void check(const Layer& layer, size_t number, bool last) {
  const auto bad = [&](const char* key, const std::string& value, const char* why) {
    refuse(fmt::format(
        "layer {} (from the lit surface): {} = {} ({}). Check the coat, the wall and the material records",
        number, key, value, why));
  };
  if (!(layer.thickness > 0))
    bad("thickness", quantity::format(layer.thickness, "um"),
        "a layer has a thickness; expected more than 0");
  if (!last && std::isinf(layer.thickness))
    bad("thickness", "infinite",
        "nothing below it would ever get warm; only the last layer may be without end");
  if (!(layer.conductivity > 0) || std::isinf(layer.conductivity))
    bad("conductivity", quantity::format(layer.conductivity, "W/(m K)"), "expected more than 0");
  if (!(layer.capacity > 0) || std::isinf(layer.capacity))
    bad("capacity", fmt::format("{:g} J/(m^3 K)", layer.capacity), "expected more than 0");
}

}  // namespace

void check(const Stack& stack) {
  if (stack.layers.empty()) refuse("stack: no layers (expected at least one). Give the base as a layer");
  for (size_t i = 0; i < stack.layers.size(); ++i)
    check(stack.layers[i], i + 1, i + 1 == stack.layers.size());
  if (!(stack.depth >= 0) || std::isinf(stack.depth))
    refuse(fmt::format(
        "stack: optical depth = {} (light is absorbed at the surface or below it; expected 0 or more)",
        quantity::format(stack.depth, "um")));
  const bool ends = !std::isinf(stack.layers.back().thickness);
  if (ends && stack.back != Back::insulated &&
      !(stack.back_transfer > 0 && std::isfinite(stack.back_transfer)))
    refuse(fmt::format(
        "stack: back transfer = {:g} W/(m^2 K) (what is behind the wall takes heat; expected more than "
        "0). Use an insulated back where nothing does",
        stack.back_transfer));
}

}  // namespace circumfluence::heat
