#include "window/ends.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "quantity/bands.h"
#include "quantity/error.h"

namespace circumfluence::window {
namespace {

constexpr int kWarmNodes = 2;  // speeds a decade at which the whole art's warming is worked out

mark::Line line_for(const mark::Scene& scene, const Place& place, double speed) {
  mark::Line line = mark::line_at(scene, place.stand);
  line.speed *= speed / scene.job.scan.speed;
  return line;
}

response::Model model_for(const mark::Scene& scene, const mark::Line& line) {
  return mark::respond(scene, {{line.along, line.across, line.speed}});
}

// One of the four, over ln(speed); where a node has none, only the speeds between two that have.
class EndCurve {
 public:
  EndCurve(std::span<const double> speeds, std::span<const Ends> ends, double Ends::*which) {
    for (size_t i = 0; i < speeds.size(); ++i) {
      at_.push_back(std::log(speeds[i]));
      logs_.push_back(std::log(ends[i].*which));
    }
    if (std::all_of(logs_.begin(), logs_.end(), [](double log) { return std::isfinite(log); })) curve_.emplace(at_, logs_);
  }
  // NaN where a neighbour has none.
  double at(double speed) const {
    if (curve_) return std::exp(curve_->at(std::log(speed)));
    const auto next = std::upper_bound(at_.begin() + 1, at_.end() - 1, std::log(speed));
    const double low = logs_[size_t(next - at_.begin()) - 1], high = logs_[size_t(next - at_.begin())];
    const double share = (std::log(speed) - *(next - 1)) / (*next - *(next - 1));
    return std::isinf(low) && std::isinf(high) ? std::exp(low) : std::exp(low + share * (high - low));
  }

