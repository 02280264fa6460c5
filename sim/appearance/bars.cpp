#include <algorithm>
#include <cmath>
#include <cstdio>

#include "appearance/chart.h"
#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

constexpr Type kLabel{.size = 12.5, .colour = kInk};
constexpr Type kNumber{.size = 12.0, .colour = kSoftInk};
constexpr double kBar = 11.0, kBetween = 2.0, kGroup = 38.0, kNextLine = 16.0;
constexpr double kLength = 420.0,
                 kMostLabel = 260.0;  // [pixel] of a bar of 1, of a label before it is broken
constexpr int kTop = 20, kSide = 24;
constexpr Colour kFirst = kSeriesColours[0];

void check(const BarChart& chart) {
  if (chart.bars.empty())
    throw quantity::ValidityError("chart: bars = 0 (nothing to rank; expected one or more)");
  for (const Bar& bar : chart.bars)
    if (!std::isfinite(bar.first) || !std::isfinite(bar.total))
      throw quantity::ValidityError("chart: bar \"" + bar.label +
                                    "\" (a share that is not finite; expected two numbers from 0 to 1)");
}

std::string hundredths(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", std::abs(value) < 0.005 ? 0.0 : value);
  return text;
}

void draw_bar(Sheet& sheet, Point corner, double value, Colour colour) {
  const double length = std::round(kLength * std::clamp(value, 0.0, 1.0));
  if (length > 0.0) sheet.fill(Box{corner.x, corner.y, length, kBar}, colour);
  sheet.text({corner.x + length + 6.0, corner.y + 0.5 * kBar + 0.36 * kNumber.size}, hundredths(value),
             kNumber);
}

}  // namespace

void write_bars(const std::string& path, const BarChart& chart) {
  check(chart);
  const Sheet scrap(1, 1, kPaper);
  std::vector<std::vector<std::string>> labels;
  std::vector<double> heights;
  double widest = 0.0, height = 0.0;
  for (const Bar& bar : chart.bars) {
    labels.push_back(scrap.lines(bar.label, kLabel, kMostLabel));
    for (const std::string& line : labels.back()) widest = std::max(widest, scrap.length(line, kLabel));
    heights.push_back(std::max(kGroup, kNextLine * double(labels.back().size()) + 10.0));
    height += heights.back();
  }
  const double x = std::ceil(kSide + widest + 14.0), room = x - kSide + kLength;
  const Heading heading(chart.title, chart.subtitle, room);
  const Colour pale = tint(kFirst, 0.4);
  const Legend legend({{chart.first, kFirst}, {chart.total, pale}}, room);
  const double y = kTop + heading.height() + 12.0;
  const Ruler ruler{
      .from = 0.0, .to = 1.0, .start = x, .stop = x + kLength, .edge = y + height, .title = chart.axis};
  const double legend_y = std::ceil(ruler.edge + reach(scrap, ruler) + 12.0);

  Sheet sheet(int(x + kLength) + 52, int(legend_y) + legend.height() + 8, kPaper);
  heading.draw(sheet, {double(kSide), kTop});
  for (const Tick& tick : ticks(scrap, ruler)) {
    const double at = std::floor(place(ruler, tick.value)) + 0.5;
    if (!tick.label.empty()) sheet.line({at, y}, {at, y + height}, kGrid);
  }
  double top = y;
  for (size_t i = 0; i < chart.bars.size(); ++i) {
    const double middle = std::round(top + 0.5 * heights[i]);
    draw_bar(sheet, {x, middle - kBar - 0.5 * kBetween}, chart.bars[i].first, kFirst);
    draw_bar(sheet, {x, middle + 0.5 * kBetween}, chart.bars[i].total, pale);
    double foot = middle + 0.36 * kLabel.size - 0.5 * kNextLine * (double(labels[i].size()) - 1.0);
    for (const std::string& line : labels[i]) {
      sheet.text({x - 12.0, foot}, line, {.size = kLabel.size, .colour = kInk, .anchor = 1.0});
      foot += kNextLine;
    }
    top += heights[i];
  }
  sheet.line({x - 0.5, y}, {x - 0.5, y + height}, kEdge);
  draw(sheet, ruler, kInk);
  legend.draw(sheet, {x, legend_y});
  sheet.write(path, 0.0, 0.0);
}

}  // namespace circumfluence::appearance
