// Widths of single lines.
//
// A profile across the line, averaged along it after what is left of its slant is taken out. A mark that is
// there or not there at each place is a box; seen through a blur of standard deviation s its profile is
//   p(x) = (Phi((x + D/2) / s) - Phi((x - D/2) / s)),
// and D is the box whose width at half depth is the one measured.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calibration/photo.h"
#include "quantity/figure.h"

namespace circumfluence::calibration {
namespace {

constexpr double kFaint = 0.1;         // [1] of the ground's light; JPEG blurs fainter lines its own way
constexpr double kHalfWidth = 2.3548;  // [1] width at half depth of a Gaussian over its standard deviation

// Width at half depth of a box of width D, blurred.
double seen_width(double box, double blur) {
  using quantity::normal_below;
  const auto profile = [&](double x) { return normal_below((x + box / 2) / blur) - normal_below((x - box / 2) / blur); };
  const double half = profile(0) / 2;
  double low = 0, high = box / 2 + 4 * blur;
  for (int i = 0; i < 50; ++i) (profile((low + high) / 2) > half ? low : high) = (low + high) / 2;
  return low + high;
}

double box_width(double seen, double blur) {
  if (seen < kHalfWidth * blur * 1.005) return 0;
  double low = 1e-3 * blur, high = seen;
  for (int i = 0; i < 50; ++i) (seen_width((low + high) / 2, blur) < seen ? low : high) = (low + high) / 2;
  return (low + high) / 2;
}

// Tones along and across a line, ground taken off, in parts along its length.
struct Strip {
  std::vector<std::vector<double>> parts;  // [along][across], mean of the channels that count
  double pixel;
  bool whole = true;  // nothing clipped
};
constexpr int kParts = 8;
constexpr double kLuminance[] = {0.21, 0.72, 0.07};  // JPEG keeps it sharper than colour

Strip strip_of(const Flat& flat, const Coupon& coupon, const Slot& slot) {
  const Rectangle& r = slot.place;
  const bool along_x = slot.patch.direction == motion::Direction::axial;
  Strip strip{.parts = {}, .pixel = flat.pixel};
  const double from = along_x ? r.x : coupon.height - r.y - r.height, length = along_x ? r.width : r.height;
  const double aside = along_x ? coupon.height - r.y - r.height : r.x, across = along_x ? r.height : r.width;
  const int first = int(std::lround(aside / flat.pixel)), count = int(std::floor(across / flat.pixel));
  for (int part = 0; part < kParts; ++part) {
    const int begin = int(std::lround((from + (0.1 + 0.8 * part / kParts) * length) / flat.pixel));
    const int end = int(std::lround((from + (0.1 + 0.8 * (part + 1) / kParts) * length) / flat.pixel));
    std::vector<double> profile;
    for (int k = first; k < first + count; ++k) {
      double sum = 0, n = 0;
      for (int j = begin; j < end; ++j) {
        const int row = along_x ? k : j, column = along_x ? j : k;
        if (!flat.inside(column, row)) continue;
        const size_t i = size_t(row) * size_t(flat.width) + size_t(column);
        strip.whole = strip.whole && flat.clipped[i] == 0;
        for (size_t c = 0; c < 3; ++c) {
          sum += kLuminance[c] * flat.trust[c] * double(flat.light[i][c]);
          n += kLuminance[c] * flat.trust[c];
        }
      }
      profile.push_back(n > 0 ? sum / n - 1 : 0);
    }
    strip.parts.push_back(profile);
  }
  return strip;
}

double between(const std::vector<double>& profile, double at) {
  const double clamped = std::clamp(at, 0.0, double(profile.size()) - 1.001);
  const size_t i = size_t(clamped);
  const double a = clamped - double(i);
  return (1 - a) * profile[i] + a * profile[i + 1];
}

// Level and noise of what lies beside the line.
struct Beside {
  double level = 0, noise = 0;
};
Beside beside(const std::vector<double>& profile) {
  std::vector<double> values;
  const size_t n = profile.size();
  for (size_t i = n / 12; i < n - n / 12; ++i)
    if (i < n * 3 / 10 || i > n * 7 / 10) values.push_back(profile[i]);
  Beside out;
  for (const double v : values) out.level += v / double(values.size());
  for (const double v : values) out.noise += std::pow(v - out.level, 2) / double(values.size() - 1);
  out.noise = std::sqrt(out.noise);
  return out;
}

std::vector<double> mean_of(const Strip& strip, double slant) {
  std::vector<double> out(strip.parts[0].size());
  for (int part = 0; part < kParts; ++part)
    for (size_t k = 0; k < out.size(); ++k)
      out[k] += between(strip.parts[size_t(part)], double(k) + slant * (part - (kParts - 1) / 2.0)) / kParts;
  return out;
}

// Pixels that the line moves aside from part to part: that which makes the mean profile deepest.
double slant_of(const Strip& strip) {
  double best = 0, deepest = 0;
  for (int i = 0; i <= 24; ++i) {
    const double slant = (i % 2 == 0 ? i / 2 : -(i + 1) / 2) * 0.05;  // from none on to both sides
    double depth = 0;
    for (const double v : mean_of(strip, slant)) depth += v * v;
    if (depth > deepest * (1 + 1e-3)) deepest = depth, best = slant;
  }
  return best;
}

struct Crossing {
  double at, slope;  // [px], [1/px]
};
Crossing crossing(const std::vector<double>& profile, int from, int step, double level) {
  for (int i = from; i + step >= 0 && i + step < int(profile.size()); i += step) {
    const double a = profile[size_t(i)], b = profile[size_t(i + step)];
    if (b <= level && a > level) return {i + step * (a - level) / (a - b), a - b};
  }
  return {NAN, 0};
}

struct Measured {
  bool seen = false, strange = false;  // strange: something of the other sign is there
  double noise = 0, depth = 0;         // of the mean profile
  double width = NAN, error = NAN;     // [px] as seen, at half depth
  double middle = NAN;                 // [px]
};

Measured measure(const Strip& strip, bool lighter) {
  std::vector<double> profile = mean_of(strip, slant_of(strip));
  Measured out;
  const Beside ground = beside(profile);
  for (double& v : profile) v = (lighter ? 1 : -1) * (v - ground.level);
  out.noise = std::max(ground.noise, 1e-4);
  const int n = int(profile.size());
  int top = n / 4;
  for (int i = n / 4; i < n - n / 4; ++i)
    if (profile[size_t(i)] > profile[size_t(top)]) top = i;
  out.depth = profile[size_t(top)];
  out.strange = -std::ranges::min(profile) > std::max(out.depth, 6 * out.noise);
  out.seen = out.depth > 5 * out.noise;
  if (!out.seen) return out;
  for (int round = 0; round < 3; ++round) {
    const Crossing low = crossing(profile, top, -1, out.depth / 2),
                   high = crossing(profile, top, 1, out.depth / 2);
    if (std::isnan(low.at) || std::isnan(high.at)) return out;
    out.width = high.at - low.at;
    out.middle = (high.at + low.at) / 2;
    out.error =
        std::hypot(out.noise / std::max(low.slope, 1e-9), out.noise / std::max(high.slope, 1e-9), 0.04);
    // The depth of a wide line is the mean over its middle, of a narrow one the top of the parabola there.
    double sum = 0, count = 0;
    for (int i = int(std::ceil(out.middle - out.width / 5)); i <= int(out.middle + out.width / 5); ++i)
      sum += profile[size_t(i)], count += 1;
    if (count >= 3) {
      out.depth = sum / count;
    } else if (top > 0 && top + 1 < n) {
      const double a = profile[size_t(top - 1)], b = profile[size_t(top)], c = profile[size_t(top + 1)];
      const double bend = a - 2 * b + c;
      out.depth = bend < 0 ? b - (a - c) * (a - c) / (8 * bend) : b;
    }
  }
  return out;
}

// Mean tone of the middle of a wide line.
void middle_tone(const Flat& flat, const Coupon& coupon, const Slot& slot, double width, Tone& tone) {
  Slot middle = slot;
  Rectangle& r = middle.place;
  const double cut = 2.5 * std::max(flat.blur_x, flat.blur_y), kept = std::max(flat.pixel, (width - 2 * cut));
  if (slot.patch.direction == motion::Direction::axial)
    r = {r.x, r.y + r.height / 2 - kept / 2, r.width, kept};
  else
    r = {r.x + r.width / 2 - kept / 2, r.y, kept, r.height};
  tone = tone_of(flat, coupon, middle);
  tone.stripes_error = INFINITY;
}

// How much a burnt line differs from the ground at least, by its luminance; 0 where that is too little to
// count on.
double least_contrast(const Looks& looks) {
  const auto luminance = [](const appearance::Colour& colour) {
    const appearance::Linear light = appearance::linear_from_srgb(colour);
    return kLuminance[0] * light[0] + kLuminance[1] * light[1] + kLuminance[2] * light[2];
  };
  const double ground = std::max(1e-4, luminance(looks.ground));
  const double least = std::min(std::abs(luminance(looks.marked) / ground - 1),
                                std::abs(luminance(looks.over_burned) / ground - 1));
  return least > 0.3 ? least / 2 : 0;
}

// `contrast`: the least of a burnt line. False where the line is seen, but too fine for a width.
bool measure_line(const Flat& flat, const Coupon& coupon, const Slot& slot, double contrast,
                  std::pair<Tone&, PatchReading&> out) {
  auto& [tone, reading] = out;
  const bool along_x = slot.patch.direction == motion::Direction::axial;
  const double blur = along_x ? flat.blur_y : flat.blur_x;
  tone.known = false;
  const Strip strip = strip_of(flat, coupon, slot);
  if (!strip.whole || strip.parts[0].size() < 12) return true;
  const Measured m = measure(strip, flat.ink_lighter);
  if (!m.seen) {
    // The narrowest line of full contrast that would have been seen.
    const double least = 5 * m.noise * std::sqrt(2 * M_PI) * blur / std::max(contrast, 1e-6);
    reading.outcome = response::Outcome::untouched;
    reading.sure = least < 20e-6 && !m.strange ? 0.95 : 0.5;
    return true;
  }
  const double seen = m.width * flat.pixel, width = box_width(seen, blur);
  if (!(width > 1.5 * flat.pixel && width > kHalfWidth * blur && m.depth > kFaint)) return false;
  const double by_blur = box_width(seen, blur * (1 + flat.blur_error)) - width;
  const double by_edges = (box_width(seen * 1.001, blur) - width) / (0.001 * seen) * m.error * flat.pixel;
  reading.width = width;
  reading.width_error = std::hypot(by_blur, by_edges, 0.008 * width);
  if (width > 5.5 * std::max(flat.blur_x, flat.blur_y) + 3 * flat.pixel) {
    middle_tone(flat, coupon, slot, width, tone);
    reading.tone = tone.mean;
  }
  return true;
}

}  // namespace

void measure_lines(const Flat& flat, const Coupon& coupon, const Looks& looks, std::vector<Tone>& tones,
                   Reading& reading) {
  std::string unresolved;
  const double contrast = least_contrast(looks);
  for (size_t i = 0; i < coupon.slots.size(); ++i) {
    const Slot& slot = coupon.slots[i];
    if (slot.patch.is_line() && !measure_line(flat, coupon, slot, contrast, {tones[i], reading.patches[i]}))
      unresolved += fmt::format("{}{}", unresolved.empty() ? "" : ", ", slot.number);
  }
  const double finest = std::max(kHalfWidth * std::max(flat.blur_x, flat.blur_y), 1.5 * flat.pixel);
  if (!unresolved.empty())
    reading.notes.push_back(
        fmt::format("lines {} are seen, but fainter or finer than the picture resolves ({:.0f} um): no width",
                    unresolved, 1e6 * finest));
}

}  // namespace circumfluence::calibration
