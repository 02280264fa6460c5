// What an even fill leaves in the wall as heat.
#include <algorithm>
#include <cmath>

#include "mark/fill.h"

namespace circumfluence::mark {
namespace {

constexpr int kPlaces = 32;  // over a spacing

// [m] removed by one event.
double removed_by(const response::Film& film, double fluence, double threshold) {
  const double absorbed = film.absorptivity * fluence;
  if (!(absorbed > threshold)) return 0;
  return film.law == response::RemovalLaw::steady ? (absorbed - threshold) / film.energy
                                                  : film.depth * std::log(absorbed / threshold);
}

}  // namespace

std::vector<double> wall_shares(const FillOfLines& fill, double tone) {
  const response::Model& model = fill.model;
  const double spacing = fill.raster.spacing, base = model.base.absorptivity;
  const double threshold =
      model.film ? *std::max_element(model.thresholds.begin(), model.thresholds.end()) : 0;
  const int reach = static_cast<int>(std::ceil(fill.line.profile.reach() * fill.line.across / spacing));
  std::vector<double> shares(size_t(fill.raster.passes), 0.0);
  for (int i = 0; i < kPlaces; ++i) {
    double left = model.film ? model.film->thickness : 0;
    for (double& share : shares)
      for (int k = -reach; k <= reach; ++k) {
        const double light = tone * fill.line.fluence((i + 0.5) / kPlaces * spacing + k * spacing);
        double heat = left > 0 || model.body != response::Body::organic ? base * light : 0;  // nothing is left there
        if (left > 0) {
          const double absorbed = model.film->absorptivity * light, wanted = removed_by(*model.film, light, threshold);
          const double gone = std::min(left, wanted), bare = wanted > 0 ? 1 - gone / wanted : 0;
          const double energy = model.film->law == response::RemovalLaw::steady ? gone * model.film->energy : 0;
          const double through = bare * std::max(0.0, absorbed - threshold) / model.film->absorptivity;
          const double below = model.body == response::Body::organic ? 0 : base;
          heat = std::max(0.0, absorbed - energy - through * model.film->absorptivity) + below * through;
          left -= gone;
        }
        share += heat * spacing / (fill.line.incidence * kPlaces);
      }
  }
  const double given = tone * fill.line.power / fill.line.speed;
  for (double& share : shares) share = given > 0 ? share / given : 0;
  return shares;
}

}  // namespace circumfluence::mark
