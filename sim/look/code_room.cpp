// What codes would scan on a part with a job's settings: the least module, found flat, and the most modules
// around the curve.
#include <algorithm>
#include <cmath>
#include <limits>

#include "look/code.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

constexpr double kLeastSpots = 0.5, kMostSpots = 16;
constexpr int kPixels = 4;           // of the art, a module
constexpr int kSeen[] = {4, 8, 3};   // of the camera, a module: from some distances
constexpr int kQuiet = 4;            // [modules]
constexpr int kVersion = 2;          // with which the least module is found
constexpr double kStride = 1.3;      // from size to size until it reads once, and
constexpr double kStep = 1.1;        // from there on, to two that read
constexpr double kMostCells = 1400;  // of a swatch, a side

struct Burnt {
  Swatch swatch;
  double module;  // [m]
};

// With coarser cells where the swatches' would be too many.
Burnt burnt(const Swatches& swatches, const Symbol& code, double module) {
  const artwork::Image art = drawn(code, kPixels);
  const double edge = code.columns * module + 6 * swatches.spot(), pixel = module / kPixels;
  double cell = swatches.cell();
  while (edge / cell > kMostCells) cell *= 2;
  if (cell == swatches.cell()) return {swatches.burn(art, pixel, artwork::ToneUse::threshold), module};
  return {Swatches(swatches.scene(), cell).burn(art, pixel, artwork::ToneUse::threshold), module};
}

// The part that codes are burnt on.
struct Ground {
  double radius, length;  // [m]
  bool standing;

  // Half of it is seen at once.
  bool takes(double edge) const {
    return edge <= length && edge < (standing ? 1.999 * radius : quantity::kPi * radius);
  }
};

using Light = std::array<float, 3>;

// Light that cells of a swatch send, by where they lie from the art's centre [m]; ground beyond.
class Cells {
 public:
  Cells(const Swatch& swatch, const Finish& finish) : swatch_(swatch), finish_(finish) {
    for (const Shade& shade : finish.shades()) {
      const appearance::Linear light = in_diffuse_light(shade);
      shades_.push_back({float(light[0]), float(light[1]), float(light[2])});
    }
  }
  const Light& at(double axial, double arc) const {
    const double row = (swatch_.around + arc) / swatch_.cell, column = (swatch_.axial + axial) / swatch_.cell;
    if (!(row >= 0 && column >= 0 && row < swatch_.outcome.around() && column < swatch_.outcome.axial()))
      return shades_[0];
    const size_t i = size_t(row) * size_t(swatch_.outcome.axial()) + size_t(column);
    return shades_[size_t(finish_.entry(swatch_.outcome.data()[i], swatch_.changed.data()[i]))];
  }

 private:
  const Swatch& swatch_;
  const Finish& finish_;
  std::vector<Light> shades_;
};

// How a code is looked at: `radius` [m] of the part, infinity: flat.
struct Look {
  int modules, pixels;
  double radius;
};

// As a camera sees it that looks at its middle.
appearance::Pixels seen(const Burnt& burnt, const Finish& finish, const Look& look) {
  const Cells cells(burnt.swatch, finish);
  const double pixel = burnt.module / look.pixels, half = (look.modules / 2.0 + kQuiet) * burnt.module;
  const double widest = std::min(half, look.radius);
  appearance::Pixels out{std::max(1, int(2 * half / pixel)), std::max(1, int(2 * widest / pixel)), {}};
  constexpr int kParts = 2;
  std::vector<double> arcs;
  for (int i = 0; i < out.height * kParts; ++i) {
    const double across = widest - (i + 0.5) / kParts * pixel, sine = across / look.radius;
    arcs.push_back(std::isfinite(look.radius) ? look.radius * std::asin(std::clamp(sine, -1.0, 1.0))
                                              : across);
  }
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      appearance::Linear light{};
      for (int part = 0; part < kParts * kParts; ++part) {
        const double axial = (x + (part % kParts + 0.5) / kParts) * pixel - half;
        const Light& sent = cells.at(axial, arcs[size_t(y * kParts + part / kParts)]);
        for (size_t i = 0; i < 3; ++i) light[i] += double(sent[i]) / (kParts * kParts);
      }
      out.rgb.push_back(appearance::srgb_from_linear(light));
    }
  return out;
}

