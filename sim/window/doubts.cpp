// What the doubt about the ends of a fill means for the figures of a whole prediction.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
#include "quantity/error.h"
#include "quantity/unit.h"
#include "window/chance.h"
#include "window/sobol.h"

namespace circumfluence::window {
namespace {

// One draw against what was predicted.
struct Moved {
  double marks, burns, rise;  // [1] factors: on the power that marks, on that which burns, on the peak's linear rise
  double covered;             // [1] share of the fill that is marked, between its lines too
};

struct Solved {
  Ends ends;
  double rise;     // [K] linear
  double covered;  // [1]
};

// The draw's height is in its job's focus offset.
Solved solve(const mark::Scene& scene, double power) {
  const Fill fill = fill_of(scene.job);
  Look look(scene, place_of(scene, fill), scene.job.scan.speed);
  return {look.ends(), look.fill().hottest(), look.fill().covered(power, {mark::true_spacing(scene, fill.spacing), fill.passes})};
}

double over(double a, double b) {
  return std::isfinite(a) && std::isfinite(b) && b > 0 ? a / b : std::isfinite(a) == std::isfinite(b) ? 1 : a / b;
}

}  // namespace

Doubts doubts(const Doubt& doubt, const mark::MarkMap& map) {
  const mark::Verdict& v = map.verdict;
  const Solved middle = solve(doubt.scene(), 1);
  std::vector<Moved> moved(size_t(doubt.count()));
  const std::vector<double> arrives = normal_points(1, doubt.count(), 1);
  doubt.each([&](int draw, const mark::Scene& scene, double) {
    const double power = std::exp(doubt.power_spread() * arrives[size_t(draw)]);
    const Solved found = solve(scene, power);
    moved[size_t(draw)] = {over(found.ends.marks, middle.ends.marks) / power, over(found.ends.burns, middle.ends.burns) / power,
                           over(found.rise, middle.rise) * power, found.covered};
  });
  const mark::Line line = mark::line_of(doubt.scene());
  const response::Model model = mark::respond(doubt.scene(), {{line.along, line.across, line.speed}});
  const double rise = heat::linear_rise(model.conductivity, v.hottest - model.start);
  std::vector<double> least, greatest, marked, burnt, hottest;
  std::vector<double> moves;
  Chances chances{};
  for (const Moved& m : moved) {
    moves.push_back(m.marks);
    least.push_back(v.least_factor * m.marks);
    greatest.push_back(v.greatest_factor * m.burns);
    marked.push_back(std::min(map.mark_factors.share_at(1 / m.marks), m.covered));  // a map's cells average stripes away
    burnt.push_back(map.over_factors.share_at(1 / m.burns) * double(map.over_factors.cells()) / std::max(1.0, double(map.mark_factors.cells())));
    hottest.push_back(model.start + heat::true_rise(model.conductivity, rise * m.rise));
    const double one = 1.0 / double(moved.size());
    const bool marks = least.back() <= 1, spares = greatest.back() > 1;
    chances.marks += marks ? one : 0, chances.spares += spares ? one : 0, chances.good += marks && spares ? one : 0;
  }
  std::sort(moves.begin(), moves.end());
  const double beside = v.wanted_area > 0 ? v.unwanted_area / v.wanted_area : 0;
  return {.least_factor = {v.least_factor, interval(least)},
          .greatest_factor = {v.greatest_factor, interval(greatest)},
          .marked = {v.wanted[2] + v.wanted[3], interval(marked)},
          .over_burned = {v.wanted[3] + v.unwanted[3] * beside, interval(burnt)},
          .hottest = {v.hottest, interval(hottest)},
          .power = v.power,
          .chances = chances,
          .moves = std::move(moves)};
}

quantity::Map<float> chance_map(const Doubts& doubts, const mark::MarkMap& map, int threads) {
  const quantity::Map<float>& margin = map.maps.margin;
  if (margin.empty()) throw quantity::ValidityError("chance map: this prediction kept no margins. Predict with keep");
  quantity::Map<float> out(margin.around(), margin.axial());
  const std::vector<float> moves(doubts.moves.begin(), doubts.moves.end());
  const float share = 1 / std::max(1.0f, float(moves.size()));
  const auto work = [&](int first, int last, int) {
    for (int row = first; row < last; ++row)
      std::transform(margin.row(row).begin(), margin.row(row).end(), out.row(row).begin(), [&](float m) {
        return share * float(std::upper_bound(moves.begin(), moves.end(), 1 / m) - moves.begin());
      });
  };
  quantity::for_bands({.count = margin.around(), .threads = threads}, work);
  return out;
}

std::string text(const Doubts& d) {
  const auto range = [](const Interval& i, double factor, const char* unit) {
    const auto words = [&](double value) { return std::isfinite(value) ? quantity::format(value * factor, unit, 3) : "no end"; };
    return fmt::format("{} to {}", words(i.low), words(i.high));
  };
  return fmt::format("likely     marks from {}, over-burns from {}, {} of what is wanted marked, base up to {}; nine times in ten\n",
                     range(d.least_factor.interval, d.power, "W"), range(d.greatest_factor.interval, d.power, "W"),
                     range(d.marked.interval, 1, "%"), range(d.hottest.interval, 1, "degC"));
}

std::string json(const Doubts& d) {
  const auto range = [](const char* name, const Doubtful& figure) {
    return fmt::format(", \"{}\": [{}, {}, {}]", name, mark::json_number(figure.interval.low),
                       mark::json_number(figure.interval.middle), mark::json_number(figure.interval.high));
  };
  return fmt::format("{{\"chance_good\": {}", mark::json_number(d.chances.good)) + range("least_factor", d.least_factor) +
         range("greatest_factor", d.greatest_factor) + range("marked", d.marked) + range("over_burned", d.over_burned) +
         range("hottest", d.hottest) + "}";
}

}  // namespace circumfluence::window
