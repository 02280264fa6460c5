#include "window/strip.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::window {
namespace {

using quantity::format;
using quantity::kInfinity;

constexpr double kSlack = 1e-12;  // [m] of rounding
constexpr int kSteps = 12;        // of y, before the first failure is bisected
constexpr int kHalvings = 7;      // of one step
constexpr int kStations = 8;      // along art on a varying part, at least

// Along [from, to], a piece of the profile: its middle if that has one radius, else places on the way.
void add_piece(const workpiece::Profile& profile, double from, double to, int count,
               std::vector<Station>& out) {
  const double end = to - 1e-9 * (to - from);  // at a step, its near side
  const auto add = [&](double axial) { out.push_back({axial, profile.radius(axial), profile.slope(axial)}); };
  if (profile.constant(from, end)) return add((from + to) / 2);
  for (int i = 0; i <= count; ++i) add(i == count ? end : from + (to - from) * i / count);
}

std::vector<Station> stations_of(const mark::Scene& scene) {
  const double from = scene.art.axial_from, to = scene.art.axial_to;
  std::vector<double> breaks{from};
  for (const auto& [axial, diameter] : scene.job.workpiece.profile)
    if (axial > from && axial < to) breaks.push_back(axial);
  breaks.push_back(to);
  std::vector<Station> out;
  for (size_t i = 0; i + 1 < breaks.size(); ++i) {
    const double share = (breaks[i + 1] - breaks[i]) / (to - from);
    add_piece(scene.profile, breaks[i], breaks[i + 1], std::max(1, int(std::ceil(kStations * share))), out);
  }
  return out;
}

// One station at one focus offset.
struct Probe {
  const Standing& part;
  const Chance& chance;
  double axial, offset;

  double at(double lateral) const {
    const double out = chance(axial, lateral, offset);
    if (!(out >= 0 && out <= 1))
      throw quantity::ValidityError(
          fmt::format("usable width: chance = {} (at {} along, {} beside the top; expected 0 to 1)", out,
                      format(axial, "mm", 4), format(lateral, "mm", 4)));
    return out;
  }
  bool holds(double lateral) const { return at(lateral) >= part.chance; }
  double last_good(double good, double bad) const {
    for (int k = 0; k < kHalvings; ++k) {
      const double middle = (good + bad) / 2;
      (holds(middle) ? good : bad) = middle;
    }
    return good;
  }
};

// Where the parabola through three equidistant values is lowest, in steps from the middle one, if that is
// between them and below `least`; else 0.
double sag(const double* v, double least) {
  const double bend = v[0] + v[2] - 2 * v[1], tilt = v[2] - v[0];
  if (!(bend > 0) || v[1] > std::min(v[0], v[2])) return 0;
  return v[1] - tilt * tilt / (8 * bend) < least ? -tilt / (2 * bend) : 0;
}

// [m] the greatest y up to which the chance holds; infinity when it does up to `most`.
double half_width_by_chance(const Probe& probe, double most) {
  const double step = most / kSteps;
  double values[kSteps + 1];
  for (int i = 0; i <= kSteps; ++i) {
    values[i] = probe.at(i == kSteps ? most : i * step);
    if (i > 1)
      if (const double dip = sag(values + i - 2, probe.part.chance);
          dip != 0 && !probe.holds((i - 1 + dip) * step))
        return probe.last_good((dip > 0 ? i - 1 : i - 2) * step, (i - 1 + dip) * step);
    if (values[i] < probe.part.chance) return i == 0 ? 0 : probe.last_good((i - 1) * step, i * step);
  }
  return kInfinity;
}

Station measured(const Probe& probe, Station station) {
  const Standing& part = probe.part;
  const double grown = half_width_by_growth(station.radius, part.axis(probe.offset), part.allowed);
  const double stretched = half_width_by_stretch(station.radius, part.stretch);
  const double most = std::min(grown, stretched);
  station.by[int(Bound::growth)] = grown;
  station.by[int(Bound::stretch)] = stretched;
  if (probe.chance && most > 0) station.by[int(Bound::chance)] = half_width_by_chance(probe, most);
  return station;
}

double growth_within(const Standing& part, const Strip& strip) {
  const double y = strip.half_width(), axis = part.axis(strip.focus_offset);
  double growth = 0;
  for (const Station& s : strip.stations)
    for (const double above : {s.radius, std::sqrt((s.radius - y) * (s.radius + y))})
      growth = std::max(growth, part.growth_at(axis + above));
  return growth;
}

std::string why_none(const Standing& part, const Strip& strip, const Chance& chance) {
  const Station& s = strip.limiting();
  const double top = part.axis(strip.focus_offset) + s.radius, growth = part.growth_at(top);
  const std::string where = fmt::format("at {} along the axis", format(s.axial, "mm", 4));
  if (s.bound() == Bound::chance)
    return fmt::format(
        "{} an even fill comes out marked on the very top with a chance of {:.3g}, {:.3g} is asked", where,
        chance(s.axial, 0, strip.focus_offset), part.chance);
  if (s.bound() == Bound::stretch) return "a stretch of 1 allows the very top and nothing beside it";
  if (growth <= part.growth)
    return fmt::format("{} the spot grows beyond {:.4g} times its waist right beside the top", where,
                       part.growth);
  return fmt::format(
      "{} the very top lies {} {} the nominal focus, where the spot has grown to {:.4g} times its "
      "waist, {:.4g} is allowed",
      where, format(std::abs(top), "mm", 4), top < 0 ? "below" : "above", growth, part.growth);
}

Strip gathered(const Standing& part, double offset, std::vector<Station> stations) {
  Strip strip;
  strip.focus_offset = offset;
  strip.stations = std::move(stations);
  for (int i = 0; i < int(strip.stations.size()); ++i) {
    const Station& s = strip.stations[size_t(i)];
    if (s.half_width() < strip.half_width()) strip.narrowest = i;
    if (s.half_angle() < strip.stations[size_t(strip.least_angle)].half_angle()) strip.least_angle = i;
  }
  strip.growth = growth_within(part, strip);
  return strip;
}

}  // namespace

