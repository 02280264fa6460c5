#include "window/chance.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
#include "quantity/error.h"
#include "quantity/figure.h"
#include "window/sobol.h"

namespace circumfluence::window {
namespace {

constexpr double kNever = 1e300;  // [W] stands for no power, so that ends have logarithms
constexpr int kMostDraws = 1000000;

bool is_power(const Unknown& unknown) {
  return unknown.of == Unknown::Of::power;
}

// A place as a draw has it: nearer or farther, and its lines closer where rollers slip.
Place as_drawn(const Place& place, const mark::Scene& base, const mark::Scene& draw) {
  Place out = place;
  out.stand.height -= draw.job.scan.focus_offset - base.job.scan.focus_offset;
  out.fill.spacing *= draw.job.scan.spacing / base.job.scan.spacing;
  return out;
}

// Speeds as set, as they are on a part that follows the rollers less.
std::vector<double> as_drawn(std::span<const double> speeds, const mark::Scene& base, const mark::Scene& draw) {
  std::vector<double> out(speeds.begin(), speeds.end());
  for (double& speed : out) speed *= draw.job.scan.speed / base.job.scan.speed;
  return out;
}

}  // namespace

double log_of(double power) {
  return std::log(std::clamp(power, 1 / kNever, kNever));
}

Interval interval(std::vector<double> values) {
  if (values.empty()) return {};
  std::sort(values.begin(), values.end());
  const auto at = [&](double share) { return values[size_t(std::lround(share * double(values.size() - 1)))]; };
  return {at(0.05), at(0.5), at(0.95)};
}

Outlook::Outlook(std::vector<double> marks, std::vector<double> burns, double spread)
    : marks_(std::move(marks)), burns_(std::move(burns)), spread_(spread) {}

Chances Outlook::at(double power) const {
  const double log = std::log(power);
  Chances sum{};
  for (size_t i = 0; i < marks_.size(); ++i) {
    const double marked = quantity::chance_of_one(log - marks_[i], spread_), burnt = quantity::chance_of_one(log - burns_[i], spread_);
    sum.marks += marked;
    sum.spares += 1 - burnt;
    sum.good += std::max(0.0, marked - burnt);
  }
  const double n = static_cast<double>(marks_.size());
  return {sum.marks / n, sum.spares / n, sum.good / n};
}

// Chances rise or fall with power throughout.
double Outlook::solve(double chance, bool marks) const {
  const std::vector<double>& logs = marks ? marks_ : burns_;
  const auto [first, last] = std::minmax_element(logs.begin(), logs.end());
  double low = *first - 9 * spread_ - 1e-9, high = *last + 9 * spread_ + 1e-9;
  const auto holds = [&](double log) {
    const Chances c = at(std::exp(log));
    return marks ? c.marks >= chance : c.spares < chance;
  };
  if (!holds(high)) return high;
  for (int round = 0; round < 60 && high - low > 1e-9; ++round) {
    const double middle = (low + high) / 2;
    (holds(middle) ? high : low) = middle;
  }
  return marks ? high : low;
}

double Outlook::least(double chance) const {
  const double log = solve(chance, true);
  return log > 0.9 * std::log(kNever) || at(std::exp(log)).marks < chance ? quantity::kInfinity : std::exp(log);
}

double Outlook::greatest(double chance) const {
  const double log = solve(chance, false);
  return log > 0.9 * std::log(kNever) ? quantity::kInfinity : std::exp(log);
}

double Outlook::best(double most) const {
  constexpr int kSteps = 64;
  const double low = std::min(std::log(most), *std::min_element(marks_.begin(), marks_.end()) - 3 * spread_);
  double best = most, chance = -1;
  std::vector<double> good;
  for (int i = 0; i <= kSteps; ++i) good.push_back(at(std::exp(low + (std::log(most) - low) * i / kSteps)).good);
  // Of a plateau, its middle.
  const double top = *std::max_element(good.begin(), good.end());
  const auto level = [&](double g) { return g >= top - 1e-3; };
  const auto first = std::find_if(good.begin(), good.end(), level);
  const auto last = std::find_if(good.rbegin(), good.rend(), level).base() - 1;
  const double middle = 0.5 * double((first - good.begin()) + (last - good.begin()));
  const double candidate = std::exp(low + (std::log(most) - low) * middle / kSteps);
  for (const double power : {candidate, std::exp(low + (std::log(most) - low) * double(first - good.begin()) / kSteps)})
    if (const double g = at(power).good; g > chance) best = power, chance = g;
  return best;
}

Doubt::Doubt(const mark::Scene& scene, const Draws& draws)
    : scene_(drawn(scene, {}, {})), draws_(draws), unknowns_(window::unknowns(scene)) {
  if (draws.count < 2 || draws.count > kMostDraws)
    throw quantity::ValidityError(
        fmt::format("draws = {} (expected 2 to {}, best a power of two such as 128)", draws.count, kMostDraws));
  std::vector<Unknown> open;
  for (const Unknown& unknown : unknowns_)
    is_power(unknown) ? void(power_spread_ = unknown.spread) : open.push_back(unknown);
  if (open.empty()) {
    scenes_.assign(1, scene_);
    return;
  }
  std::vector<double> deviates = normal_points(static_cast<int>(open.size()), draws.count, draws.seed);
  const std::vector<double> factor = settled_factor(scene_, open);
  scenes_.reserve(size_t(draws.count));
  for (int i = 0; i < draws.count; ++i) {
    const std::span<double> own = std::span(deviates).subspan(size_t(i) * open.size(), open.size());
    settle(factor, own);
    scenes_.push_back(drawn(scene_, open, own));
  }
}

void Doubt::each(const Visit& visit, const quantity::Progress& progress) const {
  const auto work = [&](int first, int last, int) {
    for (int i = first; i < last; ++i) {
      const mark::Scene& scene = scenes_[size_t(i)];
      visit(i, scene, scene.job.scan.focus_offset - scene_.job.scan.focus_offset);
    }
  };
  quantity::for_bands({.count = count(), .band = 1, .threads = draws_.threads}, work, progress);
}

std::vector<Outlook> Doubt::over(const Place& place, std::span<const double> speeds, std::span<const WallRise> walls,
                                 const quantity::Progress& progress) const {
  const std::vector<double> few = nodes_of(speeds, kNodes);
  const std::vector<double> nodes = few.size() < speeds.size() ? few : std::vector<double>(speeds.begin(), speeds.end());
  const std::vector<WallRise> rises = between(speeds, walls, nodes);
  std::vector<std::vector<double>> marks(speeds.size(), std::vector<double>(size_t(count()))), burns = marks;
  each(
      [&](int draw, const mark::Scene& scene, double) {
        std::vector<Ends> found = ends(scene, as_drawn(place, scene_, scene), as_drawn(nodes, scene_, scene), rises, 1);
        if (nodes.size() < speeds.size()) found = between(nodes, found, speeds);
        for (size_t i = 0; i < speeds.size(); ++i) {
          marks[i][size_t(draw)] = log_of(found[i].marks);
          burns[i][size_t(draw)] = log_of(found[i].burns);
        }
      },
      progress);
  std::vector<Outlook> out;
  for (size_t i = 0; i < speeds.size(); ++i) out.emplace_back(std::move(marks[i]), std::move(burns[i]), power_spread_);
  return out;
}

Ranking rank(const mark::Scene& scene, const Place& place, const Draws& draws, const quantity::Progress& progress) {
  const std::vector<Unknown> all = unknowns(scene);
  if (all.empty()) return {};
  const mark::Scene base = drawn(scene, {}, {});
  const double speed = scene.job.scan.speed, far = std::log(1e4 * scene.power());
  const std::vector<double> factor = settled_factor(scene, all);
  const auto look = [&](std::span<const double> point, std::span<double> out) {
    std::vector<double> deviates(point.begin(), point.end());
    settle(factor, deviates);
    double arrives = 0;  // ln of what arrives over what is set
    for (size_t i = 0; i < all.size(); ++i)
      if (is_power(all[i])) arrives = all[i].spread * deviates[i], deviates[i] = 0;
    const mark::Scene draw = drawn(base, all, deviates);
    const Ends found = Look(draw, as_drawn(place, base, draw), as_drawn(std::span(&speed, 1), base, draw).front()).ends();
    out[0] = std::min(std::log(found.marks), far) - arrives;
    out[1] = std::min(std::log(found.burns), far) - arrives;
  };
  const Sampling sampling{.dimensions = static_cast<int>(all.size()), .count = draws.count, .seed = draws.seed, .threads = draws.threads};
  const std::vector<Indices> found = sobol_indices(look, 2, sampling, progress);
  Ranking out{{}, std::sqrt(found[0].variance), std::sqrt(found[1].variance), settled_together(factor, all.size())};
  for (size_t i = 0; i < all.size(); ++i)
    out.ranks.push_back({all[i], found[0].first[i], found[0].total[i], found[1].first[i], found[1].total[i]});
  std::stable_sort(out.ranks.begin(), out.ranks.end(), [](const Rank& a, const Rank& b) {
    return std::max(a.marks_total, a.burns_total) > std::max(b.marks_total, b.burns_total);
  });
  return out;
}

}  // namespace circumfluence::window
