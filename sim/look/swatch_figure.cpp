// Rectangles and gaps as art.
#include <algorithm>
#include <cmath>
#include <vector>

#include "look/swatch.h"

namespace circumfluence::look {
namespace {

constexpr double kBesideInSpots = 3;

// [1] How much of each of `count` pixels lies within `width` [px] about their middle.
std::vector<double> covered(int count, double width) {
  std::vector<double> out;
  const double from = (count - width) / 2, to = (count + width) / 2;
  for (int i = 0; i < count; ++i)
    out.push_back(std::clamp(std::min(to, i + 1.0) - std::max(from, double(i)), 0.0, 1.0));
  return out;
}

// Pixels across the lines: so many whole lines that the middle lies on one, or between two.
int across(double width, const Swatches& swatches, bool between, int a_line) {
  const int lines =
      static_cast<int>(std::ceil((width + 2 * kBesideInSpots * swatches.spot()) / swatches.spacing()));
  return (lines + (lines % 2 == (between ? 1 : 0))) * a_line;
}

}  // namespace

Swatch burn(const Swatches& swatches, const Figure& figure) {
  const int a_line = std::max(1, static_cast<int>(std::ceil(swatches.spacing() / swatches.cell() - 1e-6)));
  const double pixel = swatches.spacing() / a_line;
  const auto along = [&](double length) {
    return static_cast<int>(std::ceil((length + 2 * kBesideInSpots * swatches.spot()) / pixel));
  };
  const bool axial = swatches.scene().job.scan.direction == motion::Direction::axial;
  const int columns = axial ? along(figure.axial) : across(figure.axial, swatches, figure.between, a_line);
  const int rows = axial ? across(figure.around, swatches, figure.between, a_line) : along(figure.around);
  const std::vector<double> wide = covered(columns, figure.axial / pixel),
                            high = covered(rows, figure.around / pixel);
  artwork::Image art{columns, rows, {}, {}};
  for (const double y : high)
    for (const double x : wide)
      art.tone.push_back(static_cast<std::uint16_t>(std::lround(65535 * (figure.gap ? x * y : 1 - x * y))));
  return swatches.burn(art, pixel, artwork::ToneUse::threshold);
}

FullArea full_area(const Swatches& swatches) {
  const double line = swatches.spacing();
  const int group = Swatches::kPhases * std::max(1, swatches.scene().job.scan.interleave);
  const int beside = static_cast<int>(std::ceil(2 * swatches.spot() / line));
  const int lines = group + 2 * beside,
            length = std::max(1, static_cast<int>(std::ceil(5 * swatches.spot() / line)));
  const bool axial = swatches.scene().job.scan.direction == motion::Direction::axial;
  const int columns = axial ? length : lines, rows = axial ? lines : length;
  const artwork::Image art{columns, rows, std::vector<std::uint16_t>(size_t(columns) * size_t(rows), 0), {}};
  const double across = group * line / 2, along = swatches.spot() / 2;
  const Pane pane = axial ? Pane{-along, along, -across, across} : Pane{-across, across, -along, along};
  return {swatches.burn(art, line, artwork::ToneUse::threshold), pane};
}

Contrast contrast(const Swatches& swatches, const Finish& finish) {
  const FullArea full = full_area(swatches);
  return contrast(finish.ground(), mean_shade(full.swatch, full.pane, finish));
}

double full_share(const Swatches& swatches) {
  const FullArea full = full_area(swatches);
  return marked_share(full.swatch, full.pane);
}

}  // namespace circumfluence::look
