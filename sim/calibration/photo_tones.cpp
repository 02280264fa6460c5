// What a patch looks like: its mean tone, how exact that is, and whether it is striped along its lines.
#include <algorithm>
#include <cmath>

#include "calibration/photo.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

constexpr double kUneven = 0.12;    // [1] of a patch's own light, beyond which it is a reflection's
constexpr double kBright = 1.5;     // [1] light of the median, beyond which it may be a broad reflection's
constexpr double kStraying = 0.15;  // [1] of the fitted light, by which the ground beside may differ

// Pixels of the flat picture: columns [from, to) and rows.
struct Window {
  int left, right, top, bottom;
};

// The inner 70 % each way, or less where blur reaches in from the rim, but a third at least.
Window inner(const Flat& flat, const Coupon& coupon, const Rectangle& r) {
  const double x = std::min(r.width / 3, std::max(0.15 * r.width, 2.5 * flat.blur_x));
  const double y = std::min(r.height / 3, std::max(0.15 * r.height, 2.5 * flat.blur_y));
  const auto column = [&](double at) { return std::clamp(int(std::lround(at / flat.pixel)), 0, flat.width); };
  const auto row = [&](double at) {
    return std::clamp(int(std::lround((coupon.height - at) / flat.pixel)), 0, flat.height);
  };
  return {column(r.x + x), column(r.x + r.width - x), row(r.y + r.height - y), row(r.y + y)};
}

// Takes the parabola that fits a profile best away from it. How much that is, but for its mean, rms.
double level_out(std::vector<double>& profile) {
  const size_t n = profile.size();
  double mean = 0, slope = 0, bend = 0, uu = 0, qq = 0, square = 0;
  const auto place = [n](size_t i) { return 2.0 * double(i) / double(n - 1) - 1; };
  for (size_t i = 0; i < n; ++i) square += place(i) * place(i) / double(n);
  for (size_t i = 0; i < n; ++i) {
    const double u = place(i), q = u * u - square;
    mean += profile[i] / double(n), slope += profile[i] * u, bend += profile[i] * q, uu += u * u, qq += q * q;
  }
  for (size_t i = 0; i < n; ++i) {
    const double u = place(i);
    profile[i] -= mean + slope / uu * u + bend / qq * (u * u - square);
  }
  return std::sqrt((slope * slope / uu + bend * bend / qq) / double(n));
}

// Means along the lines over both halves of their length; what both have in common is no noise.
void find_stripes(const Flat& flat, const Window& w, bool along_x, Tone& tone) {
  const int across = along_x ? w.bottom - w.top : w.right - w.left;
  const int along = along_x ? w.right - w.left : w.bottom - w.top;
  if (across < 6 || along < 4) return void(tone.stripes_error = INFINITY);
  std::array<std::vector<double>, 2> halves;
  for (int half = 0; half < 2; ++half)
    for (int k = 0; k < across; ++k) {
      double sum = 0;
      for (int j = half * (along / 2); j < (half + 1) * (along / 2); ++j) {
        const int row = w.top + (along_x ? k : j), column = w.left + (along_x ? j : k);
        const auto& light = flat.light[size_t(row) * size_t(flat.width) + size_t(column)];
        for (size_t c = 0; c < 3; ++c) sum += flat.trust[c] * double(light[c]);
      }
      halves[size_t(half)].push_back(sum / (along / 2) / (flat.trust[0] + flat.trust[1] + flat.trust[2]));
    }
  for (auto& half : halves) tone.uneven = std::max(tone.uneven, level_out(half));
  double shared = 0, apart = 0;
  for (size_t i = 0; i < halves[0].size(); ++i) {
    shared += halves[0][i] * halves[1][i] / across;
    apart += std::pow(halves[0][i] - halves[1][i], 2) / 4 / across;
  }
  tone.stripes = std::sqrt(std::max(0.0, shared));
  tone.stripes_error = std::sqrt(apart / std::sqrt(double(across)));
}

// How much the mean over all lines changes along them, channel by channel: light, a reflection, dirt.
std::array<double, 3> drift(const Flat& flat, const Window& w, bool along_x) {
  constexpr int kParts = 4;
  std::array<std::array<double, 3>, kParts> sum{};
  std::array<double, kParts> count{};
  for (int row = w.top; row < w.bottom; ++row)
    for (int column = w.left; column < w.right; ++column) {
      const size_t i = size_t(row) * size_t(flat.width) + size_t(column);
      if (flat.clipped[i] != 0) continue;
      const size_t part = size_t(along_x ? kParts * (column - w.left) / (w.right - w.left)
                                         : kParts * (row - w.top) / (w.bottom - w.top));
      for (size_t c = 0; c < 3; ++c) sum[part][c] += double(flat.light[i][c]);
      count[part] += 1;
    }
  std::array<double, 3> out{};
  for (size_t c = 0; c < 3; ++c) {
    double mean = 0, square = 0, n = 0;
    for (size_t part = 0; part < kParts; ++part) {
      if (count[part] == 0) continue;
      const double m = sum[part][c] / count[part];
      mean += m, square += m * m, n += 1;
    }
    if (n > 1) out[c] = std::sqrt(std::max(0.0, square / n - mean * mean / (n * n)));
  }
  return out;
}

