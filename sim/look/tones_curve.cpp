// What a series of tones amounts to: its monotone curve, the inverse, steps and growth.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "look/tones.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using appearance::ciede2000;
using appearance::Lab;

constexpr int kWays = 257;
constexpr double kLeastRange = 0.5;  // [1] of lightness, below which no way is to be seen

// Pools adjacent violators: the rising sequence nearest to `values` by least squares; colours of a pool are
// averaged.
void pool(std::vector<Lab>& tones, double sign) {
  struct Pool {
    Lab mean;
    size_t count;
  };
  std::vector<Pool> pools;
  for (const Lab& tone : tones) {
    pools.push_back({tone, 1});
    while (pools.size() > 1 && sign * pools[pools.size() - 2].mean.l > sign * pools.back().mean.l) {
      const Pool last = pools.back();
      pools.pop_back();
      Pool& into = pools.back();
      const double all = double(into.count + last.count), share = double(last.count) / all;
      into.mean = {std::lerp(into.mean.l, last.mean.l, share), std::lerp(into.mean.a, last.mean.a, share),
                   std::lerp(into.mean.b, last.mean.b, share)};
      into.count += last.count;
    }
  }
  size_t i = 0;
  for (const Pool& each : pools)
    for (size_t k = 0; k < each.count; ++k) tones[i++] = each.mean;
}

// [1] the greatest fall behind what was reached before, over the whole way.
double turned_back(const std::vector<Tone>& tones, double sign, double range) {
  double reached = -std::numeric_limits<double>::infinity(), most = 0;
  for (const Tone& tone : tones) {
    reached = std::max(reached, sign * tone.lab.l);
    most = std::max(most, reached - sign * tone.lab.l);
  }
  return range > 0 ? most / range : 0;
}

// The least share at which the curve of rising ways reaches each way.
std::vector<double> inverse(const std::vector<Tone>& tones, const std::vector<double>& ways) {
  std::vector<double> given(kWays, 0.0);
  size_t at = 1;
  for (int i = 1; i < kWays; ++i) {
    const double way = double(i) / (kWays - 1);
    while (at + 1 < ways.size() && ways[at] < way - 1e-12) ++at;
    const double step = ways[at] - ways[at - 1];
    const double share = step > 0 ? std::clamp((way - ways[at - 1]) / step, 0.0, 1.0) : 1.0;
    given[size_t(i)] = std::lerp(tones[at - 1].share, tones[at].share, share);
  }
  return given;
}

// Where values cross 1 between two of them.
double crossing(const Tone& one, const Tone& other, double value, double next) {
  return std::lerp(one.share, other.share, std::clamp((1 - value) / (next - value), 0.0, 1.0));
}

void find_ends(ToneCurve& curve) {
  const std::vector<Tone>& t = curve.tones;
  const auto from = [&t](size_t one, size_t other) { return ciede2000(t[one].lab, t[other].lab); };
  curve.start = 1;
  curve.full = 0;
  for (size_t i = 1; i < t.size(); ++i) {
    if (from(0, i) < 1) continue;
    curve.start = crossing(t[i - 1], t[i], from(0, i - 1), from(0, i));
    break;
  }
  const size_t last = t.size() - 1;
  for (size_t i = last; i-- > 0;) {
    if (from(last, i) < 1) continue;
    curve.full = crossing(t[i], t[i + 1], from(last, i), from(last, i + 1));
    break;
  }
}

// Of evenly spaced shares, how many can be picked from the ground on so that each is 1 from the one before.
int apart(const std::vector<Tone>& tones, const std::vector<Lab>& pooled, int levels) {
  Lab last = pooled.front();
  int count = 1;
  size_t at = 1;
  for (int level = 1; level <= levels; ++level) {
    const double share = double(level) / levels;
    while (at + 1 < tones.size() && tones[at].share < share) ++at;
    const double step = tones[at].share - tones[at - 1].share;
    const double t = step > 0 ? std::clamp((share - tones[at - 1].share) / step, 0.0, 1.0) : 1.0;
    const Lab &one = pooled[at - 1], &other = pooled[at];
    const Lab here{std::lerp(one.l, other.l, t), std::lerp(one.a, other.a, t), std::lerp(one.b, other.b, t)};
    if (ciede2000(last, here) < 1) continue;
    ++count;
    last = here;
  }
  return count;
}

