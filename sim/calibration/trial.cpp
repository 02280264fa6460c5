#include "calibration/trial.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "quantity/error.h"
#include "quantity/figure.h"
#include "response/threshold.h"
#include "window/chance.h"

namespace circumfluence::calibration {
namespace {

using mark::Scene;
using window::Unknown;
using workpiece::Material;

constexpr double kNoPower = 600;      // [1] ln of what stands for no power at all
constexpr double kLeastStray = 1e-9;  // [1]
constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

// What light removes of the part; null where nothing is.
Material* removed_of(Scene& scene) {
  const response::Body body = scene.body();
  return body == response::Body::coated ? &*scene.coat : body == response::Body::organic ? &scene.base : nullptr;
}

// [1] of ln F_th = ln(T_abl - T_0) + ln(k rho c) / 2 + ..., to first order.
double spread_of_threshold(const Material& material, double start) {
  const double removal = material.removal_temperature.value;
  const double heat =
      std::hypot(material.conductivity.spread, material.density.spread, material.heat_capacity.spread) / 2;
  return std::hypot(removal / (removal - start) * material.removal_temperature.spread, heat);
}

// Where what is set is what the surface sees: fed distances and speeds are not scaled by the driven diameter.
Scene square(const Scene& scene) {
  Scene out = scene;
  out.image = {1, 1, {0}, {}};
  out.reference_radius = out.profile.radius(out.focus_at);
  return out;
}

bool same_but_power(const Patch& a, const Patch& b) {
  return a.speed == b.speed && a.spacing == b.spacing && a.passes == b.passes &&
         a.focus_offset == b.focus_offset && a.direction == b.direction;
}

void check(const Patch& patch, size_t index) {
  const auto refuse = [index](const char* key, double value) {
    throw quantity::ValidityError(
        fmt::format("patch {}: {} = {} (has no place in the model; expected a finite figure above zero)",
                    index + 1, key, value));
  };
  if (!(patch.power > 0) || !std::isfinite(patch.power)) refuse("power", patch.power);
  if (!(patch.speed > 0) || !std::isfinite(patch.speed)) refuse("speed", patch.speed);
  if (!(patch.spacing >= 0) || !std::isfinite(patch.spacing)) refuse("spacing", patch.spacing);
  if (patch.passes < 1) refuse("passes", patch.passes);
  if (!std::isfinite(patch.focus_offset)) refuse("focus_offset", patch.focus_offset);
}

bool has_width(const Patch& patch) {
  return patch.is_line() && patch.passes == 1;
}

// [m^2] The width's own step, a five-hundredth of the radius, is smoothed out over powers that differ by 1 %.
double mean_square(mark::EvenFill& fill, double factor) {
  constexpr int kPowers = 8;
  double sum = 0;
  for (int i = 0; i < kPowers; ++i) {
    const double width = fill.width(factor * std::exp(0.01 * ((i + 0.5) / kPowers - 0.5)));
    sum += width * width / kPowers;
  }
  return sum;
}

// The same numbers on every machine.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : bits_(seed) {}
  double share() { return (double(bits_() >> 12) + 0.5) * 0x1p-52; }
  double normal() { return std::sqrt(-2 * std::log(share())) * std::cos(2 * std::numbers::pi * share()); }
  int one_of(const std::array<double, 4>& chances) {
    double left = share();
    for (int i = 0; i < 3; ++i)
      if ((left -= chances[size_t(i)]) < 0) return i;
    return 3;
  }

 private:
  std::mt19937_64 bits_;
};

}  // namespace

Scene with_threshold(const Scene& scene) {
  Scene out = scene;
  Material* const removed = removed_of(out);
  if (removed == nullptr || removed->threshold.known()) return out;
  const mark::Line line = mark::line_of(scene);
  const double dwell = line.along / line.speed, start = scene.job.workpiece.temperature;
  const double value = response::threshold(*removed, start, dwell);
  removed->threshold = {value, spread_of_threshold(*removed, start), "from conduction, at the job's dwell"};
  removed->threshold_dwell = {dwell, 0.0, "of the job"};
  return out;
}

std::vector<Unknown> fitted_unknowns(const Scene& scene) {
  std::vector<Unknown> out = window::unknowns(with_threshold(scene));
  std::erase_if(out, [](const Unknown& u) { return u.of == Unknown::Of::slip; });
  return out;
}

double seen(const LogEnds& ends, double log_power, double stray) {
  const double apart = ends.marks - ends.begins;
  if (!(apart > 0) || ends.marks > kNoPower) return (log_power - ends.begins) / stray;
  return (log_power - (ends.begins + ends.marks) / 2) / std::max(stray, apart / 4);
}

std::array<double, 4> chances(const LogEnds& ends, double power, double stray, double slip) {
  const double log = std::log(power);
  const double burnt = quantity::chance_of_one(log - ends.burns, stray);
  const double marked = std::max(burnt, quantity::chance_of_one(log - ends.marks, stray));
  const double begun = std::max(marked, quantity::chance_of_one(seen(ends, log, std::max(stray, kLeastStray)), 1));
  std::array<double, 4> out{1 - begun, begun - marked, marked - burnt, burnt};
  for (double& chance : out) chance = (1 - slip) * chance + slip / 4;
  return out;
}

