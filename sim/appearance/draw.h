// A sheet to draw pictures on: text, lines, boxes, pixels, and rulers. Lengths and places in pixels, from the
// upper left corner, y downward.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "appearance/colour.h"

struct _cairo;
struct _cairo_surface;

namespace circumfluence::appearance {

struct Pixels;

struct Point {
  double x, y;
};
struct Box {
  double x, y, width, height;
};

struct Type {
  double size = 13.0;  // height of the em
  Colour colour{0, 0, 0};
  bool bold = false;
  double anchor = 0.0;   // 0: the point is at the start of the text, 0.5 middle, 1 end
  bool upright = false;  // turned a quarter, reading upward
};

class Sheet {
 public:
  Sheet(int width, int height, Colour ground);
  int width() const;
  int height() const;

  void text(Point baseline, std::string_view words, const Type& type);
  double length(std::string_view words, const Type& type) const;
  // Broken at spaces so that no line is longer than `room`, unless a single word is.
  std::vector<std::string> lines(std::string_view words, const Type& type, double room) const;

  void line(Point from, Point to, Colour colour, double thickness = 1.0);
  void fill(const Box& box, Colour colour);
  void outline(const Box& box, Colour colour);
  // Each pixel as a square of `zoom` pixels, its upper left corner at (x, y).
  void paste(const Pixels& pixels, int x, int y, int zoom);

  // A PNG; pitches as in png.h. Throws FileError when nothing can be drawn or written.
  void write(const std::string& path, double axial_pitch, double around_pitch) const;

 private:
  void choose(const Type& type) const;
  std::shared_ptr<_cairo_surface> surface_;
  std::shared_ptr<_cairo> pen_;
};

// A straight scale with ticks at round numbers.
struct Ruler {
  double from, to;       // what the scale says at its two ends
  double start, stop;    // the same ends on the sheet [pixel]: x of a level ruler, y of an upright one
  double edge;           // the other coordinate
  bool upright = false;  // a level ruler hangs below its edge, an upright one stands to its left
  std::string title;
};

struct Tick {
  double value;
  std::string label;  // empty: a short tick between two labelled ones
};

// Ticks at multiples of 1, 2 or 5 times a power of ten, the labelled ones at least (to - from) / most apart.
std::vector<Tick> ticks(double from, double to, double most);

void draw(Sheet& sheet, const Ruler& ruler, Colour ink);

}  // namespace circumfluence::appearance
