#include "artwork/warp.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "artwork/tone.h"
#include "quantity/bands.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using Maybe = std::optional<PicturePoint>;

constexpr double kStraight = 1.0 / 16;  // [px] of the source
constexpr double kNoise = 1e-9;         // [px] of rounding
constexpr int kPlaces = 16;             // a side
constexpr std::uint16_t kWhite = 65535;

struct Corners {
  const Maybe &top_left, &top_right, &low_left, &low_right;
  bool all() const { return top_left && top_right && low_left && low_right; }
  bool none() const { return !top_left && !top_right && !low_left && !low_right; }
};

// Four corners, and one more for each of the four lines that a pixel clips them with.
struct Polygon {
  std::array<PicturePoint, 8> points;
  int count = 0;

  void add(const PicturePoint& p) { points[size_t(count++)] = p; }
  double area() const {  // [px^2]
    double twice = 0;
    for (int i = 0; i < count; ++i) {
      const PicturePoint &p = points[size_t(i)], &q = points[size_t(i + 1 < count ? i + 1 : 0)];
      twice += p.column * q.row - q.column * p.row;
    }
    return std::abs(twice) / 2;
  }
};

enum class Keep { more, less };

// What of it lies beyond `edge` [px] in the coordinate `axis`. Assumes it is convex.
template <double PicturePoint::*axis>
Polygon clipped(const Polygon& p, double edge, Keep keep) {
  const double sign = keep == Keep::more ? 1 : -1;
  Polygon out;
  for (int i = 0; i < p.count; ++i) {
    const PicturePoint &a = p.points[size_t(i)], &b = p.points[size_t(i + 1 < p.count ? i + 1 : 0)];
    const double in = sign * (a.*axis - edge), next = sign * (b.*axis - edge);
    if (in >= 0) out.add(a);
    if (out.count < 8 && ((in > 0 && next < 0) || (in < 0 && next > 0))) {
      const double t = in / (in - next);
      out.add({a.column + t * (b.column - a.column), a.row + t * (b.row - a.row)});
    }
    if (out.count == 8) break;
  }
  return out;
}

// The source's pixels that a polygon may touch, [first, last) in each direction.
struct Box {
  int left, right, top, bottom;
};

template <double PicturePoint::*axis>
std::pair<int, int> reach(const Polygon& p, int most) {
  double from = p.points[0].*axis, to = from;
  for (int i = 1; i < p.count; ++i) {
    from = std::min(from, p.points[size_t(i)].*axis);
    to = std::max(to, p.points[size_t(i)].*axis);
  }
  return {static_cast<int>(std::clamp(std::floor(from + kNoise), 0.0, double(most))),
          static_cast<int>(std::clamp(std::ceil(to - kNoise), 0.0, double(most)))};
}

bool inside(const Polygon& p, const Image& source) {
  return std::all_of(p.points.begin(), p.points.begin() + p.count, [&](const PicturePoint& at) {
    return at.column > -kNoise && at.column < source.width + kNoise && at.row > -kNoise &&
           at.row < source.height + kNoise;
  });
}

class Warping {
 public:
  Warping(const Image& source, const Mapping& mapping) : source_(source), mapping_(mapping) {}

  // Row `row` of the canvas; `top` and `low` are the mapped corners above and below, width + 1 of them.
  void row(int row, const std::vector<Maybe>& top, const std::vector<Maybe>& low, std::uint16_t* out) const {
    for (size_t i = 0; i + 1 < top.size(); ++i)
      out[i] = pixel({double(i), double(row)}, {top[i], top[i + 1], low[i], low[i + 1]});
  }
  void corners(int row, std::vector<Maybe>& out) const {
    for (size_t i = 0; i < out.size(); ++i) out[i] = mapping_({double(i), double(row)});
  }

 private:
  std::uint16_t pixel(const PicturePoint& from, const Corners& corners) const {
    const Maybe middle = mapping_({from.column + 0.5, from.row + 0.5});
    if (!middle && corners.none()) return kWhite;
    if (middle && corners.all()) {
      const PicturePoint &a = *corners.top_left, &b = *corners.top_right, &c = *corners.low_right,
                         &d = *corners.low_left;
      const double column = (a.column + b.column + c.column + d.column) / 4,
                   row = (a.row + b.row + c.row + d.row) / 4;
      if (std::hypot(middle->column - column, middle->row - row) <= kStraight) return mean({{a, b, c, d}, 4});
    }
    return sampled(from);
  }

  std::uint16_t mean(const Polygon& patch) const {
    const auto [left, right] = reach<&PicturePoint::column>(patch, source_.width);
    const auto [top, bottom] = reach<&PicturePoint::row>(patch, source_.height);
    if (left >= right || top >= bottom) return kWhite;
    const Box box{left, right, top, bottom};
    if (inside(patch, source_) && even(box)) return tone(left, top);
    const double whole = patch.area();
    if (!(whole > 0)) return kWhite;  // the mapping makes a line of it
    double blank = whole, sum = 0;
    for (int row = top; row < bottom; ++row) {
      const Polygon strip = clipped<&PicturePoint::row>(clipped<&PicturePoint::row>(patch, row, Keep::more),
                                                        row + 1, Keep::less);
      for (int column = left; column < right && strip.count > 2; ++column) {
        const double area =
            clipped<&PicturePoint::column>(clipped<&PicturePoint::column>(strip, column, Keep::more),
                                           column + 1, Keep::less)
                .area();
        blank -= area;
        sum += area * tone(column, row);
      }
    }
    return rounded((sum + std::max(0.0, blank) * kWhite) / whole);
  }

