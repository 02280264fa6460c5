// Light of a shade, and what tells a mark from its ground.
#include <algorithm>
#include <cmath>
#include <limits>

#include "look/finish.h"
#include "quantity/constants.h"

namespace circumfluence::look {
namespace {

using appearance::Linear;

template <class Of>
Linear each(Of of) {
  return {of(0), of(1), of(2)};
}

}  // namespace

double luminance(const Linear& light) {
  return appearance::xyz_from_linear(light).y / 100;
}

appearance::Linear in_diffuse_light(const Shade& shade) {
  return each([&](int c) { return shade.diffuse[size_t(c)] + shade.mirror[size_t(c)]; });
}

appearance::Linear at_gloss(const Shade& shade, double off, double incidence) {
  const double lean = 0.5 * off, c = std::cos(lean), t = std::tan(lean) / shade.slope, side = std::cos(incidence);
  const double facets = std::exp(-t * t) / (4 * shade.slope * shade.slope * c * c * c * c * side * side);
  return each([&](int k) { return shade.diffuse[size_t(k)] + shade.mirror[size_t(k)] * facets; });
}

Contrast contrast(const Shade& ground, const Shade& mark) {
  const auto lab = [](const Linear& light, double by) {
    const Linear dimmer = each([&](int c) { return light[size_t(c)] / by; });
    return appearance::lab_from_xyz(appearance::xyz_from_linear(dimmer));
  };
  const auto between = [&](const Linear& a, const Linear& b) {
    const double glare = std::max({1.0, luminance(a), luminance(b)});
    return appearance::ciede2000(lab(a, glare), lab(b, glare));
  };
  constexpr double degree = quantity::kPi / 180;
  const Linear g = in_diffuse_light(ground), m = in_diffuse_light(mark);
  Contrast out{between(g, m), 0, std::numeric_limits<double>::infinity(), luminance(m) > luminance(g)};
  for (int off = 0; off <= 20; ++off) {
    const double d = between(at_gloss(ground, off * degree, 30 * degree), at_gloss(mark, off * degree, 30 * degree));
    out.gloss = std::max(out.gloss, d);
    out.gloss_least = std::min(out.gloss_least, d);
  }
  return out;
}

}  // namespace circumfluence::look
