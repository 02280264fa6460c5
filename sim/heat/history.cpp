#include "heat/warmth.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::heat {
namespace {

constexpr double kPast = 3.0;   // [spot radii] taken column by column
constexpr double kClose = 1.5;  // [spot radii] from the place: every column's end and start is looked at
constexpr double kFar = 4.0;    // [spot radii] beyond which no peak is looked for
constexpr double kOlder = 8;     // [1] times its own width that the last octave stands for
constexpr double kLags[] = {0.06, 0.15, 0.3};  // [spot radii] after a start, when the heat of it peaks beside it

struct Wall {
  double thickness, diffusivity;  // [m], [m^2/s]
};
struct Lag {
  double first, last;  // [s]
};

// The wall's back face by images; one term at most counts until heat has come back many times.
double images(double wall, double spread) {
  if (std::isinf(wall)) return 1;
  const double q = wall * wall / spread;  // spread = a s
  if (q < 1) {                            // the same sum, in modes
    double sum = 1;
    for (int m = 1; m < 12; ++m) sum += 2 * std::exp(-m * m * quantity::kPi * quantity::kPi / q);
    return sum * std::sqrt(quantity::kPi / q);
  }
  double sum = 1;
  for (int m = 1; m < 7; ++m) sum += 2 * std::exp(-m * m * q);
  return sum;
}

// int g(d, s) ds from s = first to last, in u = sqrt(s), where g ds = 2 g u du is smooth.
double answer(const Wall& wall, const Spot& spot, double distance, const Lag& lag) {
  const double a = wall.diffusivity, from = std::sqrt(lag.first), to = std::sqrt(lag.last);
  // As many pieces as the spot's passage and the wall's echo ask for.
  const int pieces = 4 + static_cast<int>(std::min(20.0, 4 * (lag.last - lag.first) * spot.speed / spot.along));
  static constexpr double kNode[3] = {-0.7745966692414834, 0.0, 0.7745966692414834};
  static constexpr double kWeight[3] = {5.0 / 9, 8.0 / 9, 5.0 / 9};
  double sum = 0;
  for (int i = 0; i < pieces; ++i)
    for (int k = 0; k < 3; ++k) {
      const double half = (to - from) / pieces / 2;
      const double u = from + (2 * i + 1 + kNode[k]) * half, s = u * u;
      const double sx = spot.along * spot.along + 8 * a * s, sy = spot.across * spot.across + 8 * a * s;
      const double away = spot.speed * s - distance;
      sum += kWeight[k] * half * std::exp(-2 * away * away / sx) / std::sqrt(sx * sy) * images(wall.thickness, a * s);
    }
  return 2 * sum;
}

// [m] how far the beam is beyond a place when its peak may fall: where a column ends before it, at its own end, and
// soon after a column begins beyond it.
std::vector<double> distances(double radius, double column) {
  std::vector<double> all;
  const int step = std::max(1, static_cast<int>(radius / column / 4));
  for (int k = 0; (k + 0.5) * column < kFar * radius;) {
    const double edge = (k + 0.5) * column;
    const bool close = edge < kClose * radius;
    all.push_back(-edge);
    for (const double lag : kLags)
      if (close || lag == kLags[2]) all.push_back(edge + lag * radius);
    if (k == 0) all.push_back(edge);
    k += close ? step : std::max(step, static_cast<int>(radius / column));
  }
  return all;
}

exposure::Echo::Moment moment(const Wall& wall, const Spot& spot, const Track& track, double distance, int near) {
  exposure::Echo::Moment m;
  m.ahead = static_cast<int>(std::floor(distance / track.column + 0.5 - 1e-9));
  const double step = track.column / spot.speed;  // [s] a column
  Lag lag{0, (distance - (m.ahead - 0.5) * track.column) / spot.speed};
  for (int n = 0; n < near; ++n) {
    m.near.push_back(static_cast<float>(answer(wall, spot, distance, lag)));
    lag = {lag.last, lag.last + step};
  }
  double count = near;
  for (int n = 0; n < track.octaves; ++n) {
    lag.last = lag.first + (n + 1 < track.octaves ? count : kOlder * count) * step;
    m.far.push_back(static_cast<float>(answer(wall, spot, distance, lag)));
    lag.first = lag.last;
    count *= 2;
  }
  return m;
}

void check(const Track& track, const Spot& spot) {
  if (!(spot.speed > 0))
    throw quantity::ValidityError("heat: speed = 0 mm/s (a line's history needs a moving spot; expected more than 0)");
  if (!(track.column > 0) || !std::isfinite(track.column) || !(track.wall > 0))
    throw quantity::ValidityError(fmt::format(
        "heat: column = {}, wall = {} (a line's history needs both; expected more than 0)",
        quantity::format(track.column, "um"), quantity::format(track.wall, "mm")));
}

}  // namespace

exposure::Echo history(const Solid& solid, const Spot& spot, const Track& track) {
  const Peak steady = peak(solid, spot);
  check(track, spot);
  const Wall wall{track.wall, solid.diffusivity};
  exposure::Echo echo;
  echo.near = std::clamp(static_cast<int>(std::ceil(kPast * spot.along / track.column)), 2, 64);
  echo.moments.push_back(moment(wall, spot, track, -steady.x, echo.near));
  for (const double distance : distances(spot.along, track.column))
    echo.moments.push_back(moment(wall, spot, track, distance, echo.near));
  const exposure::Echo::Moment& first = echo.moments.front();
  float whole = 0;
  for (const std::vector<float>* weights : {&first.near, &first.far})
    for (const float weight : *weights) whole += weight;
  for (exposure::Echo::Moment& m : echo.moments)
    for (std::vector<float>* weights : {&m.near, &m.far})
      for (float& weight : *weights) weight /= whole;
  return echo;
}

}  // namespace circumfluence::heat
