// The focus study as a chart: widths over height, on the outcome of the setting as set.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "appearance/chart.h"
#include "quantity/unit.h"
#include "window/focus.h"

namespace circumfluence::window {
namespace {

using appearance::Chart;
using appearance::Colour;
using appearance::Point;
using quantity::format;

constexpr appearance::Verdict kShown[] = {appearance::Verdict::missing, appearance::Verdict::under_marked,
                                          appearance::Verdict::marked,
                                          appearance::Verdict::over_burned};  // by Ruling

Point at(double height, double length) {
  return {height * 1e3, length * 1e6};  // [mm], [um]
}

// Each row's outcome, half-way to its neighbours; neighbours of one outcome as one band.
void draw_outcomes(Chart& chart, const Focus& focus) {
  bool shown[4] = {};
  double from = chart.x.from;
  for (size_t i = 0; i < focus.rows.size(); ++i) {
    const HeightRow& row = focus.rows[i];
    const bool last = i + 1 == focus.rows.size();
    if (!last && focus.rows[i + 1].ruling == row.ruling) continue;
    const double to = last ? chart.x.to : (row.height + focus.rows[i + 1].height) / 2 * 1e3;
    const Colour colour = appearance::colour_of(kShown[int(row.ruling)]);
    chart.bands.push_back(
        {.lower = {{from, 0}, {to, 0}}, .upper = {{from, chart.y.to}, {to, chart.y.to}}, .colour = colour});
    if (!std::exchange(shown[int(row.ruling)], true))
      chart.legend.push_back({mark::kRulingNames[int(row.ruling)], appearance::tint(colour, appearance::kBandOpacity)});
    from = to;
  }
}

void draw_moves(Chart& chart, const Focus& focus) {
  const Excursion& total = focus.moves.total;
  if (!(total.down > 0 || total.up > 0)) return;
  const double from = (focus.set.height - total.down) * 1e3, to = (focus.set.height + total.up) * 1e3;
  chart.bands.push_back(
      {.lower = {{from, 0}, {to, 0}}, .upper = {{from, chart.y.to}, {to, chart.y.to}}, .hatched = true});
  chart.legend.push_back({"where the surface moves", appearance::kSoftInk, appearance::Swatch::hatch});
}

template <class Get>
appearance::Curve curve(const Focus& focus, int series, const char* label, const Get& get) {
  appearance::Curve out{.colour = appearance::kSeriesColours[series], .label = label};
  for (const HeightRow& row : focus.rows) {
    const double length = get(row);
    out.points.push_back(at(row.height, length > 0 ? length : quantity::kUnset));
  }
  return out;
}

// What the chance of coming out good is, along the upper edge.
void add_chances(Chart& chart, const Focus& focus) {
  if (!focus.drawn) return;
  chart.top_title = "chance of coming out good";
  const size_t steps = std::min<size_t>(8, focus.rows.size() - 1);
  for (size_t i = 0; i <= steps; ++i) {
    const HeightRow& row = focus.rows[i * (focus.rows.size() - 1) / std::max<size_t>(steps, 1)];
    chart.top.push_back({row.height * 1e3, mark::chance_text(row.chances.good)});
  }
}

double widest(const Focus& focus) {
  double most = 2 * focus.fill.spacing;
  for (const HeightRow& row : focus.rows) most = std::max({most, 2 * row.across, row.width, row.spacing});
  return most;
}

}  // namespace

void write_picture(const std::string& path, const Focus& focus, const std::string& title) {
  Chart chart{.title = title};
  chart.subtitle = fmt::format("{}, {}, lines {} apart", format(focus.power, "W", 3),
                               format(focus.speed, "mm/min", 4), format(focus.fill.spacing, "mm", 3));
  const double first = focus.rows.front().height * 1e3, last = focus.rows.back().height * 1e3;
  const double beside = last > first ? 0 : 0.1;
  chart.x = {"height of the surface above the nominal focus [mm]", first - beside, last + beside};
  chart.y = {"across the lines [um]", 0, 1.1e6 * widest(focus)};
  draw_outcomes(chart, focus);
  draw_moves(chart, focus);
  chart.curves.push_back(curve(focus, 0, "one line alone", [](const HeightRow& r) { return r.width; }));
  chart.curves.push_back(
      curve(focus, 3, "widest spacing that closes", [](const HeightRow& r) { return r.spacing; }));
  chart.curves.push_back(
      curve(focus, 2, "beam, 1/e^2 diameter", [](const HeightRow& r) { return 2 * r.across; }));
  appearance::Curve spacing =
      curve(focus, 1, "spacing as set", [&](const HeightRow&) { return focus.fill.spacing; });
  spacing.dashed = true;
  chart.curves.push_back(spacing);
  chart.markers.push_back({.at = at(focus.set.height, focus.set.width), .label = "as set"});
  add_chances(chart, focus);
  appearance::write_chart(path, chart);
}

}  // namespace circumfluence::window