  std::uint16_t sampled(const PicturePoint& from) const {
    double sum = 0;
    for (int j = 0; j < kPlaces; ++j)
      for (int i = 0; i < kPlaces; ++i) {
        const Maybe at = mapping_({from.column + (i + 0.5) / kPlaces, from.row + (j + 0.5) / kPlaces});
        const bool on =
            at && at->column >= 0 && at->column < source_.width && at->row >= 0 && at->row < source_.height;
        sum += on ? tone(int(at->column), int(at->row)) : kWhite;
      }
    return rounded(sum / (kPlaces * kPlaces));
  }

  std::uint16_t tone(int column, int row) const {
    return source_.tone[size_t(row) * size_t(source_.width) + size_t(column)];
  }
  static std::uint16_t rounded(double tone) {
    return static_cast<std::uint16_t>(std::lround(std::min(tone, double(kWhite))));
  }
  // One tone throughout.
  bool even(const Box& box) const {
    const std::uint16_t first = tone(box.left, box.top);
    for (int row = box.top; row < box.bottom; ++row)
      for (int column = box.left; column < box.right; ++column)
        if (tone(column, row) != first) return false;
    return true;
  }

  const Image& source_;
  const Mapping& mapping_;
};

void check(const Image& source, const Canvas& canvas) {
  if (!source.opacity.empty())
    throw quantity::ValidityError(
        "warped picture: the source is partly transparent (expected an opaque one)");
  if (canvas.width < 1 || canvas.height < 1 || canvas.width > kMostPixelsASide ||
      canvas.height > kMostPixelsASide || long(canvas.width) * canvas.height > kMostPixels)
    throw quantity::ValidityError(
        fmt::format("warped picture: size = {} x {} (expected 1 to {} a side and at most {} million in all)",
                    canvas.width, canvas.height, kMostPixelsASide, kMostPixels / 1'000'000));
}

}  // namespace

Image warped(const Image& source, const Canvas& canvas, const Mapping& source_from_canvas, int threads) {
  check(source, canvas);
  Image out{canvas.width,
            canvas.height,
            std::vector<std::uint16_t>(size_t(canvas.width) * size_t(canvas.height)),
            {}};
  const Warping warping(source, source_from_canvas);
  quantity::for_bands({.count = canvas.height, .threads = threads}, [&](int first, int last, int) {
    std::vector<Maybe> top(size_t(canvas.width) + 1), low(top.size());
    warping.corners(first, top);
    for (int row = first; row < last; ++row) {
      warping.corners(row + 1, low);
      warping.row(row, top, low, &out.tone[size_t(row) * size_t(canvas.width)]);
      std::swap(top, low);
    }
  });
  return out;
}

Image upright(const Image& image, const Placement& placement, double finest) {
  const Extent place = extent(placement, image);
  const bool quarter = std::lround(placement.turn / (quantity::kPi / 2)) % 2 != 0;
  const auto pixels = [finest](double size, int own) {
    return std::clamp(static_cast<int>(std::ceil(size / finest - 1e-6)), 1, own);
  };
  const double along = place.axial_to - place.axial_from, across = place.around_to - place.around_from;
  Image out{pixels(along, quarter ? image.height : image.width),
            pixels(across, quarter ? image.width : image.height),
            {},
            {}};
  out.tone.resize(size_t(out.width) * size_t(out.height));
  std::vector<double> edges;
  for (int i = 0; i <= out.width; ++i) edges.push_back(place.axial_from + along * i / out.width);
  const Tone tone(image, placement, Along::axial, edges);
  Tone::Scratch scratch;
  std::vector<float> share(size_t(out.width));
  for (int row = 0; row < out.height; ++row) {
    const double to = place.around_to - across * row / out.height,
                 from = place.around_to - across * (row + 1) / out.height;
    tone.row(from, to, share, scratch);
    std::ranges::transform(share, out.tone.begin() + long(row) * out.width,
                           [](float s) { return std::uint16_t(std::lround(65535 * (1 - double(s)))); });
  }
  return out;
}

Image turned_over(Image image, bool columns, bool rows) {
  const auto turn = [&](std::vector<std::uint16_t>& plane) {
    if (plane.empty()) return;
    const auto row = [&](int i) { return plane.begin() + long(i) * image.width; };
    if (columns)
      for (int i = 0; i < image.height; ++i) std::reverse(row(i), row(i + 1));
    if (rows)
      for (int i = 0; i < image.height / 2; ++i)
        std::swap_ranges(row(i), row(i + 1), row(image.height - 1 - i));
  };
  turn(image.tone);
  turn(image.opacity);
  return image;
}

Image inverted(Image image) {
  for (std::uint16_t& tone : image.tone) tone = std::uint16_t(65535 - tone);
  return image;
}

}  // namespace circumfluence::artwork