double reflectance_at(const std::vector<Tone>& tones, double share) {
  size_t i = 1;
  while (i + 1 < tones.size() && tones[i].share < share) ++i;
  const double step = tones[i].share - tones[i - 1].share;
  return std::lerp(tones[i - 1].reflectance, tones[i].reflectance,
                   step > 0 ? std::clamp((share - tones[i - 1].share) / step, 0.0, 1.0) : 1.0);
}

// R^(1/n) = (R_0^(1/n) + R_1^(1/n)) / 2, by halving ln n; rising 1/n raises the mean from the geometric to
// the greater.
double yule_nielsen(double ground, double mark, double half) {
  const auto mean = [&](double p) { return std::pow((std::pow(ground, p) + std::pow(mark, p)) / 2, 1 / p); };
  double low = std::log(0.02), high = std::log(50.0);
  if (!(ground > 0 && mark > 0) || !(half > mean(std::exp(low)) && half < mean(std::exp(high))))
    return std::numeric_limits<double>::quiet_NaN();
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (mean(std::exp(middle)) < half ? low : high) = middle;
  }
  return std::exp(-(low + high) / 2);
}

}  // namespace

ToneCurve curve_of(std::vector<Tone> tones, int levels) {
  if (tones.size() < 2)
    throw quantity::ValidityError("tones: a single one (makes no curve; expected two or more)");
  const double way = tones.back().lab.l - tones.front().lab.l, sign = way < 0 ? -1 : 1;
  std::vector<Lab> pooled;
  for (const Tone& tone : tones) pooled.push_back(tone.lab);
  pool(pooled, sign);
  const double range = sign * (pooled.back().l - pooled.front().l);
  std::vector<double> ways;
  for (size_t i = 0; i < pooled.size(); ++i) {
    ways.push_back(range > kLeastRange ? sign * (pooled[i].l - pooled.front().l) / range : tones[i].share);
  }
  const double ground = tones.front().reflectance, mark = tones.back().reflectance;
  const double half = reflectance_at(tones, 0.5);
  ToneCurve curve{};
  curve.given = inverse(tones, ways);
  curve.steps = apart(tones, pooled, levels);
  const bool seen = range > kLeastRange;
  curve.gain = seen ? (ground - half) / (ground - mark) - 0.5 : 0;
  curve.apparent_n = seen ? yule_nielsen(ground, mark, half) : std::numeric_limits<double>::quiet_NaN();
  curve.unsteady = turned_back(tones, sign, range);
  curve.tones = std::move(tones);
  find_ends(curve);
  if (!seen)
    curve.notes.push_back(
        "The full mark is as light as the ground: greys cannot be seen, and none are corrected.");
  return curve;
}

double given_for(const ToneCurve& curve, double way) {
  const double at = std::clamp(way, 0.0, 1.0) * double(curve.given.size() - 1);
  const size_t i = std::min(static_cast<size_t>(at), curve.given.size() - 2);
  return std::lerp(curve.given[i], curve.given[i + 1], at - double(i));
}

artwork::Image corrected(const artwork::Image& art, artwork::Burns burns, const ToneCurve& curve) {
  std::vector<std::uint16_t> table(65536);  // by the share wanted
  for (size_t i = 0; i < table.size(); ++i)
    table[i] = static_cast<std::uint16_t>(std::lround(65535 * (1 - given_for(curve, double(i) / 65535))));
  artwork::Image out{art.width, art.height, std::vector<std::uint16_t>(art.tone.size()), {}};
  const std::uint16_t flip = burns == artwork::Burns::dark ? 65535 : 0;
  for (size_t i = 0; i < art.tone.size(); ++i) {
    std::uint32_t wanted = art.tone[i] ^ flip;
    if (!art.opacity.empty()) wanted = (wanted * art.opacity[i] + 32767) / 65535;
    out.tone[i] = table[wanted];
  }
  return out;
}

}  // namespace circumfluence::look
