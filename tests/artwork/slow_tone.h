// The wanted share of a rectangle the slow and obvious way, to hold Tone against.
#pragma once

#include <algorithm>
#include <cmath>
#include <random>

#include "artwork/tone.h"

namespace circumfluence::artwork::slow {

inline Image noise(int width, int height, unsigned seed, bool transparent) {
  std::mt19937 random(seed);
  const auto level = [&] { return static_cast<std::uint16_t>(random()); };
  Image image{width, height, std::vector<std::uint16_t>(static_cast<std::size_t>(width) * height), {}};
  std::ranges::generate(image.tone, level);
  if (transparent) {
    image.opacity.resize(image.tone.size());
    std::ranges::generate(image.opacity, level);
  }
  return image;
}

inline double wanted(const Image& image, std::size_t pixel, Burns burns) {
  const double tone = image.tone[pixel] / 65535.0;
  const double opacity = image.opacity.empty() ? 1.0 : image.opacity[pixel] / 65535.0;
  return (burns == Burns::dark ? 1 - tone : tone) * opacity;
}

inline double overlap(double a, double b, double c, double d) {
  return std::max(0.0, std::min(b, d) - std::max(a, c));
}

// The mean over a rectangle the slow way: each pixel's centre is turned about the picture's middle, stretched
// to the extent, and its rectangle cut with the asked one.
inline double reference(const Image& image, const Placement& placement, const Extent& cell) {
  const Extent all = extent(placement, image);
  const double c = std::cos(placement.turn), s = std::sin(placement.turn);
  const double wide = std::abs(image.width * c) + std::abs(image.height * s);  // [px], once turned
  const double high = std::abs(image.width * s) + std::abs(image.height * c);
  const double pitch_axial = (all.axial_to - all.axial_from) / wide;
  const double pitch_around = (all.around_to - all.around_from) / high;
  double sum = 0;
  for (int y = 0; y < image.height; ++y)
    for (int x = 0; x < image.width; ++x) {
      const double right = x + 0.5 - image.width / 2.0, up = image.height / 2.0 - (y + 0.5);
      const double axial = (all.axial_from + all.axial_to) / 2 + (right * c - up * s) * pitch_axial;
      const double around = (all.around_from + all.around_to) / 2 + (right * s + up * c) * pitch_around;
      sum += wanted(image, static_cast<std::size_t>(y) * image.width + x, placement.burns) *
             overlap(axial - pitch_axial / 2, axial + pitch_axial / 2, cell.axial_from, cell.axial_to) *
             overlap(around - pitch_around / 2, around + pitch_around / 2, cell.around_from, cell.around_to);
    }
  return sum / ((cell.axial_to - cell.axial_from) * (cell.around_to - cell.around_from));
}

}  // namespace circumfluence::artwork::slow
