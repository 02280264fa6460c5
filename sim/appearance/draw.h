// A sheet to draw pictures on: text, lines, areas, boxes, pixels, and rulers. Lengths and places in pixels,
// from the upper left corner, y downward. Coordinates beyond about a million pixels are the caller's to cut
// off.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "appearance/colour.h"

struct _cairo;
struct _cairo_surface;

namespace circumfluence::appearance {

struct Pixels;

// Colours of all that is said around a picture.
inline constexpr Colour kPaper{255, 255, 255}, kInk{45, 48, 54}, kSoftInk{98, 103, 112}, kEdge{150, 154, 160},
    kGrid{230, 232, 235};

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
  double anchor = 0.0;  // 0: the point is at the start of the text, 0.5 middle, 1 end
  double turn = 0.0;    // [rad] counter-clockwise: a quarter turn reads upward
  double halo = 0.0;    // how far paper stands out around the letters
};

struct Stroke {
  Colour colour = kInk;
  double thickness = 1.0;
  bool dashed = false;
  double opacity = 1.0;
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
  void trace(std::span<const Point> line, const Stroke& stroke);
  void fill(const Box& box, Colour colour);
  void fill(std::span<const Point> corners, Colour colour, double opacity);
  void hatch(std::span<const Point> corners, Colour colour);  // slanting lines, rising to the right
  void disc(Point centre, double radius, Colour colour);
  void outline(const Box& box, Colour colour);
  // Each pixel as a square of `zoom` pixels, its upper left corner at (x, y).
  void paste(const Pixels& pixels, int x, int y, int zoom);
  // Stretched over the box, whose numbers are whole: each pixel of the sheet takes the nearest.
  void paste(const Pixels& pixels, const Box& box);

  // Until `unclip`, nothing is drawn outside the box or within the polygon.
  void clip(const Box& box, std::span<const Point> except = {});
  void unclip();

  Pixels pixels() const;
  // A PNG; pitches as in png.h. Throws FileError when nothing can be drawn or written.
  void write(const std::string& path, double axial_pitch, double around_pitch) const;

 private:
  void choose(const Type& type) const;
  void follow(std::span<const Point> line);
  std::shared_ptr<_cairo_surface> surface_;
  std::shared_ptr<_cairo> pen_;
};

// Title and subtitle, broken so that no line is longer than `room`.
class Heading {
 public:
  Heading() = default;
  Heading(std::string_view title, std::string_view subtitle, double room);
  int height() const;
  void draw(Sheet& sheet, Point upper_left) const;

 private:
  std::vector<std::string> title_, subtitle_;
};

struct Tick {
  double value;
  std::string label;  // empty: a short tick between two labelled ones
};

// A straight scale, linear or logarithmic, with ticks at round numbers.
struct Ruler {
  double from = 0.0, to = 1.0;     // what the scale says at its two ends, from < to
  double start = 0.0, stop = 0.0;  // the same ends on the sheet: x of a level ruler, y of an upright one
  double edge = 0.0;               // the other coordinate
  bool upright = false;            // a level ruler hangs below its edge, an upright one stands to its left
  std::string title = {};
  bool logarithmic = false;
  bool above = false;            // a level ruler stands on its edge instead
  std::vector<Tick> given = {};  // instead of round numbers
};

// Ticks at multiples of 1, 2 or 5 times a power of ten, the labelled ones at least (to - from) / most apart.
std::vector<Tick> ticks(double from, double to, double most);
// For a logarithmic scale of positive ends: labels at 1, 2, 5 of each decade, or at whole decades, as long as
// no two are closer than the scale's length / most; at evenly spaced numbers within less than a decade
// that has fewer than three of those.
std::vector<Tick> log_ticks(double from, double to, double most);
// As many as stand on the ruler without their labels touching.
std::vector<Tick> ticks(const Sheet& sheet, const Ruler& ruler);

// Where a value lies along the ruler [pixel]; not finite when a logarithmic one has no place for it.
double place(const Ruler& ruler, double value);
// How far the ruler, its numbers and its title stand out from its edge [pixel].
double reach(const Sheet& sheet, const Ruler& ruler);
void draw(Sheet& sheet, const Ruler& ruler, Colour ink);

}  // namespace circumfluence::appearance
