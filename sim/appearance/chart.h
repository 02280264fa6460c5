// Charts with axes, for what is computed beside the map: windows of settings, intervals, rankings of
// unknowns.
//
// A chart has one plot area; everything on it is given in axis space, in the units its axes' titles name.
// Points that have no place (not finite, or not positive on a logarithmic axis) break a line; everything is
// cut at the edges of the plot area. Labels avoid each other, markers, and as far as they can other lines;
// one that finds no place is told in the legend instead.
//
// Files are written whole or not at all. Errors: FileError; ValidityError for what cannot be drawn (an empty
// range, limits that are not finite, a logarithmic axis that reaches zero, a marker without a place ...).
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "appearance/draw.h"
#include "appearance/legend.h"
#include "appearance/picture.h"

namespace circumfluence::appearance {

// For lines: apart from each other by CIEDE2000 = 21, from paper by 30 and from ink by 17, for normal,
// protan, deutan and tritan eyes.
inline constexpr Colour kSeriesColours[] = {
    {0x07, 0x40, 0x99}, {0xaa, 0x24, 0x23}, {0x1b, 0x8d, 0x79}, {0xaa, 0x71, 0xd4}, {0xf3, 0x82, 0x17}};

// A colour thinned with paper (in sRGB, which keeps its hue), so that lines and letters stand out on it.
Colour tint(Colour colour, double strength);

struct Axis {
  std::string title = {};  // with its unit: "speed [mm/s]"
  double from = std::numeric_limits<double>::signaling_NaN();
  double to = std::numeric_limits<double>::signaling_NaN();  // greater than `from`
  bool logarithmic = false;
};

struct Curve {
  std::vector<Point> points = {};
  Colour colour = kInk;
  double thickness = 2.0;  // [pixel]
  bool dashed = false;
  std::string label = {};  // written on the line, rather near its last point
};

inline constexpr double kBandOpacity = 0.22;  // of a soft fill; its legend's swatch is tint(colour, kBandOpacity)

// The area between two curves, point against point: `lower[i]` belongs to `upper[i]`; it is broken where one
// of the two has no place, except that on a logarithmic axis zero and less count as far below.
struct Band {
  std::vector<Point> lower = {}, upper = {};
  Colour colour = kSoftInk;
  bool hatched = false;  // else a soft fill
};

struct Marker {
  // Outside the plot area it is left out.
  Point at{std::numeric_limits<double>::signaling_NaN(), std::numeric_limits<double>::signaling_NaN()};
  std::string label = {};
  Shape shape = Shape::dot;
  Colour colour = kInk;
};

struct Chart {
  std::string title = {}, subtitle = {};
  Axis x = {}, y = {};
  std::string top_title = {};
  std::vector<Tick> top = {};  // a second scale on the top edge: what to write at which value of x
  Pixels field = {};           // stretched over the plot area, row 0 at the top; may be empty
  std::vector<Band> bands = {};
  std::vector<Curve> curves = {};
  std::vector<Marker> markers = {};
  std::vector<LegendEntry> legend = {};
  int width = 720, height = 480;  // [pixel] of the plot area, 100 to 4000
};

void write_chart(const std::string& path, const Chart& chart);

// A ranking, from the top down: what each unknown explains alone, and together with others.
struct Bar {
  std::string label = {};
  double first = std::numeric_limits<double>::signaling_NaN();
  double total = std::numeric_limits<double>::signaling_NaN();
};

struct BarChart {
  std::string title = {}, subtitle = {};
  std::string axis = {};  // title of the scale, which runs from 0 to 1
  std::string first = "alone", total = "with others";
  // One or more. Estimates may stray out of 0 to 1: bars end there, the numbers beside them are as given.
  std::vector<Bar> bars = {};
};

void write_bars(const std::string& path, const BarChart& chart);

}  // namespace circumfluence::appearance
