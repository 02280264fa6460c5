// The peak beside the line: where along x the rise is highest, for many y at once.
#include <algorithm>
#include <array>
#include <cmath>

#include "heat/layered_spot.h"
#include "heat/spot_table.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

constexpr double kGrowth = 1.22;  // of the spacing of the x looked at, from one to the next

// From 0 back to `last`, closest under the spot.
std::vector<double> places(double radius, double last) {
  std::vector<double> x{0};
  for (double grown = kGrowth; x.back() > -last; grown *= kGrowth) x.push_back(-0.25 * radius * (grown - 1));
  return x;
}

// Evenly spaced in asinh(y / (1.5 radii)): a tenth of a radius near the line.
constexpr int kLines = 48;
constexpr double kBend = 1.5;
const double kEvery = std::asinh(8.05 / kBend) / (kLines - 2);

// The highest point of the cubic through two values with their slopes, a step h from a to b.
struct End {
  double value, slope;
};
Peak highest(const End& a, const End& b, double h) {
  const double c3 = 2 * (a.value - b.value) + h * (a.slope + b.slope);
  const double c2 = 3 * (b.value - a.value) - h * (2 * a.slope + b.slope), c1 = h * a.slope;
  const double root = std::sqrt(std::max(0.0, c2 * c2 - 3 * c3 * c1));
  const double s = std::clamp(c1 / (-c2 + root), 0.0, 1.0);  // the root where the slope turns from + to -
  return {((c3 * s + c2) * s + c1) * s + a.value, s * h};
}

// [place][line] rise, then its slope along x.
struct Rises {
  std::vector<double> table;
  size_t places, lines;
  End at(size_t place, size_t line) const {
    return {table[place * lines + line], table[(places + place) * lines + line]};
  }
};

Peak highest(const std::vector<double>& x, const Rises& rises, size_t line) {
  Peak best{rises.at(0, line).value, 0};
  for (size_t m = 1; m < x.size(); ++m) {
    const End a = rises.at(m, line), b = rises.at(m - 1, line);
    if (a.value > best.rise) best = {a.value, x[m]};
    if (!(a.slope > 0 && b.slope < 0)) continue;
    const Peak between = highest(a, b, x[m - 1] - x[m]);
    if (between.rise > best.rise) best = {between.rise, x[m] + between.x};
  }
  return best;
}

}  // namespace

// Rises and slopes at every place and line: both transforms as products of tables, [x][k] [k][ky] [ky][y].
void LayeredSpot::lay(const Waves& waves, std::span<const double> x, std::span<const double> y, double* out) {
  const int rows = int(waves.along.size()), columns = int(waves.across.size());
  const int places = int(x.size()), lines = int(y.size());
  std::vector<double> angle, amplitude(size_t(2) * rows * lines);
  for (const double k : waves.across)
    for (const double at : y) angle.push_back(k * at);
  std::vector<double> real(angle.size()), imaginary;
  exponentials(real.data(), angle.data(), int(real.size()));
  multiply(waves.share.data(), real.data(), amplitude.data(), {2 * rows, columns, lines});
  real.clear();
  for (const double at : x)
    for (const std::complex<double>& k : waves.along) {
      real.push_back(-k.imag() * at);
      imaginary.push_back(k.real() * at);
    }
  exponentials(real.data(), imaginary.data(), int(real.size()));
  std::vector<double> phase(size_t(4) * places * rows);
  for (int m = 0; m < places; ++m) {
    double *value = &phase[size_t(2) * m * rows], *slope = &phase[size_t(2) * (places + m) * rows];
    for (int j = 0; j < rows; ++j) {
      const std::complex<double> e(real[size_t(m) * rows + j], imaginary[size_t(m) * rows + j]);
      const std::complex<double> turned = std::complex(-waves.along[j].imag(), waves.along[j].real()) * e;
      value[j] = e.real();
      value[rows + j] = -e.imag();
      slope[j] = turned.real();
      slope[rows + j] = -turned.imag();
    }
  }
  multiply(phase.data(), amplitude.data(), out, {2 * places, 2 * rows, lines});
}