Trials::Trials(const Scene& scene, std::vector<Patch> patches, std::vector<Unknown> unknowns)
    : scene_(square(scene)), patches_(std::move(patches)), unknowns_(std::move(unknowns)) {
  for (size_t i = 0; i < patches_.size(); ++i) {
    check(patches_[i], i);
    auto setting = std::ranges::find_if(
        settings_, [&](const Setting& s) { return same_but_power(s.patch, patches_[i]); });
    if (setting == settings_.end()) setting = settings_.insert(setting, {patches_[i], {}});
    setting->patches.push_back(i);
  }
}

Trials::Trials(const Scene& scene, std::vector<Patch> patches)
    : Trials(with_threshold(scene), std::move(patches), fitted_unknowns(scene)) {}

Trials::Draw Trials::drawn(std::span<const double> deviates) const {
  std::vector<double> still(deviates.begin(), deviates.end());
  double arrives = 0;
  for (size_t i = 0; i < std::min(still.size(), unknowns_.size()); ++i)
    if (unknowns_[i].of == Unknown::Of::power) arrives += unknowns_[i].spread * still[i], still[i] = 0;
  Scene scene = window::drawn(scene_, unknowns_, still);
  const double nearer = scene.job.scan.focus_offset - scene_.job.scan.focus_offset;
  return {std::move(scene), nearer, arrives};
}

// Of a patch's several powers each has a width and a depth of its own.
void Trials::solve(const Setting& setting, const Draw& draw, const std::vector<bool>& measured,
                   Expected& out) const {
  const Patch& patch = setting.patch;
  Scene scene = draw.scene;
  scene.job.scan.direction = patch.direction;
  const mark::Stand stand{.height = -patch.focus_offset - draw.nearer};
  const double across = mark::line_at(scene, stand).across;
  const double spacing = patch.is_line() ? kLineReach * across : patch.spacing;
  const window::Place place{stand, {spacing, patch.focus_offset, patch.passes}};
  window::Look look(scene, place, patch.speed);
  const window::Ends ends = look.ends();
  const LogEnds logs{window::log_of(ends.begins) - draw.arrives,
                     window::log_of(patch.is_line() ? ends.centre : ends.marks) - draw.arrives,
                     window::log_of(ends.burns) - draw.arrives};
  for (const size_t i : setting.patches) {
    out.ends[i] = logs;
    if (!measured.empty() && !measured[i]) continue;
    const double log = std::log(patches_[i].power);
    const double factor = std::exp(log + draw.arrives) / look.set_power();
    if (!patch.is_line()) out.depths[i] = look.fill().depth(factor, {patch.spacing, patch.passes});
    if (!has_width(patch)) continue;
    const double square = mean_square(look.fill(), factor);
    out.squares[i] = square > 0 ? square : std::min(0.0, 2 * across * across * (log - logs.marks));
  }
}

Expected Trials::expected(std::span<const double> deviates, const std::vector<bool>& measured) const {
  const Draw draw = drawn(deviates);
  Expected out{std::vector<LogEnds>(count()), std::vector<double>(count(), kNone),
               std::vector<double>(count(), kNone)};
  for (const Setting& setting : settings_) solve(setting, draw, measured, out);
  return out;
}

std::vector<LogEnds> Trials::ends(std::span<const double> deviates) const {
  return expected(deviates, std::vector<bool>(count(), false)).ends;
}

std::vector<double> Trials::widths(std::span<const double> deviates) const {
  std::vector<double> out = expected(deviates).squares;
  for (double& width : out) width = std::isnan(width) ? width : std::sqrt(std::max(width, 0.0));
  return out;
}

std::vector<double> Trials::depths(std::span<const double> deviates) const {
  return expected(deviates).depths;
}

Report simulated(const Trials& trials, const Coupon& coupon, std::span<const double> truth,
                 std::uint64_t seed) {
  if (coupon.slots.size() != trials.count())
    throw quantity::ValidityError(
        fmt::format("simulated: {} trials for a coupon of {} slots (expected one each)", trials.count(),
                    coupon.slots.size()));
  Report report;
  report.origin = "simulated";
  const Expected expected = trials.expected(truth);
  const double small = report.resolution * report.resolution;
  Dice dice(seed);
  for (size_t i = 0; i < trials.count(); ++i) {
    Result result;
    result.number = coupon.slots[i].number;
    result.outcome = response::Outcome(dice.one_of(chances(expected.ends[i], trials.patches()[i].power)));
    if (const double square = expected.squares[i]; !std::isnan(square)) {
      const double seen = (std::max(square, 0.0) + small) *
                          std::exp(2 * (dice.share() < kSlip ? 1.0 : report.width_error) * dice.normal());
      result.width = std::sqrt(std::max(seen - small, 0.0));
    }
    report.results.push_back(std::move(result));
  }
  return report;
}

}  // namespace circumfluence::calibration
