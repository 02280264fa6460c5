// The plot area of a chart: what of lines and areas lies within it, and where labels find room there. Lengths
// and places in pixels, y downward.
//
// Labels are placed one after the other, each where it costs least among many places tried: never over
// another label or a marker, never over the edge, rather on a straight part of its line than a bent one,
// rather near the line's end, rather not across other lines. What finds no place at a bearable cost gets
// none.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "appearance/draw.h"

namespace circumfluence::appearance {

using Line = std::vector<Point>;

// A rectangle that a label covers.
struct Plate {
  Point centre{};
  double length = 0.0, height = 0.0;
  double turn = 0.0;  // [rad] of its length, counter-clockwise
};

bool overlap(const Plate& one, const Plate& other);
Line corners(const Plate& plate);
Point nearest(const Plate& level, Point point);  // of the plate to the point

// The pieces of a line within the box, of two points or more each; points that are not finite break it.
std::vector<Line> cut_line(std::span<const Point> line, const Box& box);
// An area within the box (Sutherland and Hodgman 1974, Commun. ACM 17(1), 32-42). Its corners are finite.
Line cut_area(std::span<const Point> corners, const Box& box);

class LabelPlaces {
 public:
  explicit LabelPlaces(const Box& area) : area_(area) {}

  void keep_clear(const Plate& plate) { taken_.push_back(plate); }
  void rather_keep_clear(std::span<const Line> pieces);

  // For a label of that length and height: on its line or right beside it.
  std::optional<Plate> on_line(std::span<const Line> pieces, Point size);
  // Level, at least `clear` away from the point, next to it or with some distance.
  std::optional<Plate> near_point(Point point, double clear, Point size);

 private:
  struct Choice {
    Plate plate;
    double cost;
  };
  bool free(const Plate& plate) const;
  int covered(const Plate& plate) const;
  void consider(const Plate& plate, double cost, int own = 0);
  void try_along(const Line& line, Point size, double cost);
  void try_beside(const Line& line, Point size, double cost);
  std::optional<Plate> settle();

  Box area_;
  std::vector<Plate> taken_;
  std::vector<Point> inked_;  // points of lines, closely spaced
  std::optional<Choice> best_;
};

}  // namespace circumfluence::appearance