// How much lighter than the fitted light the ground beside a slot is, channel by channel, and how far that is
// from being the same all around; what was written there counts little.
struct Beside {
  std::array<double, 3> lighter{}, spread{};
  double fall = 1;  // [1] fitted light, of the coupon's median
};
Beside beside(const Flat& flat, const Rectangle& r) {
  const double reach = std::max(1.5e-3, 0.3 * std::max(r.width, r.height));
  std::array<std::vector<double>, 3> found;
  double fall = 0, count = 0;
  for (const GroundSpot& s : flat.ground) {
    if (s.x < r.x - reach || s.x > r.x + r.width + reach || s.y < r.y - reach || s.y > r.y + r.height + reach)
      continue;
    for (size_t c = 0; c < 3; ++c) found[c].push_back(s.light[c] - 1);
    fall += s.fall, count += 1;
  }
  Beside out;
  if (count > 0) out.fall = fall / count;
  if (found[0].size() < 12) {
    out.spread.fill(std::max(0.02, 2 * flat.scatter));
    return out;
  }
  for (size_t c = 0; c < 3; ++c) {
    std::ranges::sort(found[c]);
    const auto part = [&](double share) { return found[c][size_t(share * double(found[c].size() - 1))]; };
    out.lighter[c] = part(flat.ink_lighter ? 0.45 : 0.55);
    out.spread[c] = (part(0.84) - part(0.16)) / 2;
  }
  return out;
}

}  // namespace

Tone tone_of(const Flat& flat, const Coupon& coupon, const Slot& slot) {
  const Window w = inner(flat, coupon, slot.place);
  Tone tone;
  const double area = std::max(1, (w.right - w.left) * (w.bottom - w.top));
  double count = 0;
  for (int row = w.top; row < w.bottom; ++row)
    for (int column = w.left; column < w.right; ++column) {
      const size_t i = size_t(row) * size_t(flat.width) + size_t(column);
      if (flat.clipped[i] != 0) continue;
      for (size_t c = 0; c < 3; ++c) tone.mean[c] += double(flat.light[i][c]);
      count += 1;
    }
  tone.clipped = 1 - count / area;
  tone.known = count >= 9 && tone.clipped < 0.15;
  if (count > 0)
    for (double& m : tone.mean) m /= count;
  find_stripes(flat, w, slot.patch.direction == motion::Direction::axial, tone);
  // Light that strays here may add to the picture (a reflection) or fall on the piece: between both, and as
  // unsure.
  const Beside ground = beside(flat, slot.place);
  const std::array<double, 3> change = drift(flat, w, slot.patch.direction == motion::Direction::axial);
  const double most = flat.trust[0] * change[0] + flat.trust[1] * change[1] + flat.trust[2] * change[2];
  tone.uneven = std::max(tone.uneven, most / std::max(1.0, flat.trust[0] + flat.trust[1] + flat.trust[2]));
  const double whole = (tone.mean[0] + tone.mean[1] + tone.mean[2]) / 3;
  tone.known = tone.known && tone.uneven < kUneven * std::max(whole, 0.3);
  for (size_t c = 0; c < 3; ++c) {
    const double v = std::max(-0.8, ground.lighter[c]), added = tone.mean[c] - v,
                 fallen = tone.mean[c] / (1 + v);
    if (flat.trust[c] > 0 && (std::abs(v) > kStraying || ground.fall * (1 + v) > kBright)) tone.known = false;
    const double even = std::max(0.008, 0.25 * ground.spread[c]);
    tone.mean[c] = (added + fallen) / 2;
    tone.error[c] =
        std::hypot(even * std::max(tone.mean[c], 0.3), (added - fallen) / 2,
                   std::hypot(std::max(change[c], tone.uneven), flat.gain_error[c] * tone.mean[c]));
  }
  return tone;
}

Tone ink_tone(const Flat& flat, const Coupon& coupon) {
  Tone out;
  std::vector<Tone> marks;
  for (int mark = 1; mark < 4; ++mark) {
    const Tone tone = tone_of(flat, coupon, {0, coupon.ink, corner_mark(coupon, mark)});
    if (tone.known) marks.push_back(tone);
  }
  if (marks.empty())
    throw quantity::JobError(
        "all corner marks are over-exposed or too small (expected to see one's tone). Take the "
        "picture darker, without reflections, or nearer");
  const double n = double(marks.size());
  for (const Tone& m : marks)
    for (size_t c = 0; c < 3; ++c) out.mean[c] += m.mean[c] / n;
  for (size_t c = 0; c < 3; ++c) {
    double spread = 0;
    for (const Tone& m : marks) spread += std::pow(m.mean[c] - out.mean[c], 2) / n;
    out.error[c] = std::hypot(marks[0].error[c], std::sqrt(spread));
  }
  out.stripes_error = INFINITY;
  out.known = true;
  return out;
}

}  // namespace circumfluence::calibration