 private:
  std::vector<double> at_, logs_;
  std::optional<response::Curve> curve_;
};

motion::Raster plan_at(const mark::Scene& scene, const Fill& fill, double speed) {
  motion::Scan scan = scene.job.scan;
  scan.speed = speed, scan.spacing = fill.spacing, scan.passes = fill.passes;
  return motion::plan(scan, scene.art);
}

WallRise wall_rise(const mark::Scene& scene) {
  const workpiece::Surface surface = mark::develop(scene);
  const motion::Raster raster = mark::plan(scene);
  const auto exposure = mark::expose(scene, surface, raster);
  const response::Model model = mark::respond(scene, *exposure);
  const mark::Background background = mark::warm(scene, raster, *exposure, model, 0);
  const std::vector<float>& rises = background.warming.rises;
  if (!background.counts() || rises.empty()) return {};
  double sum = 0;
  for (const float rise : rises) sum += rise;
  const auto linear = [&](double rise) { return heat::linear_rise(model.conductivity, rise) / scene.power(); };
  return {linear(sum / double(rises.size())), linear(background.warming.greatest)};
}

}  // namespace

Fill fill_of(const job::Job& job) {
  if (std::isnan(job.scan.spacing))
    throw quantity::JobError(
        "scan.spacing is missing (a tool path does not say how far apart its lines are; expected a length above 0 mm)");
  return {job.scan.spacing, job.scan.focus_offset, job.scan.passes};
}

Place place_of(const mark::Scene& scene, const Fill& fill) {
  mark::Stand stand = mark::stand_of(scene);
  stand.height = -fill.focus_offset;
  return {stand, fill};
}

Look::Look(const mark::Scene& scene, const Place& place, double speed)
    : Look(scene, place.fill, line_for(scene, place, speed)) {}

Look::Look(const mark::Scene& scene, const Fill& fill, const mark::Line& line)
    : scene_(scene),
      knobs_(fill),
      power_(scene.power()),
      model_(model_for(scene, line)),
      fill_(model_, scene.job.outcome, line) {}

Ends Look::ends(const WallRise& wall) {
  const auto period = [&](double rise) {
    return mark::Period{mark::true_spacing(scene_, knobs_.spacing), knobs_.passes, rise * power_, scene_.job.scan.interleave};
  };
  const mark::Edges edges = fill_.edges(period(wall.mean));
  const double burns = wall.greatest > 0 ? fill_.burns(period(wall.greatest)) : edges.burns;
  return {edges.begins * power_, edges.centre * power_, edges.required * power_, burns * power_};
}

std::vector<double> nodes_of(std::span<const double> speeds, int decade) {
  const auto [low, high] = std::minmax_element(speeds.begin(), speeds.end());
  if (*high < 1.01 * *low) return {*low};
  const int steps = 1 + static_cast<int>(std::ceil(decade * std::log10(*high / *low)));
  std::vector<double> out;
  for (int i = 0; i <= steps; ++i) out.push_back(*low * std::pow(*high / *low, double(i) / steps));
  return out;
}

std::vector<Ends> between(std::span<const double> nodes, std::span<const Ends> known, std::span<const double> speeds) {
  std::vector<Ends> out(speeds.size());
  for (double Ends::*which : {&Ends::begins, &Ends::centre, &Ends::marks, &Ends::burns}) {
    if (nodes.size() == 1) {
      for (Ends& ends : out) ends.*which = known[0].*which;
      continue;
    }
    const EndCurve curve(nodes, known, which);
    for (size_t i = 0; i < speeds.size(); ++i) out[i].*which = curve.at(speeds[i]);
  }
  return out;
}

std::vector<WallRise> between(std::span<const double> known, std::span<const WallRise> rises,
                              std::span<const double> speeds) {
  if (rises.empty()) return {};
  if (known.size() == 1) return std::vector<WallRise>(speeds.size(), rises[0]);
  std::vector<size_t> order(known.size());
  std::iota(order.begin(), order.end(), size_t{0});
  std::sort(order.begin(), order.end(), [&](size_t a, size_t b) { return known[a] < known[b]; });
  std::vector<double> logs, means, greatests;
  for (const size_t i : order) {
    if (!logs.empty() && !(std::log(known[i]) > logs.back())) continue;
    logs.push_back(std::log(known[i]));
    means.push_back(rises[i].mean);
    greatests.push_back(rises[i].greatest);
  }
  std::vector<WallRise> out;
  if (logs.size() < 2) return std::vector<WallRise>(speeds.size(), rises[0]);
  const response::Curve mean(logs, means), greatest(logs, greatests);
  for (const double speed : speeds) out.push_back({mean.at(std::log(speed)), greatest.at(std::log(speed))});
  return out;
}

std::vector<Ends> ends(const mark::Scene& scene, const Place& place, std::span<const double> speeds,
                       std::span<const WallRise> walls, int threads) {
  if (speeds.empty()) return {};
  const std::vector<double> nodes = nodes_of(speeds, kNodes);
  if (speeds.size() > nodes.size())
    return between(nodes, ends(scene, place, nodes, between(speeds, walls, nodes), threads), speeds);
  std::vector<Ends> out(speeds.size());
  const mark::Line first = line_for(scene, place, scene.job.scan.speed);
  const auto solve = [&](int from, int to, int) {
    for (size_t i = size_t(from); i < size_t(to); ++i) {
      mark::Line line = first;
      line.speed *= speeds[i] / scene.job.scan.speed;
      out[i] = Look(scene, place.fill, line).ends(walls.empty() ? WallRise{} : walls[i]);
    }
  };
  quantity::for_bands({.count = static_cast<int>(speeds.size()), .band = 1, .threads = threads}, solve);
  return out;
}

std::vector<WallRise> wall_rises(const mark::Scene& scene, const Fill& fill, std::span<const double> speeds) {
  const std::vector<double> chosen = nodes_of(speeds, kWarmNodes);
  std::vector<WallRise> found;
  mark::Scene at = scene;
  at.job.scan.spacing = fill.spacing, at.job.scan.passes = fill.passes;
  for (const double speed : chosen) {
    at.job.scan.speed = speed;
    found.push_back(wall_rise(at));
  }
  return between(chosen, found, speeds);
}

std::vector<double> durations(const mark::Scene& scene, const Fill& fill, std::span<const double> speeds) {
  std::vector<double> out;
  for (const double speed : speeds) out.push_back(plan_at(scene, fill, speed).duration);
  return out;
}

}  // namespace circumfluence::window