enum class Read { no, inverted, yes };

// A reader is held at more than one distance.
Read reads(const Burnt& burnt, const Finish& finish, const Symbol& code, double radius) {
  Read out = Read::no;
  for (const int pixels : kSeen) {
    for (const Symbol& symbol : read_symbols(seen(burnt, finish, {code.columns, pixels, radius})))
      if (symbol.text == code.text) out = std::max(out, symbol.inverted ? Read::inverted : Read::yes);
    if (out != Read::no) break;
  }
  return out;
}

void tell(const quantity::Progress& progress, double share) {
  if (progress && !progress(share)) throw quantity::Interrupted();
}

// Upward by whole numbers of lines until it reads, and the next size too: near the limit it is chance what a
// reader makes of it.
double least_module(const Swatches& swatches, const Finish& finish, const Ground& part,
                    const quantity::Progress& progress, bool& inverted) {
  const Symbol code = qr_code(kVersion);
  const double line = swatches.spacing(), most = kMostSpots * swatches.spot();
  const auto works = [&](int lines) {
    if (!part.takes(code.columns * lines * line)) return Read::no;
    const double radius = part.standing ? part.radius : std::numeric_limits<double>::infinity();
    return reads(burnt(swatches, code, lines * line), finish, code, radius);
  };
  const auto next = [](int lines, double by) {
    return std::max(lines + 1, int(std::ceil(lines * by - 1e-9)));
  };
  const auto done = [&](int lines) { return std::log(1 + lines * line / most) / std::log(2.0); };
  const int least = std::max(1, int(std::ceil(kLeastSpots * swatches.spot() / line)));
  int last = int(most / line);
  while (last >= least && !part.takes(code.columns * last * line)) --last;
  if (last < least || (works(std::max(least, last / 4)) == Read::no && works(last) == Read::no))
    return std::numeric_limits<double>::infinity();
  int from = least;
  for (int lines = least; lines <= last && works(lines) == Read::no; lines = next(lines, kStride)) {
    tell(progress, 0.3 * done(lines));
    from = next(lines, kStep);
  }
  for (int lines = from, before = 0; lines <= last; lines = next(lines, kStep)) {
    tell(progress, 0.3 + 0.2 * done(lines));
    const Read read = works(lines);
    if (read != Read::no && before > 0) return before * line;
    inverted = read == Read::inverted;
    before = read == Read::no ? 0 : lines;
  }
  return std::numeric_limits<double>::infinity();
}

}  // namespace

CodeRoom code_room(const Swatches& swatches, const Finish& finish, const quantity::Progress& progress) {
  CodeRoom out{};
  const mark::Scene& scene = swatches.scene();
  const Ground part{scene.profile.radius(scene.focus_at), scene.profile.length(),
                    scene.job.mount.hold == motion::Hold::standing};
  out.least_module = least_module(swatches, finish, part, progress, out.inverted);
  if (!std::isfinite(out.least_module)) return out;
  int fits = 0, beyond = 41;  // versions
  while (beyond > 1 && !part.takes((17 + 4 * (beyond - 1)) * out.least_module)) --beyond;
  while (beyond - fits > 1) {
    tell(progress, 0.5 + 0.5 * (1 - (beyond - fits) / 41.0));
    const int version = (fits + beyond) / 2;
    const Symbol code = qr_code(version);
    const Read read = reads(burnt(swatches, code, out.least_module), finish, code, part.radius);
    (read != Read::no ? fits : beyond) = version;
  }
  out.most_modules = fits > 0 ? 17 + 4 * fits : 0;
  out.widest = out.most_modules * out.least_module;
  return out;
}

}  // namespace circumfluence::look
