// Which four of the squares in a picture are the coupon's corner marks.
//
// A square with a blank middle is tried as the mark at the lower left, each way up. Its own sides point to
// where the marks at the lower right and the upper left should be, roughly, since perspective bends that;
// those three then say where the fourth must be. Four are taken when one homography puts the corners of all
// where they are seen.
#include <algorithm>
#include <cmath>
#include <optional>

#include "calibration/photo.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

constexpr double kHollow = 0.1;     // [1] more than the other three have
constexpr size_t kMostNear = 24;    // neighbours tried in a direction
constexpr size_t kMostStarts = 60;  // squares with a blank middle

using Corners = std::array<Spot, 4>;

Spot middle_of(const Corners& c) {
  return {(c[0][0] + c[1][0] + c[2][0] + c[3][0]) / 4, (c[0][1] + c[1][1] + c[2][1] + c[3][1]) / 4};
}

// Mean side from the corners `a` to the corners `b`.
Spot side_of(const Corners& c, bool across) {
  const int b = across ? 1 : 3, d = across ? 3 : 1;
  return {(c[size_t(b)][0] - c[0][0] + c[2][0] - c[size_t(d)][0]) / 2,
          (c[size_t(b)][1] - c[0][1] + c[2][1] - c[size_t(d)][1]) / 2};
}

Corners turned(const Square& square, int turn, bool mirrored) {
  Corners out;
  for (int i = 0; i < 4; ++i) out[size_t(i)] = square.corners[size_t((turn + (mirrored ? 4 - i : i)) % 4)];
  return out;
}

Corners aligned(const Square& square, Spot across, bool mirrored) {
  int best = 0;
  double most = -1e300;
  for (int turn = 0; turn < 4; ++turn) {
    const Spot side = side_of(turned(square, turn, mirrored), true);
    const double along = side[0] * across[0] + side[1] * across[1];
    if (along > most) most = along, best = turn;
  }
  return turned(square, best, mirrored);
}

struct Found {
  Sighting sighting;
  double misfit = 1e300;  // [1] of a mark's side
};

class Search {
 public:
  Search(const std::vector<Square>& squares, const Coupon& coupon, const Sighting& sighting)
      : squares_(squares), coupon_(coupon), sighting_(sighting) {}

  std::optional<Found> best(bool mirrored) const {
    std::optional<Found> out;
    for (const size_t start : starts())
      for (int turn = 0; turn < 4; ++turn)
        from(start, turned(squares_[start], turn, mirrored), mirrored, out);
    return out;
  }
  bool has_hollow() const { return !starts().empty(); }

 private:
  std::vector<size_t> starts() const {
    std::vector<size_t> out;
    for (size_t i = 0; i < squares_.size(); ++i)
      if (squares_[i].hollow > kHollow && squares_[i].hollow < 1.6) out.push_back(i);
    std::ranges::sort(out, std::greater(), [&](size_t i) { return std::min(squares_[i].hollow, 1.0); });
    if (out.size() > kMostStarts) out.resize(kMostStarts);
    return out;
  }

  // How many of its own sides away the next mark is.
  double sides(bool across) const {
    const double c = coupon_.corner;
    if (across) return coupon_.width / c - 1;
    const double h = coupon_.height;
    return (sighting_.above(h - c / 2) - sighting_.above(c / 2)) / (sighting_.above(c) - sighting_.above(0));
  }

  std::vector<size_t> near(size_t start, Spot middle, Spot side, double count) const {
    const double length = std::hypot(side[0], side[1]);
    std::vector<std::pair<double, size_t>> out;
    for (size_t i = 0; i < squares_.size(); ++i) {
      const Square& s = squares_[i];
      if (i == start || s.lighter != squares_[start].lighter || s.hollow > squares_[start].hollow - kHollow)
        continue;
      if (s.side < 0.4 * squares_[start].side || s.side > 2.5 * squares_[start].side) continue;
      const Spot m = middle_of(s.corners);
      const double x = m[0] - middle[0], y = m[1] - middle[1], away = std::hypot(x, y);
      if (away < 0.4 * count * length || away > 2.5 * count * length) continue;
      const double angle = std::acos(std::clamp((x * side[0] + y * side[1]) / (away * length), -1.0, 1.0));
      if (angle < 0.22 + 3 / length) out.push_back({angle, i});
    }
    std::ranges::sort(out);
    if (out.size() > kMostNear) out.resize(kMostNear);
    std::vector<size_t> which;
    for (const auto& [angle, i] : out) which.push_back(i);
    return which;
  }

  void add(std::vector<Match>& matches, int mark, const Corners& corners) const {
    for (int i = 0; i < 4; ++i) matches.push_back({mark_corner(coupon_, mark, i), corners[size_t(i)]});
  }

