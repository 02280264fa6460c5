// How deep and how wide the base melts at its hottest place.
#include <algorithm>
#include <cmath>
#include <vector>

#include "mark/verdict.h"

namespace circumfluence::mark {

Melt melt_of(const Evidence& e, const Line& line) {
  const response::Model& model = e.model;
  const bool melts = model.body == response::Body::coated || model.body == response::Body::bare;
  const workpiece::Material& base = e.scene.base;
  if (!melts || !base.solidus.known() || e.tally.hottest <= base.solidus.value) return {};
  const heat::Spot spot{line.along, line.across, line.speed};
  const heat::Stack stack = heat::stack_of(model.base);
  std::vector<double> depths, widths, down, beside;
  const heat::LayeredSpot top(stack, spot, 0, model.base.orders);
  const double peak = top.peak().rise, wall = std::min(model.base.wall, 6 * line.across);
  for (int i = 0; i <= 12; ++i) {  // denser near the surface
    depths.push_back(wall * i * i / 144.0);
    down.push_back(i == 0 ? 1.0 : std::min(down.back(), heat::LayeredSpot(stack, spot, depths.back(), model.base.orders).peak().rise / peak));
    widths.push_back(4 * line.across * i * i / 144.0);
    beside.push_back(i == 0 ? 1.0 : std::min(beside.back(), top.peak(widths.back()).rise / peak));
  }
  const double melting = heat::linear_rise(model.conductivity, base.solidus.value - model.start);
  const double ratio = heat::linear_rise(model.conductivity, e.tally.hottest - model.start) / melting;
  return {response::MeltReach(depths, down).of(ratio), 2 * response::MeltReach(widths, beside).of(ratio)};
}

}  // namespace circumfluence::mark
