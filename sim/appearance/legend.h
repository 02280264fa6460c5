// What the colours, lines and signs of a chart mean, in columns below it.
#pragma once

#include <string>
#include <vector>

#include "appearance/draw.h"

namespace circumfluence::appearance {

enum class Shape { dot, ring, cross };
enum class Swatch { area, hatch, line, dashes, dot, ring, cross };

struct LegendEntry {
  std::string text = {};
  Colour colour = kInk;
  Swatch swatch = Swatch::area;
};

inline constexpr double kShapeRadius = 5.5;  // [pixel] of a sign, without its pale edge
void draw(Sheet& sheet, Shape shape, Point at, Colour colour);

// In as many columns as fit into `room`, filled from the top; entries longer than that are broken.
class Legend {
 public:
  Legend(const std::vector<LegendEntry>& entries, double room);
  int height() const;  // [pixel], 0 when there is no entry
  void draw(Sheet& sheet, Point upper_left) const;

 private:
  struct Item {
    LegendEntry entry;
    std::vector<std::string> lines;
    double width;
  };
  double lay_columns();  // their width in all
  std::vector<Item> items_;
  std::vector<double> tops_, lefts_;  // [row], [column]
  double height_ = 0.0;
  size_t rows_ = 1;
};

}  // namespace circumfluence::appearance