  double misfit(const std::vector<Match>& matches, const Sighting& sighting, double side) const {
    double sum = 0;
    for (const Match& m : matches) {
      const Spot p = sighting.pixel(m.place[0], m.place[1]);
      sum += std::hypot(p[0] - m.pixel[0], p[1] - m.pixel[1]);
    }
    return sum / double(matches.size()) / side;
  }

  void from(size_t start, const Corners& lower_left, bool mirrored, std::optional<Found>& out) const {
    const Spot middle = middle_of(lower_left), across = side_of(lower_left, true),
               up = side_of(lower_left, false);
    const auto rights = near(start, middle, across, sides(true));
    if (rights.empty()) return;
    const auto uppers = near(start, middle, up, sides(false));
    for (const size_t right : rights)
      for (const size_t upper : uppers) {
        if (right == upper) continue;
        std::vector<Match> matches;
        add(matches, 0, lower_left);
        add(matches, 1, aligned(squares_[right], across, mirrored));
        add(matches, 3, aligned(squares_[upper], across, mirrored));
        finish(matches, {start, right, upper}, mirrored, out);
      }
  }

  // `three`: lower left, lower right, upper left.
  void finish(std::vector<Match>& matches, const std::array<size_t, 3>& three, bool mirrored,
              std::optional<Found>& out) const {
    const double side = (squares_[three[0]].side + squares_[three[1]].side + squares_[three[2]].side) / 3;
    const double allowed = 0.06 + 2.5 / side;
    const Sighting rough = fit_sighting(matches, sighting_);
    if (!(misfit(matches, rough, side) < allowed)) return;
    const double c = coupon_.corner / 2;
    const Spot expected = rough.pixel(coupon_.width - c, coupon_.height - c);
    const Spot across = {matches[5].pixel[0] - matches[0].pixel[0],
                         matches[5].pixel[1] - matches[0].pixel[1]};
    const Square& start = squares_[three[0]];
    for (size_t i = 0; i < squares_.size(); ++i) {
      const Square& s = squares_[i];
      const Spot m = middle_of(s.corners);
      if (std::hypot(m[0] - expected[0], m[1] - expected[1]) > 1.5 * side || s.lighter != start.lighter ||
          s.hollow > start.hollow - kHollow || i == three[0] || i == three[1] || i == three[2])
        continue;
      std::vector<Match> all = matches;
      add(all, 2, aligned(s, across, mirrored));
      const Sighting sighting = fit_sighting(all, sighting_);
      const double error = misfit(all, sighting, side);
      if (error < allowed && (!out || error < out->misfit)) out = Found{sighting, error};
    }
  }

  const std::vector<Square>& squares_;
  const Coupon& coupon_;
  const Sighting& sighting_;
};

bool fits(const Photo& photo, const Coupon& coupon, const Sighting& sighting) {
  try {
    refine(photo, coupon, sighting);
    return true;
  } catch (const quantity::JobError&) {
    return false;
  }
}

}  // namespace

Sighting find_coupon(const Photo& photo, const Coupon& coupon, double radius) {
  Sighting sighting{.radius = radius, .middle = coupon.height / 2};
  bool hollow = false;
  std::optional<quantity::JobError> near_miss;
  const int whole = std::max(photo.width, photo.height);
  for (const int longest : {1200, 2400, 4800}) {
    for (const int channel : {-1, 0, 2}) {
      const std::vector<Square> squares = find_squares(photo, longest, channel);
      const Search search(squares, coupon, sighting);
      const auto found = search.best(false), mirrored = search.best(true);
      hollow |= search.has_hollow();
      if (mirrored && (!found || mirrored->misfit < 0.4 * found->misfit) &&
          fits(photo, coupon, mirrored->sighting))
        throw quantity::JobError(photo.name +
                                 ": the picture is mirrored (the corner mark with the blank middle is at the "
                                 "wrong end; expected it at the lower left). Mirror it back");
      if (!found) continue;
      try {
        return refine(photo, coupon, found->sighting);
      } catch (const quantity::JobError& error) {  // of something else that lies nearly so, or not all there
        if (!near_miss) near_miss = error;
      }
    }
    if (longest >= whole) break;
  }
  throw quantity::JobError(
      photo.name + (hollow ? ": the four corner marks are not found (some squares are, but none that lie as "
                             "on this coupon). Is it a "
                             "picture of this coupon, all of it, sharp and without glare on its corners?"
                           : ": the corner marks are not found (no square with a blank middle; expected one "
                             "at the coupon's lower "
                             "left). Take the picture so that all of the coupon is in it, sharp and without "
                             "glare on its corners"));
}

}  // namespace circumfluence::calibration
