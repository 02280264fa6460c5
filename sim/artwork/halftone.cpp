#include "artwork/halftone.h"

#include <fmt/format.h>
#include <sys/mman.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "artwork/tone.h"
#include "quantity/bands.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/lanes.h"
#include "quantity/unit.h"

namespace circumfluence::artwork {
namespace {

using quantity::JobError;

constexpr std::uint16_t kWhite = 65535;
constexpr int kStrip = 64;  // columns whose limits stand side by side

// Each quarter of the twice as large matrix is the smaller one, four places apart, and one place after the
// quarter across.
std::vector<std::uint16_t> bayer() {
  std::vector<std::uint16_t> out(size_t(kBayerSide * kBayerSide));
  for (int y = 0; y < kBayerSide; ++y)
    for (int x = 0; x < kBayerSide; ++x) {
      int rank = 0;
      for (int half = 1; half < kBayerSide; half *= 2) {  // the finest step counts most
        const int right = (x & half) != 0, low = (y & half) != 0;
        rank = 4 * rank + (right ^ low) * 2 + low;
      }
      out[size_t(y * kBayerSide + x)] = std::uint16_t(rank);
    }
  return out;
}

// Tones below which a dot is burnt, a row of kStrip for each row of the tile: share > (rank + 1/2) / n.
std::vector<std::uint16_t> limits(Screen screen) {
  const std::span<const std::uint16_t> rank = ranks(screen);
  const int side = screen == Screen::bayer ? kBayerSide : kBlueNoiseSide;
  std::vector<std::uint16_t> out;
  for (int y = 0; y < side; ++y)
    for (int x = 0; x < kStrip; ++x) {
      const size_t twice = 2 * size_t(rank[size_t(y * side + x % side)]) + 1;
      out.push_back(std::uint16_t(kWhite - kWhite * twice / (2 * rank.size())));
    }
  return out;
}

CIRCUMFLUENCE_LANES
void compare_row(const std::uint16_t* __restrict tone, const std::uint16_t* __restrict limit, int width,
                 std::uint16_t* __restrict out) {
  int x = 0;
  for (; x + kStrip <= width; x += kStrip)
    for (int i = 0; i < kStrip; ++i) out[x + i] = tone[x + i] < limit[i] ? std::uint16_t(0) : kWhite;
  for (int i = 0; x + i < width; ++i) out[x + i] = tone[x + i] < limit[i] ? std::uint16_t(0) : kWhite;
}

void compare(const Image& asked, Screen screen, Image& dots) {
  const std::vector<std::uint16_t> limit = limits(screen);
  const size_t side = limit.size() / kStrip, width = size_t(asked.width);
  const int threads = asked.tone.size() < 1'000'000 ? 1 : 0;
  quantity::for_bands({.count = asked.height, .band = 64, .threads = threads}, [&](int first, int last, int) {
    for (size_t row = size_t(first); row < size_t(last); ++row)
      compare_row(&asked.tone[row * width], &limit[row % side * kStrip], asked.width,
                  &dots.tone[row * width]);
  });
}

// Room for a large picture on huge pages, where there are any: to touch small ones first takes longer than to
// fill them.
Image blank(int width, int height) {
  constexpr std::uintptr_t kHuge = std::uintptr_t(2) << 20;
  Image out{width, height, {}, {}};
  out.tone.reserve(size_t(width) * size_t(height));
  const auto begin = (reinterpret_cast<std::uintptr_t>(out.tone.data()) + kHuge - 1) / kHuge * kHuge;
  const auto end = reinterpret_cast<std::uintptr_t>(out.tone.data() + out.tone.capacity()) / kHuge * kHuge;
  if (begin < end) madvise(reinterpret_cast<void*>(begin), end - begin, MADV_HUGEPAGE);
  out.tone.resize(size_t(width) * size_t(height));
  return out;
}

void check(const Image& asked) {
  if (asked.width < 1 || asked.height < 1 || asked.tone.size() != size_t(asked.width) * size_t(asked.height))
    throw quantity::ValidityError(
        fmt::format("halftone: {} tones of {} x {} dots (expected one a dot, and a dot at least)",
                    asked.tone.size(), asked.width, asked.height));
  if (!asked.opacity.empty())
    throw quantity::ValidityError("halftone: the picture is partly transparent (expected an opaque one)");
}

// Along the width and along the height of the picture as it is stored.
struct Sides {
  double wide, high;
};

int whole_dots(double size, double dot) {
  return static_cast<int>(std::floor(size / dot + 1e-6));
}

void check_dots(const Sides& sides, double dot) {
  using quantity::format;
  if (!(dot > 0) || !std::isfinite(dot))
    throw JobError(
        fmt::format("artwork.dot = {} (from dot to dot; expected more than 0 mm)", format(dot, "mm")));
  const double least = std::min(sides.wide, sides.high);
  if (dot > least * (1 + 1e-6))
    throw JobError(fmt::format("artwork.dot = {} (larger than the art; expected at most {}, its lesser side)",
                               format(dot, "mm"), format(least, "mm")));
  const double wide = sides.wide / dot, high = sides.high / dot;
  if (std::max(wide, high) >= kMostPixelsASide || wide * high >= double(kMostPixels))
    throw JobError(
        fmt::format("artwork.dot = {} (makes {:.3g} dots; expected at most {} million, {} a side). "
                    "Use larger dots",
                    format(dot, "mm"), wide * high, kMostPixels / 1'000'000, kMostPixelsASide));
}

// The share that each dot of a grid about the picture's centre asks for, black for all.
Image asked_of(const Image& image, Burns burns, const Sides& sides, double dot) {
  const int columns = whole_dots(sides.wide, dot), rows = whole_dots(sides.high, dot);
  Image out = blank(columns, rows);
  std::vector<double> edges;
  for (int i = 0; i <= columns; ++i) edges.push_back((i - columns / 2.0) * dot);
  const Placement flat{.size_axial = sides.wide, .size_around = sides.high, .axial = 0, .burns = burns};
  const Tone tone(image, flat, Along::axial, edges);
  quantity::for_bands({.count = rows, .threads = out.tone.size() < 100'000 ? 1 : 0},
                      [&](int first, int last, int) {
                        Tone::Scratch scratch;
                        std::vector<float> share(size_t(columns), 0.0f);
                        for (int row = first; row < last; ++row) {
                          const double to = (rows / 2.0 - row) * dot;
                          tone.row(to - dot, to, share, scratch);
                          std::ranges::transform(share, out.tone.begin() + long(row) * columns, [](float s) {
                            return std::uint16_t(std::lround(65535 * std::clamp(1 - double(s), 0.0, 1.0)));
                          });
                        }
                      });
  return out;
}

}  // namespace

std::span<const std::uint16_t> ranks(Screen screen) {
  static const std::vector<std::uint16_t> recursive = bayer();
  if (screen == Screen::bayer) return recursive;
  if (screen != Screen::blue_noise) return {};
  static const std::vector<std::uint16_t> blue = void_and_cluster();
  return blue;
}

Image halftone(const Image& asked, Screen screen) {
  check(asked);
  Image dots = blank(asked.width, asked.height);
  if (screen == Screen::bayer || screen == Screen::blue_noise)
    compare(asked, screen, dots);
  else
    diffuse(asked, screen, dots);
  return dots;
}

Screened screened(const Image& image, const Placement& placement, double dot) {
  const Extent place = extent(placement, image);
  Sides sides{place.axial_to - place.axial_from, place.around_to - place.around_from};
  const bool quarter = std::lround(placement.turn / (quantity::kPi / 2)) % 2 != 0;
  if (quarter) std::swap(sides.wide, sides.high);
  check_dots(sides, dot);
  Screened out{halftone(asked_of(image, placement.burns, sides, dot), placement.screen), placement};
  if (placement.burns == Burns::light)
    for (std::uint16_t& tone : out.image.tone) tone = std::uint16_t(kWhite - tone);
  const int along = quarter ? out.image.height : out.image.width,
            across = quarter ? out.image.width : out.image.height;
  out.placement.size_axial = along * dot;
  out.placement.size_around = across * dot;
  out.placement.threshold = 0.5;
  out.placement.tone = ToneUse::threshold;
  out.placement.dot = dot;
  return out;
}

}  // namespace circumfluence::artwork