std::vector<Peak> LayeredSpot::peaks(std::span<const double> y) const {
  std::vector<double> x{0};
  if (spot_.speed > 0) x = places(spot_.along, far_.reach.x);
  const size_t close = std::count_if(x.begin(), x.end(), [&](double at) { return under(at); });
  Rises rises{std::vector<double>(2 * x.size() * y.size()), x.size(), y.size()};
  for (const bool beneath : {true, false}) {
    const std::span<const double> part = beneath ? std::span(x).first(close) : std::span(x).subspan(close);
    if (part.empty()) continue;
    std::vector<double> out(2 * part.size() * y.size());
    lay(beneath ? near_ : far_, part, y, out.data());
    const size_t half = out.size() / 2, from = beneath ? 0 : close * y.size();
    std::copy_n(out.begin(), half, rises.table.begin() + from);
    std::copy_n(out.begin() + half, half, rises.table.begin() + x.size() * y.size() + from);
  }
  std::vector<Peak> peaks;
  for (size_t i = 0; i < y.size(); ++i) peaks.push_back(highest(x, rises, i));
  return peaks;
}

Peak LayeredSpot::peak(double y) const {
  if (!std::isfinite(y))
    throw quantity::ValidityError("heat: a point beside the line is not a number (expected a distance)");
  const double far = std::abs(y);
  if (far > far_.reach.y) {
    LayeredSpot wider = *this;
    wider.reach(1.01 * far);
    return wider.peak(y);
  }
  Peak best = peaks({&far, 1})[0];
  if (spot_.speed == 0 || best.x == 0) return best;
  const Line line = along(under(best.x) ? near_ : far_, far);
  for (int turn = 0; turn < 3; ++turn) {  // Newton's steps on the slope
    const Slopes here = line.at(best.x);
    const double step = here.bend < 0 ? -here.slope / here.bend : 0.0;
    if (here.value < best.rise * 0.999 || best.x + step > 0 || std::abs(step) > -0.3 * best.x) break;
    best = {here.value + 0.5 * here.slope * step, best.x + step};
  }
  return best;
}

namespace {

// Where the peak passes from the skirt of the spot to what arrives later, x leaps and the profile has a kink.
bool kink(const Peak& inner, const Peak& outer, double radius) {
  return inner.x - outer.x > std::max(0.4 * std::abs(outer.x), 0.1 * radius);
}

}  // namespace

void LayeredSpot::profile(std::span<float> out) const {
  constexpr int kNodes = SpotTable::kNodes;
  if (out.size() != size_t(kNodes))
    throw quantity::ValidityError(
        "heat: a profile has SpotTable::kNodes nodes (expected a span of that size)");
  const double every = spot_.across / SpotTable::kStepsPerRadius;
  std::array<double, kLines> y;
  for (int i = 0; i < kLines; ++i) y[i] = spot_.across * kBend * std::sinh(i * kEvery);
  const std::vector<Peak> peaks = this->peaks(y);
  std::vector<double> kinked;  // y of the nodes near a kink, which no cubic would follow
  for (int n = 0; n < kNodes; ++n) {
    const double place = std::asinh(n * every / (spot_.across * kBend)) / kEvery;
    const int i = std::min(static_cast<int>(place), kLines - 3);
    const Peak *a = &peaks[std::abs(i - 1)], *b = &peaks[i], *c = b + 1, *d = b + 2;
    const double r = spot_.along, s = place - i;
    if (kink(*b, *c, r) || kink(*c, *d, r) || (i > 0 && kink(*a, *b, r))) kinked.push_back(n * every);
    // The cubic through the four nearest lines; the profile is even.
    out[n] =
        static_cast<float>(-s * (s - 1) * (s - 2) / 6 * a->rise + (s + 1) * (s - 1) * (s - 2) / 2 * b->rise -
                           (s + 1) * s * (s - 2) / 2 * c->rise + (s + 1) * s * (s - 1) / 6 * d->rise);
  }
  const std::vector<Peak> exact = kinked.empty() ? std::vector<Peak>() : this->peaks(kinked);
  for (size_t i = 0; i < kinked.size(); ++i)
    out[std::lround(kinked[i] / every)] = static_cast<float>(exact[i].rise);
}

}  // namespace circumfluence::heat
