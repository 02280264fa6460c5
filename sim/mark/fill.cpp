#include "mark/fill.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "heat/layered_spot.h"

namespace circumfluence::mark {
namespace {

constexpr int kPlaces = 64;  // over a spacing; what does not ask for the order of lines sees half of them, the rest is their mirror image
constexpr int kMostRounds = 60;
constexpr double kSettled = 1e-4, kMost = 1e4;
constexpr double kNever = std::numeric_limits<double>::infinity();

// [K/W] from a profile as LayeredSpot::profile gives it; straight between its nodes.
float rise_at(const std::vector<float>& profile, double eta) {
  const double at = std::min(eta * heat::SpotTable::kStepsPerRadius, heat::SpotTable::kNodes - 2.0);
  const size_t i = static_cast<size_t>(at);
  return profile[i] + static_cast<float>(at - double(i)) * (profile[i + 1] - profile[i]);
}

std::vector<float> profile_of(const response::Model& model, const Line& line) {
  std::vector<float> profile(heat::SpotTable::kNodes);
  const heat::Spot spot{line.along, line.across, line.speed};
  heat::LayeredSpot(heat::stack_of(model.base), spot, model.base.z, model.base.orders).profile(profile);
  return profile;
}

// Its table is worth keeping.
beam::SpotProfile profile_across(double order) {
  static const beam::SpotProfile gaussian(2.0);
  return order == 2.0 ? gaussian : beam::SpotProfile(order);
}

float threshold_of(const response::Model& model) {
  return model.film ? *std::max_element(model.thresholds.begin(), model.thresholds.end()) : 1.0f;
}

// [1] travel around on the surface over that fed.
double driven(const Scene& scene) {
  const bool turning = scene.job.mount.hold == motion::Hold::turning;
  return turning ? scene.profile.radius(scene.focus_at) / scene.reference_radius : 1;
}

}  // namespace

double true_spacing(const Scene& scene, double fed) {
  return scene.job.scan.direction == motion::Direction::axial ? fed * driven(scene) : fed;
}

Line line_at(const Scene& scene, const Stand& stand) {
  const exposure::Radii radii = scene.light.radii(stand.height);
  const job::Job& job = scene.job;
  const bool axial = job.scan.direction == motion::Direction::axial;
  const double across = std::cos(stand.azimuth), along = 1 / std::hypot(1.0, stand.slope);
  const double around = std::sin(stand.azimuth), tilt = stand.slope * stand.slope + around * around;
  return {.along = axial ? radii.axial : radii.around,
          .across = axial ? radii.around : radii.axial,
          .power = scene.power() * (1 - job.laser.losses),
          .speed = axial ? job.scan.speed / along : job.scan.speed * driven(scene) / across,
          .profile = profile_across(axial ? job.laser.order_around : job.laser.order_axial),
          .incidence = axial ? across : along,
          .angle = angle_factor(scene)(across * along, tilt > 0 ? stand.slope * stand.slope / tilt : 0)};
}

Stand stand_of(const Scene& scene) {
  const double radius = scene.profile.radius(scene.focus_at);
  const bool turning = scene.job.mount.hold == motion::Hold::turning;
  return {.height = -scene.job.scan.focus_offset,
          .azimuth = turning ? std::asin(scene.job.mount.beam_offset / radius) : 0,
          .slope = scene.profile.slope(scene.focus_at)};
}

Line line_of(const Scene& scene) {
  return line_at(scene, stand_of(scene));
}

EvenFill::EvenFill(const response::Model& model, const response::Limits& limits, const Line& line,
                   std::span<const float> rises)
    : model_(model),
      limits_(limits),
      line_(line),
      scale_(model.base.absorptivity * line.angle),
      rises_(rises.begin(), rises.end()),
      judge_(model, limits),
      row_(kPlaces, model.film ? &*model.film : nullptr, judge_.rise_limit(),
           model.reacting ? &*model.reacting : nullptr) {
  if (rises_.empty()) rises_ = profile_of(model, line);
  for (std::vector<float>* array : {&energy_, &share_, &warmth_, &background_, &factors_, &fluence_, &changed_, &peak_})
    array->resize(kPlaces);
  threshold_.assign(kPlaces, threshold_of(model));
  outcome_.resize(kPlaces);
}

// Places from the line at 0 on, an even step apart.
void EvenFill::lay(int count, double from, double step) {
  places_.resize(size_t(count));
  for (size_t i = 0; i < places_.size(); ++i) places_[i] = from + (double(i) + 0.5) * step;
}

void EvenFill::begin(double factor, double rise) {
  std::fill(energy_.begin(), energy_.end(), static_cast<float>(factor * line_.power / line_.speed));
  std::fill(background_.begin(), background_.end(), static_cast<float>(factor * rise));
  row_.clear(static_cast<int>(places_.size()));
}

void EvenFill::pass(double line) {
  for (size_t i = 0; i < places_.size(); ++i) {
    const double eta = std::abs(places_[i] - line) / line_.across;
    share_[i] = static_cast<float>(line_.incidence / line_.across * line_.profile.density(eta));
    warmth_[i] = eta < exposure::kWarmReach ? static_cast<float>(scale_ * line_.speed) * rise_at(rises_, eta) : 0.0f;
  }
  row_.pass({energy_.data(), energy_.data(), share_.data(), warmth_.data(), threshold_.data(), false, warmth_.data(), nullptr,
             background_.front() > 0 ? background_.data() : nullptr});
}

int EvenFill::neighbours(double spacing) const {
  return 1 + static_cast<int>(std::ceil(std::max(line_.profile.reach(), exposure::kWarmReach) * line_.across / spacing));
}

// Half a spacing, the strongest passages first: what adds up does so exactly.
void EvenFill::mark(double factor, const Period& period) {
  lay(kPlaces / 2, 0, period.spacing / kPlaces);
  begin(factor, period.rise);
  for (int k = 0; k <= 2 * neighbours(period.spacing); ++k) {  // lines 0, 1, -1, 2, -2, ...
    const int line = k % 2 == 1 ? (k + 1) / 2 : -k / 2;
    for (int n = 0; n < period.passes; ++n) pass(line * period.spacing);
  }
  const size_t n = places_.size();
  judge_.row(row_, {{fluence_.data(), n}, {changed_.data(), n}, {peak_.data(), n}, {factors_.data(), n}, {outcome_.data(), n}});
}

// A whole spacing, in the order in which lines are burnt: what an earlier one has taken off lets a later one through.
void EvenFill::burn(double factor, const Period& period) {
  lay(kPlaces, 0, period.spacing / kPlaces);
  begin(factor, period.rise);
  const int most = neighbours(period.spacing), every = period.interleave;
  for (int n = 0; n < period.passes; ++n)
    for (int round = 0; round < every; ++round)
      for (int k = -most; k <= most + 1; ++k)
        if (((k - round) % every + every) % every == 0) pass(k * period.spacing);
  judge_.over_factor(row_, factors_);
}

// Repeats `look` until the factor it finds is 1. Factors lie on the right side of 1, which gives bounds.
double EvenFill::settle(const std::function<double(double)>& look) const {
  double factor = 1, low = 0, high = kNever;
  for (int round = 0; round < kMostRounds; ++round) {
    const double step = look(factor);
    if (!(step < kNever)) return kNever;
    if (std::abs(step - 1) < kSettled) return factor * step;
    (step > 1 ? low : high) = factor;
    factor *= step;
    if (factor > kMost && low > kMost / 2) return kNever;
    if (factor <= low || factor >= high) factor = std::sqrt(low * high);
    factor = std::min(factor, 2 * kMost);
  }
  return factor;
}

double EvenFill::centre(const Period& period) {
  return settle([&](double factor) {
    mark(factor, period);
    return factors_.front();
  });
}

double EvenFill::required(const Period& period) {
  return settle([&](double factor) {
    mark(factor, period);
    const double needed = std::ceil(limits_.required * double(places_.size()));
    const auto nth = factors_.begin() + static_cast<long>(std::max(needed, 1.0)) - 1;
    std::nth_element(factors_.begin(), nth, factors_.begin() + static_cast<long>(places_.size()));
    return *nth;
  });
}

double EvenFill::burns(const Period& period) {
  return settle([&](double factor) {
    burn(factor, period);
    const auto nth = factors_.begin() + static_cast<long>(std::min(limits_.tolerated * kPlaces, kPlaces - 1.0));
    std::nth_element(factors_.begin(), nth, factors_.end());
    return *nth;
  });
}

double EvenFill::begins(const Period& period, double high) {
  if (!(high < kNever)) high = kMost;
  double low = 1e-3 * high;
  for (int round = 0; round < 14; ++round) {
    const double middle = std::sqrt(low * high);
    mark(middle, period);
    const bool seen = std::any_of(outcome_.begin(), outcome_.begin() + static_cast<long>(places_.size()),
                                  [](std::uint8_t outcome) { return outcome != 0; });
    (seen ? high : low) = middle;
  }
  return high;
}

Edges EvenFill::edges(const Period& period) {
  Edges edges{0, centre(period), required(period), burns(period)};
  edges.begins = begins(period, edges.centre);
  return edges;
}

double EvenFill::covered(double factor, const Period& period) {
  mark(factor, period);
  const auto end = factors_.begin() + static_cast<long>(places_.size());
  return double(std::count_if(factors_.begin(), end, [](float f) { return f <= 1; })) / double(places_.size());
}

double EvenFill::depth(double factor, const Period& period) {
  mark(factor, period);
  return std::accumulate(changed_.begin(), changed_.begin() + static_cast<long>(places_.size()), 0.0) / double(places_.size());
}

double EvenFill::width(double factor) {
  double from = 0, step = std::max(line_.profile.reach(), exposure::kWarmReach) * line_.across / kPlaces;
  for (int zoom = 0; zoom < 2; ++zoom) {
    lay(kPlaces, from, step);
    begin(factor, 0);
    pass(0);
    judge_.row(row_, {fluence_, changed_, peak_, factors_, outcome_});
    const auto last = std::find_if(factors_.begin(), factors_.end(), [](float f) { return !(f <= 1); });
    if (last == factors_.begin() && zoom == 0) return 0;
    from += double(std::max<long>(last - factors_.begin() - (zoom == 0 ? 1 : 0), 0)) * step;
    step /= kPlaces / 2.0;
  }
  return 2 * from;
}

}  // namespace circumfluence::mark