double lateral(double radius, double arc) {
  return radius * std::sin(arc / radius);
}

double arc(double radius, double lateral) {
  return radius * std::asin(lateral / radius);
}

double stretch(double radius, double lateral) {
  const double sine = lateral / radius;
  return 1 / std::sqrt((1 - sine) * (1 + sine));
}

Heights heights(const beam::Caustic& caustic, double growth) {
  const double share = std::sqrt((growth - 1) * (growth + 1));
  const beam::Waist &a = caustic.axial, &b = caustic.around;
  return {std::max(a.height - share * a.rayleigh, b.height - share * b.rayleigh),
          std::min(a.height + share * a.rayleigh, b.height + share * b.rayleigh)};
}

double half_width_by_growth(double radius, double axis, const Heights& allowed) {
  const double top = axis + radius, end = allowed.lowest - axis;  // end: r cos(phi) there
  if (top > allowed.highest + kSlack || top < allowed.lowest - kSlack) return 0;
  if (end <= 0) return radius;
  return std::sqrt(std::max(0.0, (radius - end) * (radius + end)));
}

double half_width_by_stretch(double radius, double stretch) {
  return radius * std::sqrt((1 - 1 / stretch) * (1 + 1 / stretch));
}

Bound Station::bound() const {
  return Bound(std::min_element(by, by + 3) - by);
}

double Station::half_angle() const {
  return std::asin(std::min(1.0, half_width() / radius));
}

double Standing::growth_at(double height) const {
  return std::max(caustic.axial.radius_at(height) / caustic.axial.radius,
                  caustic.around.radius_at(height) / caustic.around.radius);
}

Standing standing(const mark::Scene& scene, double growth, double stretch, double chance) {
  motion::Mount still = scene.job.mount;
  still.hold = motion::Hold::standing;
  const beam::Caustic caustic = beam::caustic(scene.job.laser);
  return {.caustic = caustic,
          .growth = growth,
          .stretch = stretch,
          .chance = chance,
          .allowed = heights(caustic, growth),
          .focus_radius = scene.profile.radius(scene.focus_at),
          .lift = motion::pose(still, scene.reference_radius, 0).lift,
          .stations = stations_of(scene)};
}

std::vector<Strip> strips(const Standing& part, const std::vector<double>& offsets, const Chance& chance,
                          int threads) {
  const size_t count = part.stations.size();
  std::vector<Station> all(offsets.size() * count);
  const auto measure = [&](int first, int last, int) {
    for (auto i = size_t(first); i < size_t(last); ++i) {
      const Station& station = part.stations[i % count];
      all[i] = measured({part, chance, station.axial, offsets[i / count]}, station);
    }
  };
  if (chance && !all.empty())
    quantity::for_bands({.count = int(all.size()), .band = 1, .threads = threads}, measure);
  else
    measure(0, int(all.size()), 0);
  std::vector<Strip> out;
  for (size_t i = 0; i < offsets.size(); ++i) {
    const auto from = all.begin() + std::ptrdiff_t(i * count);
    out.push_back(gathered(part, offsets[i], {from, from + std::ptrdiff_t(count)}));
    if (!(out.back().half_width() > 0)) out.back().why = why_none(part, out.back(), chance);
  }
  return out;
}

}  // namespace circumfluence::window
