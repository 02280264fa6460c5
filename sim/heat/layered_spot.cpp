#include "heat/layered_spot.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "heat/spot_table.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::heat {
namespace {

constexpr double kUnder = 3.0;  // [radii] a flat top counts as near

void need(bool good, const char* key, const std::string& value, const char* why) {
  if (!good)
    throw quantity::ValidityError(
        fmt::format("heat: {} = {} ({}). Check the beam and the scan", key, value, why));
}

void check(const Spot& spot, const Orders& orders) {
  for (const double radius : {spot.along, spot.across})
    need(radius > 0 && std::isfinite(radius), "spot radius", quantity::format(radius, "um"),
         "a spot has a finite extent; expected more than 0");
  need(spot.speed >= 0 && std::isfinite(spot.speed), "speed", quantity::format(spot.speed, "mm/s"),
       "the spot moves toward +x; expected 0 or more");
  for (const double order : {orders.along, orders.across})
    need(order >= 2 && order <= 40, "order of the spot", fmt::format("{:g}", order),
         "expected 2, Gaussian, to 40");
}

void check(const Stack& stack, const Spot& spot, double z) {
  double whole = 0;
  for (const Layer& layer : stack.layers) whole += layer.thickness;
  need(z >= 0 && z <= whole && std::isfinite(z), "depth", quantity::format(z, "um"),
       "expected 0, the lit surface, to the thickness of the stack");
  need(spot.speed > 0 || std::isinf(whole) || stack.back != Back::insulated, "speed",
       quantity::format(spot.speed, "mm/s"),
       "an insulated wall under a spot at rest has no steady state; expected a moving spot, a cooled back or "
       "a base "
       "without end");
}

// The distance behind the spot within which points up to y beside it get hottest: through whichever layer is
// fastest to get there, with a margin of 3.
double latest(const Stack& stack, double y, double z) {
  double fastest = HUGE_VAL, through = 0, top = 0, down = 0;
  for (const Layer& layer : stack.layers) {
    const double a = layer.conductivity / layer.capacity, h = layer.thickness;
    fastest = std::min(fastest, through + y * y / (4 * a));
    const double part = std::clamp(z - top, 0.0, h);
    down += part * part / (2 * a);
    through += h * h / a;
    top += h;
  }
  return 3 * (fastest + down);
}

}  // namespace

LayeredSpot::LayeredSpot(const Stack& stack, const Spot& spot, double z, const Orders& orders)
    : stack_(stack), spot_(spot), z_(z), orders_(orders) {
  heat::check(stack);
  check(spot, orders);
  check(stack, spot, z);
  reach((SpotTable::kReach + 0.1) * spot.across);
}

void LayeredSpot::reach(double y) {
  far_ = waves({4 * spot_.along + spot_.speed * latest(stack_, y, z_), y, -1});
  if (orders_.along != 2) near_ = waves({kUnder * spot_.along, y, 0});
}

bool LayeredSpot::under(double x) const {
  return orders_.along != 2 && std::abs(x) <= kUnder * spot_.along;
}

double LayeredSpot::rise(double x, double y) const {
  if (!std::isfinite(x) || !std::isfinite(y))
    throw quantity::ValidityError("heat: a point beside the spot is not a number (expected a distance)");
  const Waves& ready = under(x) ? near_ : far_;
  const bool here = std::abs(y) <= ready.reach.y && std::abs(x) <= ready.reach.x && (under(x) || x <= 0);
  if (here) return along(ready, y).at(x).value;
  return along(waves({std::abs(x), std::abs(y), under(x) ? 0 : (x > 0 ? 1 : -1)}), y).at(x).value;
}

}  // namespace circumfluence::heat
