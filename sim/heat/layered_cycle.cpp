// What a point goes through while the spot passes.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "heat/layered_spot.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

constexpr double kGrowth = 0.25;  // of distances from the peak, samples being even in asinh of it
constexpr double kFlat = 4e-4;    // of the peak: where straight lines miss by more, another sample is taken

struct Mark {
  double x, rise;
};

// Puts samples between a and b (rise given at any x by `at`) until straight lines will do; b is not added.
template <class Rise>
void refine(const Mark& a, const Mark& b, double miss, const Rise& at, std::vector<Mark>& out) {
  const double x = 0.5 * (a.x + b.x);
  const Mark middle{x, at(x)};
  const bool straight = std::abs(middle.rise - 0.5 * (a.rise + b.rise)) < miss;
  if (straight || std::abs(b.x - a.x) < 1e-9 * (std::abs(a.x) + std::abs(b.x))) {
    out.push_back(a);
    return;
  }
  refine(a, middle, miss, at, out);
  refine(middle, b, miss, at, out);
}

// Away from the peak to one side (+1 ahead of the spot, -1 behind), until the rise has come down to `low`.
template <class Rise>
std::vector<Mark> away(const Mark& peak, double scale, double side, double low, const Rise& at) {
  std::vector<Mark> marks{peak};
  for (int i = 1; marks.back().rise > low && kGrowth * i < 10; ++i) {
    const double x = peak.x + side * scale * std::sinh(kGrowth * i);
    marks.push_back({x, at(x)});
  }
  return marks;
}

}  // namespace

LayeredSpot::Slopes LayeredSpot::Line::at(double x) const {
  std::vector<double> real(k.size()), imaginary(k.size());
  for (size_t i = 0; i < k.size(); ++i) {
    real[i] = -k[i].imag() * x;
    imaginary[i] = k[i].real() * x;
  }
  exponentials(real.data(), imaginary.data(), int(k.size()));
  std::complex<double> value = 0, slope = 0, bend = 0;
  for (size_t i = 0; i < k.size(); ++i) {
    const std::complex<double> term = amplitude[i] * std::complex(real[i], imaginary[i]);
    const std::complex<double> turn(-k[i].imag(), k[i].real());  // i k
    value += term;
    slope += turn * term;
    bend += turn * turn * term;
  }
  return {value.real(), slope.real(), bend.real()};
}

LayeredSpot::Line LayeredSpot::along(const Waves& waves, double y) {
  const int rows = int(waves.along.size()), columns = int(waves.across.size());
  std::vector<double> cosine(waves.across.size()), sums(2 * waves.along.size());
  for (size_t i = 0; i < cosine.size(); ++i) cosine[i] = std::cos(waves.across[i] * y);
  multiply(waves.share.data(), cosine.data(), sums.data(), {2 * rows, columns, 1});
  Line line{waves.along, {}};
  for (int i = 0; i < rows; ++i) line.amplitude.emplace_back(sums[i], sums[rows + i]);
  return line;
}

std::vector<LayeredSpot::Sample> LayeredSpot::cycle(double y, double least) const {
  if (spot_.speed == 0)
    throw quantity::ValidityError("heat: speed = 0 (a spot at rest does not pass; expected more than 0)");
  if (!(least > 0 && least < 1))
    throw quantity::ValidityError(
        fmt::format("heat: least = {:g} (a part of the peak; expected 0 to 1)", least));
  const Peak top = peak(y);
  const double wide = std::abs(y), distance = 2000 * far_.reach.x;
  const Line behind = along(waves({distance, wide, -1}), y), ahead = along(waves({far_.reach.x, wide, 1}), y);
  const Line beneath = orders_.along != 2 ? along(waves({far_.reach.x, wide, 0}), y) : Line{};
  const auto at = [&](double x) { return (under(x) ? beneath : x > 0 ? ahead : behind).at(x).value; };
  const Slopes crest = (under(top.x) ? beneath : behind).at(top.x);
  const double scale = std::sqrt(top.rise / std::max(-crest.bend, 1e-300));
  const Mark summit{top.x, top.rise};
  const double low = least * top.rise, miss = kFlat * top.rise;
  std::vector<Mark> marks = away(summit, scale, 1, low, at), after = away(summit, scale, -1, low, at), fine;
  std::reverse(marks.begin(), marks.end());
  marks.insert(marks.end(), after.begin() + 1, after.end());
  for (size_t i = 0; i + 1 < marks.size(); ++i) refine(marks[i], marks[i + 1], miss, at, fine);
  fine.push_back(marks.back());
  std::vector<Sample> samples;
  for (const Mark& mark : fine) samples.push_back({-mark.x / spot_.speed, mark.rise});
  return samples;
}

}  // namespace circumfluence::heat
