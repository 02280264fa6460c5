// The chance of coming out good across a standing part, from a table over height and tilt.
#include <algorithm>
#include <cmath>
#include <memory>

#include "window/chance.h"
#include "window/width.h"

namespace circumfluence::window {
namespace {

constexpr int kHeights = 9, kTilts = 3, kDraws = 64;
constexpr double kStep = 0.25;  // of asinh(height / Rayleigh length), at most

// Of one draw and one tilt, over the height of the surface above the nominal focus as the job means it.
struct Curves {
  response::Curve marks, burns;  // ln [W]
};

struct Table {
  double power_spread, power;                // [1], [W]
  exposure::Light light;                     // of the job, at its own focus offset
  double focus_offset;                       // [m]
  std::vector<double> heights, tilts;        // [m]; ln of the cosine of incidence, falling from 0
  std::vector<std::vector<Curves>> curves;   // [tilt][draw]
};

Curves solve(const mark::Scene& scene, const Table& table, double tilt, double nearer) {
  std::vector<double> marks, burns;
  const double speed = scene.job.scan.speed;
  for (const double height : table.heights) {
    const Place place{{.height = height - nearer, .azimuth = std::acos(std::exp(tilt))}, fill_of(scene.job)};
    const Ends found = ends(scene, place, {&speed, 1}, {}, 1).front();
    marks.push_back(log_of(found.marks));
    burns.push_back(log_of(found.burns));
  }
  return {response::Curve(table.heights, marks), response::Curve(table.heights, burns)};
}

// Heights that the search may come to: within the growth, and no farther than the part falls away up to the stretch and
// its own radii differ. Close together about the waist, where the beam changes most.
std::vector<double> nodes(const mark::Scene& scene, const Heights& range, double stretch) {
  double least = scene.profile.greatest_radius();
  for (int i = 0; i <= 64; ++i) least = std::min(least, scene.profile.radius(scene.profile.length() * i / 64));
  const double most = scene.profile.greatest_radius(), falls = most - least + most * (1 - 1 / stretch) + 1e-6;
  const beam::Caustic caustic = beam::caustic(scene.job.laser);
  const double rayleigh = std::min(caustic.axial.rayleigh, caustic.around.rayleigh);
  const double from = std::asinh(std::max(range.lowest, -falls - std::abs(scene.job.scan.focus_offset)) / rayleigh);
  const double to = std::asinh(std::min(range.highest, falls + std::abs(scene.job.scan.focus_offset)) / rayleigh) + 1e-9;
  const int steps = std::max(kHeights - 1, static_cast<int>(std::ceil((to - from) / kStep)));
  std::vector<double> out;
  for (int i = 0; i <= steps; ++i) out.push_back(rayleigh * std::sinh(from + (to - from) * i / steps));
  return out;
}

double chance(const Table& table, double height, double tilt) {
  size_t next = 1;
  while (next + 1 < table.tilts.size() && table.tilts[next] > tilt) ++next;
  const double step = table.tilts[next] - table.tilts[next - 1];
  const double share = step != 0 ? std::clamp((tilt - table.tilts[next - 1]) / step, 0.0, 1.0) : 0.0;
  const std::vector<Curves>&low = table.curves[next - 1], &high = table.curves[next];
  std::vector<double> marks, burns;
  for (size_t i = 0; i < low.size(); ++i) {
    const auto between = [&](double a, double b) { return a + share * (b - a); };
    marks.push_back(between(low[i].marks.at(height), high[i].marks.at(height)));
    burns.push_back(between(low[i].burns.at(height), high[i].burns.at(height)));
  }
  return Outlook(std::move(marks), std::move(burns), table.power_spread).at(table.power).good;
}

}  // namespace

Chance standing_chance(const mark::Scene& full, const WidthLimits& limits) {
  check(limits);
  if (limits.chance == 0) return {};
  const Doubt doubt(full, {.count = kDraws, .threads = limits.threads});
  const mark::Scene& scene = doubt.scene();
  const Heights range = heights(beam::caustic(scene.job.laser), limits.growth);
  auto table = std::make_shared<Table>(Table{doubt.power_spread(), scene.power(), scene.light, scene.job.scan.focus_offset, {}, {}, {}});
  table->heights = nodes(scene, range, limits.stretch);
  double steepest = 0;
  for (int i = 0; i <= 64; ++i)
    steepest = std::max(steepest, std::abs(scene.profile.slope(scene.profile.length() * i / 64)));
  const double most = std::log(std::clamp(limits.stretch, 1 + 1e-6, 50.0) * std::hypot(1.0, steepest));
  for (int i = 0; i < kTilts; ++i) table->tilts.push_back(-most * i / (kTilts - 1));
  table->curves.resize(kTilts);
  for (int t = 0; t < kTilts; ++t) {
    std::vector<std::optional<Curves>> found(size_t(doubt.count()));
    doubt.each([&](int draw, const mark::Scene& drawn, double nearer) {
      found[size_t(draw)] = solve(drawn, *table, table->tilts[size_t(t)], nearer);
    });
    for (auto& curves : found) table->curves[size_t(t)].push_back(std::move(*curves));
  }
  return [table = std::shared_ptr<const Table>(table), profile = scene.profile](double axial, double lateral, double offset) {
    const double radius = profile.radius(axial), slope = profile.slope(axial);
    const double azimuth = std::asin(std::clamp(lateral / radius, -1.0, 1.0));
    const double height = table->light.height(radius, azimuth, {}) - (offset - table->focus_offset);
    return chance(*table, height, std::log(std::max(std::cos(azimuth) / std::hypot(1.0, slope), 0.02)));
  };
}

}  // namespace circumfluence::window
