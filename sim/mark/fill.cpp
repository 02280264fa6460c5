// An even fill seen closer than the cells of a map.
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

#include "heat/layered_spot.h"
#include "mark/verdict.h"

namespace circumfluence::mark {
namespace {

constexpr int kPlaces = 32;  // over half a spacing; the other half is its mirror image

// [m] removed by one event.
double removed_by(const response::Film& film, double fluence, double threshold) {
  const double absorbed = film.absorptivity * fluence;
  if (!(absorbed > threshold)) return 0;
  return film.law == response::RemovalLaw::steady ? (absorbed - threshold) / film.energy
                                                  : film.depth * std::log(absorbed / threshold);
}

// The factor on power that marks a place at a distance from a line, with all the lines of the fill.
double film_factor(const Evidence& e, const Line& line, double distance) {
  const double threshold = *std::max_element(e.model.thresholds.begin(), e.model.thresholds.end());
  const int neighbours = static_cast<int>(std::ceil(line.profile.reach() * line.across / e.raster.spacing));
  std::vector<double> lights;
  for (int k = -neighbours; k <= neighbours; ++k)
    lights.push_back(line.fluence(distance + k * e.raster.spacing));
  double low = 1e-4, high = 1e4;
  for (int round = 0; round < 40; ++round) {
    const double middle = std::sqrt(low * high);
    double removed = 0;
    for (const double light : lights) removed += removed_by(*e.model.film, middle * light, threshold);
    (removed * e.raster.passes >= e.model.film->need ? high : low) = middle;
  }
  return high < 0.99e4 ? high : std::numeric_limits<double>::infinity();
}

// A bare or dyed fill: the linear peak rises [K/W absorbed] beside a line, and what they add up to.
class HeatedFill {
 public:
  HeatedFill(const Evidence& e, const Line& line)
      : e_(e),
        watts_(e.model.base.absorptivity * line.power),
        background_(heat::linear_rise(e.model.conductivity, e.tally.wall_mean)),
        step_(line.across / heat::SpotTable::kStepsPerRadius),
        profile_(heat::SpotTable::kNodes) {
    heat::LayeredSpot(heat::stack_of(e.model.base), {line.along, line.across, line.speed}, e.model.base.z,
                      e.model.base.orders)
        .profile(profile_);
  }

  // The factor on power that marks a place: by its hottest passage alone, or by what all of them make react.
  double factor(double distance) const {
    const response::Model& model = e_.model;
    const double hottest = rise(distance);
    if (!model.reacting) return model.onset_rise() / hottest;
    double low = 1e-4, high = 1e4;
    for (int round = 0; round < 40; ++round) {
      const double middle = std::sqrt(low * high);
      const bool marks = middle * hottest >= model.melt_rise || dose(distance, middle) >= model.reacting->need;
      (marks ? high : low) = middle;
    }
    return high < 0.99e4 ? high : std::numeric_limits<double>::infinity();
  }

 private:
  double rise(double distance) const {
    const double at = std::min(std::abs(distance) / step_, heat::SpotTable::kNodes - 2.0);
    const size_t i = static_cast<size_t>(at);
    return background_ + watts_ * (profile_[i] + (at - double(i)) * (profile_[i + 1] - profile_[i]));
  }
  double dose(double distance, double factor) const {
    const double spacing = e_.raster.spacing;
    const int reach = static_cast<int>(exposure::kWarmReach * step_ * heat::SpotTable::kStepsPerRadius / spacing) + 1;
    double sum = 0;
    for (int k = -reach; k <= reach; ++k) sum += e_.model.reacting->dose.of(factor * rise(distance + k * spacing));
    return sum * e_.raster.passes;
  }

  const Evidence& e_;
  double watts_, background_, step_;  // [W] absorbed, [K] linear, [m]
  std::vector<float> profile_;
};

}  // namespace

Line line_of(const Scene& scene) {
  const exposure::Radii radii = scene.light.radii(-scene.job.scan.focus_offset);
  const bool axial = scene.job.scan.direction == motion::Direction::axial;
  return {axial ? radii.axial : radii.around, axial ? radii.around : radii.axial,
          scene.power() * (1 - scene.job.laser.losses), scene.job.scan.speed,
          beam::SpotProfile(axial ? scene.job.laser.order_around : scene.job.laser.order_axial)};
}

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
        share += heat * spacing / kPlaces;
      }
  }
  for (double& share : shares) share /= tone * fill.line.power / fill.line.speed;
  return shares;
}

Fill even_fill(const Evidence& e, const Line& line) {
  std::optional<HeatedFill> heated;  // where no film answers
  if (!e.model.film) heated.emplace(e, line);
  std::vector<double> factors;
  for (int i = 0; i < kPlaces; ++i) {
    const double distance = (i + 0.5) / kPlaces * e.raster.spacing / 2;
    factors.push_back(heated ? heated->factor(distance) : film_factor(e, line, distance));
  }
  const double centre = factors.front();
  std::sort(factors.begin(), factors.end());
  const double needed = std::ceil(e.scene.job.outcome.required * kPlaces);
  return {centre, factors[size_t(std::max(needed, 1.0)) - 1]};
}

}  // namespace circumfluence::mark
