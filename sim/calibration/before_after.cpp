// What a fit is worth: chances and ends before and after, in words and as a picture.
//
// Ends are those at which a power set is enough with a chance of 5, 50 and 95 %, the doubt about the power
// that arrives included.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "appearance/chart.h"
#include "calibration/fitted.h"
#include "quantity/unit.h"
#include "window/window.h"

namespace circumfluence::calibration {
namespace {

using appearance::Chart;
using appearance::Colour;
using window::Interval;
using window::Outlook;

constexpr int kSpeeds = 25, kColumns = 241;
constexpr double kMillimetres = 60e3;  // [mm/min] one m/s
constexpr double kLow = 0.05, kHigh = 0.95;
constexpr Colour kMarks = appearance::kSeriesColours[0], kBurns = appearance::kSeriesColours[1];

Interval marks_of(const Outlook& outlook) {
  return {outlook.least(kLow), outlook.least(0.5), outlook.least(kHigh)};
}

// It over-burns with a chance of q where it spares with one of 1 - q.
Interval burns_of(const Outlook& outlook) {
  return {outlook.greatest(kHigh), outlook.greatest(0.5), outlook.greatest(kLow)};
}

std::vector<Outlook> outlooks(const mark::Scene& scene, const std::vector<double>& speeds,
                              const window::Draws& draws) {
  const window::Doubt doubt(scene, draws);
  return doubt.over(window::place_of(scene, window::fill_of(scene.job)), speeds);
}

Side side_of(const mark::Scene& scene, double power, double speed, const window::Draws& draws) {
  const Outlook outlook = outlooks(scene, {speed}, draws).front();
  return {marks_of(outlook), burns_of(outlook), outlook.at(power)};
}

std::string watts(double power) {
  if (power <= 0) return "0 W";
  return std::isfinite(power) ? quantity::format(power, "W", 3) : "no power";
}

std::string told(const Interval& end) {
  return fmt::format("{} ({} to {})", watts(end.middle), watts(end.low), watts(end.high));
}

std::string line(const char* which, const Side& side, double power) {
  return fmt::format("{:10} marks from {}, over-burns from {}; {} comes out good with {:.0f} %\n", which,
                     told(side.marks), told(side.burns), watts(power), 100 * side.chances.good);
}

// An end's interval over speed, between the speeds that were solved.
struct Ends {
  std::vector<appearance::Point> low, middle, high;
};

Ends ends_of(const std::vector<double>& nodes, const std::vector<Interval>& known,
             const std::vector<double>& speeds) {
  const auto curve = [&](double Interval::*which) {
    std::vector<window::Ends> at;
    for (const Interval& interval : known) at.push_back({1, 1, interval.*which, 1});
    const std::vector<window::Ends> found = window::between(nodes, at, speeds);
    std::vector<appearance::Point> out;
    for (size_t i = 0; i < speeds.size(); ++i) out.push_back({speeds[i] * kMillimetres, found[i].marks});
    return out;
  };
  return {curve(&Interval::low), curve(&Interval::middle), curve(&Interval::high)};
}

constexpr int kLayers = 3;  // of the soft fill, one upon another: what is known after stands out

// Before: a soft band between dashed edges. After: a strong one between edges, about its middle.
void draw(Chart& chart, const Ends& ends, Colour colour, bool after, const std::string& label) {
  for (int i = 0; i < (after ? kLayers : 1); ++i) chart.bands.push_back({ends.low, ends.high, colour, false});
  const Colour edge = after ? colour : appearance::tint(colour, 0.7);
  for (const auto* points : {&ends.low, &ends.high}) chart.curves.push_back({*points, edge, 1.2, !after, ""});
  if (after) chart.curves.push_back({ends.middle, colour, 2.6, false, label});
}

bool lies_in(const Ends& ends, double most) {
  return std::ranges::any_of(ends.low, [most](const appearance::Point& p) { return p.y < most; });
}

// With its entry in the legend, where any power that can be set does it.
void add(Chart& chart, const Ends& ends, Colour colour, bool after, const char* does) {
  if (!lies_in(ends, chart.y.to)) return;
  draw(chart, ends, colour, after, after ? fmt::format("{} from here up", does) : "");
  const double strength = 1 - std::pow(1 - appearance::kBandOpacity, after ? kLayers : 1);
  chart.legend.push_back({fmt::format("{}, {}", does, after ? "after" : "before"),
                          appearance::tint(colour, strength), appearance::Swatch::area});
}

void add(Chart& chart, const mark::Scene& scene, const std::vector<double>& nodes, bool after) {
  const std::vector<Outlook> found = outlooks(scene, nodes, {});
  std::vector<double> speeds;
  for (int i = 0; i < kColumns; ++i)
    speeds.push_back(nodes.front() * std::pow(nodes.back() / nodes.front(), double(i) / (kColumns - 1)));
  speeds.front() = nodes.front(), speeds.back() = nodes.back();
  std::vector<Interval> marks, burns;
  for (const Outlook& outlook : found) marks.push_back(marks_of(outlook)), burns.push_back(burns_of(outlook));
  add(chart, ends_of(nodes, marks, speeds), kMarks, after, "marks");
  add(chart, ends_of(nodes, burns, speeds), kBurns, after, "over-burns");
}

}  // namespace

BeforeAfter compare(const mark::Scene& before, const mark::Scene& after, const window::Draws& draws) {
  const double power = before.power(), speed = before.job.scan.speed;
  return {side_of(before, power, speed, draws), side_of(after, power, speed, draws), power};
}

std::string text(const BeforeAfter& both) {
  return line("before", both.before, both.power) + line("after", both.after, both.power);
}

void write_picture(const std::string& path, const mark::Scene& before, const mark::Scene& after) {
  const std::vector<double> nodes = window::axes_of(before.job, 2, kSpeeds).speed;
  const double rated = before.job.laser.rated_power;
  Chart chart;
  chart.title = "What is known of the window, before and after the coupon";
  chart.subtitle = fmt::format("{}, {}: 5th to 95th percentile of both ends",
                               after.coat ? after.coat->title : after.base.title,
                               quantity::format(before.job.laser.wavelength, "nm"));
  chart.x = {"speed [mm/min]", nodes.front() * kMillimetres, nodes.back() * kMillimetres, true};
  chart.y = {"power set at the source [W]", 0, 1.04 * rated, false};
  add(chart, before, nodes, false);
  add(chart, after, nodes, true);
  chart.markers.push_back({{before.job.scan.speed * kMillimetres, before.power()},
                           "as set",
                           appearance::Shape::dot,
                           appearance::kInk});
  appearance::write_chart(path, chart);
}

}  // namespace circumfluence::calibration
