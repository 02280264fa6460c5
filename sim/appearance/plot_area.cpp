#include "appearance/plot_area.h"

#include <algorithm>
#include <cmath>

namespace circumfluence::appearance {
namespace {

constexpr double kSpacing = 3.0;   // [pixel] between the points a line is taken as
constexpr double kInset = 5.0;     // [pixel] of labels from the edge
constexpr double kFromEnd = 16.0;  // [pixel] of a label on its line, at best
constexpr double kBearable = 120;  // cost
// What things cost: a pixel from the line's end, a pixel of bend, a point of another line covered, a label
// beside its line instead of on it, a piece that isn't the longest.
constexpr double kAway = 0.03, kBend = 3.0, kCovered = 2.0, kBeside = 30.0, kShorter = 15.0;

bool finite(Point p) {
  return std::isfinite(p.x) && std::isfinite(p.y);
}

double distance(Point a, Point b) {
  return std::hypot(b.x - a.x, b.y - a.y);
}

Point between(Point a, Point b, double share) {
  return {a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

// Whether the two lie apart along one's own length or height.
bool apart(const Plate& one, const Plate& other) {
  const double c = std::cos(one.turn), s = std::sin(one.turn);
  const double dx = other.centre.x - one.centre.x, dy = other.centre.y - one.centre.y;
  const double cross = std::abs(std::sin(other.turn - one.turn)),
               same = std::abs(std::cos(other.turn - one.turn));
  return 2.0 * std::abs(c * dx - s * dy) > one.length + other.length * same + other.height * cross ||
         2.0 * std::abs(s * dx + c * dy) > one.height + other.length * cross + other.height * same;
}

bool holds(const Plate& plate, Point p) {
  return !apart(plate, {.centre = p});
}

// The shares of a segment that lie in the box (Liang and Barsky 1984, ACM Trans. Graph. 3(1), 1-22).
std::optional<std::pair<double, double>> shares(Point a, Point b, const Box& box) {
  double enter = 0.0, leave = 1.0;
  const double slopes[4] = {a.x - b.x, b.x - a.x, a.y - b.y, b.y - a.y};
  const double rooms[4] = {a.x - box.x, box.x + box.width - a.x, a.y - box.y, box.y + box.height - a.y};
  for (int side = 0; side < 4; ++side) {
    if (slopes[side] == 0.0) {
      if (rooms[side] < 0.0) return {};
    } else if (slopes[side] < 0.0) {
      enter = std::max(enter, rooms[side] / slopes[side]);
    } else {
      leave = std::min(leave, rooms[side] / slopes[side]);
    }
  }
  if (enter > leave) return {};
  return std::pair{enter, leave};
}

Point pulled(Point p, const Box& box) {
  return {std::clamp(p.x, box.x, box.x + box.width), std::clamp(p.y, box.y, box.y + box.height)};
}

Line evenly(const Line& line) {
  Line out;
  double next = 0.0;  // along the present segment
  for (size_t i = 1; i < line.size(); ++i) {
    const double length = distance(line[i - 1], line[i]);
    for (; next < length; next += kSpacing) out.push_back(between(line[i - 1], line[i], next / length));
    next -= length;
  }
  if (!line.empty()) out.push_back(line.back());
  return out;
}

double furthest(std::span<const Point> line, Point a, Point b) {
  const double length = std::max(distance(a, b), 1e-9);
  double most = 0.0;
  for (const Point& p : line)
    most = std::max(most, std::abs((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)) / length);
  return most;
}

}  // namespace

bool overlap(const Plate& one, const Plate& other) {
  return !apart(one, other) && !apart(other, one);
}

Line corners(const Plate& plate) {
  const double c = std::cos(plate.turn), s = std::sin(plate.turn);
  Line out;
  for (const auto& [u, v] : {std::pair{-0.5, -0.5}, {0.5, -0.5}, {0.5, 0.5}, {-0.5, 0.5}}) {
    const double along = u * plate.length, across = v * plate.height;
    out.push_back({plate.centre.x + c * along + s * across, plate.centre.y - s * along + c * across});
  }
  return out;
}

Point nearest(const Plate& plate, Point point) {
  const Point c = plate.centre;
  return {std::clamp(point.x, c.x - 0.5 * plate.length, c.x + 0.5 * plate.length),
          std::clamp(point.y, c.y - 0.5 * plate.height, c.y + 0.5 * plate.height)};
}

std::vector<Line> cut_line(std::span<const Point> line, const Box& box) {
  std::vector<Line> pieces;
  bool open = false;
  for (size_t i = 1; i < line.size(); ++i) {
    const Point a = line[i - 1], b = line[i];
    const auto within = finite(a) && finite(b) ? shares(a, b, box) : std::nullopt;
    if (!within) {
      open = false;
      continue;
    }
    // From the near end, since a far one would swallow what is asked for.
    if (!open || within->first > 0.0)
      pieces.push_back({pulled(between(b, a, shares(b, a, box).value_or(*within).second), box)});
    pieces.back().push_back(pulled(between(a, b, within->second), box));
    open = within->second == 1.0;
  }
  return pieces;
}

Line cut_area(std::span<const Point> corners, const Box& box) {
  Line area(corners.begin(), corners.end());
  for (int side = 0; side < 4; ++side) {
    const auto room = [&](Point p) {
      const double rooms[4] = {p.x - box.x, box.x + box.width - p.x, p.y - box.y, box.y + box.height - p.y};
      return rooms[side];
    };
    Line kept;
    for (size_t i = 0; i < area.size(); ++i) {
      const Point a = area[i], b = area[(i + 1) % area.size()];
      const double at_a = room(a), at_b = room(b);
      if (at_a >= 0.0) kept.push_back(a);
      if ((at_a >= 0.0) == (at_b >= 0.0)) continue;
      const bool a_nearer = std::abs(at_a) < std::abs(at_b);
      kept.push_back(a_nearer ? between(a, b, at_a / (at_a - at_b)) : between(b, a, at_b / (at_b - at_a)));
    }
    area = std::move(kept);
  }
  return area;
}

void LabelPlaces::rather_keep_clear(std::span<const Line> pieces) {
  for (const Line& piece : pieces) {
    const Line points = evenly(piece);
    inked_.insert(inked_.end(), points.begin(), points.end());
  }
}

bool LabelPlaces::free(const Plate& plate) const {
  for (const Point& p : corners(plate))
    if (p.x < area_.x + kInset || p.x > area_.x + area_.width - kInset || p.y < area_.y + kInset ||
        p.y > area_.y + area_.height - kInset)
      return false;
  return std::none_of(taken_.begin(), taken_.end(), [&](const Plate& t) { return overlap(plate, t); });
}

int LabelPlaces::covered(const Plate& plate) const {
  const double radius = 0.5 * (plate.length + plate.height);
  return int(std::count_if(inked_.begin(), inked_.end(), [&](Point p) {
    return std::abs(p.x - plate.centre.x) < radius && std::abs(p.y - plate.centre.y) < radius &&
           holds(plate, p);
  }));
}

// From the point to the level plate, a pixel wide, without the first `clear` pixels.
Plate leader(const Plate& plate, Point point, double clear) {
  const Point end = nearest(plate, point);
  const double whole = std::max(distance(point, end), 1e-9), length = std::max(whole - clear, 0.0);
  return {between(end, point, 0.5 * length / whole), length, 1.0,
          -std::atan2(end.y - point.y, end.x - point.x)};
}

// `own` points of the label's own line are expected beneath it.
void LabelPlaces::consider(const Plate& plate, double cost, int own) {
  const double most = best_ ? best_->cost : kBearable;
  if (cost >= most || !free(plate)) return;
  cost += kCovered * std::max(0, covered(plate) - own);
  if (cost < most) best_ = Choice{plate, cost};
}

void LabelPlaces::try_along(const Line& line, Point size, double cost) {
  const int half = int(std::ceil(0.5 * size.x / kSpacing));
  for (int centre = int(line.size()) - 1 - half; centre >= half; --centre) {
    const std::span<const Point> under(line.data() + centre - half, size_t(2 * half + 1));
    const Point a = under.front(), b = under.back();
    const double bend = furthest(under, a, b);
    if (bend > 0.3 * size.y || distance(a, b) < 0.9 * size.x) continue;
    double turn = -std::atan2(b.y - a.y, b.x - a.x);
    if (std::cos(turn) < -1e-9) turn += 2.0 * std::asin(1.0);  // never upside down
    const Plate plate{between(between(a, b, 0.5), line[size_t(centre)], 0.5), size.x, size.y, turn};
    const double away = kSpacing * (double(line.size()) - 1.0 - half - centre);
    consider(plate, cost + kAway * std::abs(away - kFromEnd) + kBend * bend, 2 * half + 1);
  }
}

void LabelPlaces::try_beside(const Line& line, Point size, double cost) {
  constexpr double clear = 4.0;
  for (int i = int(line.size()) - 1; i >= 0; i -= 4) {
    const double away = kSpacing * (double(line.size()) - 1.0 - i);
    for (int side = 0; side < 8; ++side) {
      const double angle = 0.5 * std::asin(1.0) * side, c = std::cos(angle), s = std::sin(angle);
      const Point centre{line[size_t(i)].x + c * (clear + 0.5 * size.x),
                         line[size_t(i)].y - s * (clear + 0.5 * size.y)};
      consider({centre, size.x, size.y}, cost + kBeside + kAway * away);
    }
  }
}

std::optional<Plate> LabelPlaces::settle() {
  if (!best_) return {};
  const Plate plate = best_->plate;
  best_.reset();
  taken_.push_back(plate);
  return plate;
}

std::optional<Plate> LabelPlaces::on_line(std::span<const Line> pieces, Point size) {
  std::vector<Line> lines;
  for (const Line& piece : pieces) lines.push_back(evenly(piece));
  size_t longest = 0;
  for (const Line& line : lines) longest = std::max(longest, line.size());
  for (const Line& line : lines) try_along(line, size, line.size() < longest ? kShorter : 0.0);
  for (const Line& line : lines) try_beside(line, size, line.size() < longest ? kShorter : 0.0);
  return settle();
}

std::optional<Plate> LabelPlaces::near_point(Point point, double clear, Point size) {
  constexpr int directions = 16;
  for (const double gap : {2.0, 16.0, 34.0, 60.0, 100.0, 150.0})
    for (int i = 0; i < directions; ++i) {
      const double angle = 0.5 * std::asin(1.0) * (1.0 + 0.5 * (i % 2 == 0 ? i : -i - 1)),
                   c = std::cos(angle), s = std::sin(angle);
      const Point centre{point.x + c * (clear + gap + 0.5 * size.x),
                         point.y - s * (clear + gap + 0.5 * size.y)};
      const Plate plate{centre, size.x, size.y};
      const Plate link = leader(plate, point, clear + 1.0);
      if (std::none_of(taken_.begin(), taken_.end(), [&](const Plate& t) { return overlap(link, t); }))
        consider(plate, 0.4 * gap + 0.2 * i);
    }
  const auto plate = settle();
  if (plate) taken_.push_back(leader(*plate, point, clear + 1.0));
  return plate;
}

}  // namespace circumfluence::appearance
