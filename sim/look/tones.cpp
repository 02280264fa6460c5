#include "look/tones.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "artwork/halftone.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using artwork::Screen;
using quantity::format;
using quantity::ValidityError;

constexpr double kMostRunIn = 4e-3;    // [m] of lines on flat tone; what is older counts for little
constexpr int kRounds = 8;             // of further tones where lightness changes fast
constexpr double kFine = 4;            // [1] steps of lightness that are fine enough
constexpr double kLeastShare = 0.001;  // [1] apart, by power
constexpr int kBayerLevels = artwork::kBayerSide * artwork::kBayerSide;
constexpr double kMostCellsASide = 1500;
constexpr int kBlue = 32, kDiffused = 24;  // dots a side of a pane, of patterns that do not repeat every 8

// A flat piece: how large it is and where in it is measured, in pixels of its art.
struct Flat {
  int width, height;                                 // [px]
  double pixel;                                      // [m]
  int axial_from, axial_to, around_from, around_to;  // [px] measured, from the left and from the bottom
  artwork::ToneUse use;
};

Pane pane_of(const Flat& flat) {
  const double axial = flat.width / 2.0, around = flat.height / 2.0;
  return {(flat.axial_from - axial) * flat.pixel, (flat.axial_to - axial) * flat.pixel,
          (flat.around_from - around) * flat.pixel, (flat.around_to - around) * flat.pixel};
}

// [px] so many inside, with so many around them, along the lines and across.
Flat laid(const Swatches& swatches, std::array<int, 2> inside, std::array<int, 2> around, double pixel) {
  if (swatches.scene().job.scan.direction == motion::Direction::around) {
    std::swap(inside[0], inside[1]);
    std::swap(around[0], around[1]);
  }
  return {.width = inside[0] + 2 * around[0],
          .height = inside[1] + 2 * around[1],
          .pixel = pixel,
          .axial_from = around[0],
          .axial_to = around[0] + inside[0],
          .around_from = around[1],
          .around_to = around[1] + inside[1],
          .use = artwork::ToneUse::threshold};
}

int whole(double count) {
  return std::max(1, static_cast<int>(std::ceil(count - 1e-6)));
}

// Lines and heat that come from further away than this change nothing.
double aside(const Swatches& swatches) {
  return exposure::kWarmReach / 2 * swatches.spot();
}

// A coat comes off by what light falls on it; only a bare surface remembers what its line was told before.
double run_in(const Swatches& swatches) {
  return swatches.model().film ? aside(swatches) : std::clamp(swatches.memory(), aside(swatches), kMostRunIn);
}

// Lines as they follow each other, two-way and interleaved ones too.
Flat by_power(const Swatches& swatches) {
  const double line = swatches.spacing();
  const motion::Scan& scan = swatches.scene().job.scan;
  Flat flat =
      laid(swatches, {whole(swatches.spot() / line), Swatches::kPhases * std::max(1, scan.interleave)},
           {whole(run_in(swatches) / line), whole(aside(swatches) / line)}, line);
  flat.use = artwork::ToneUse::grey;
  return flat;
}

// Patterns that spread errors take some dots to settle from the edge.
Flat by_dots(const Swatches& swatches, Screen screen, double dot) {
  const bool bayer = screen == Screen::bayer, blue = screen == Screen::blue_noise;
  const int least = bayer || blue ? 1 : 6, aside_dots = std::max(least, whole(aside(swatches) / dot));
  const int along = std::min(whole(run_in(swatches) / dot), std::max(16, whole(aside(swatches) / dot)));
  int tile = bayer ? artwork::kBayerSide : blue ? kBlue : kDiffused;
  // Wide dots: a smaller pane, before it holds more cells than a swatch may.
  while (tile > artwork::kBayerSide && (tile + 2 * aside_dots) * dot > kMostCellsASide * swatches.cell())
    --tile;
  return laid(swatches, {tile, tile}, {std::max(least, along), aside_dots}, dot);
}

artwork::Image grey(const Flat& flat, double share) {
  const auto tone = static_cast<std::uint16_t>(std::lround((1 - share) * 65535));
  return {flat.width,
          flat.height,
          std::vector<std::uint16_t>(size_t(flat.width) * size_t(flat.height), tone),
          {}};
}

// Within the pane.
long dots_of(const Flat& flat) {
  return long(flat.axial_to - flat.axial_from) * (flat.around_to - flat.around_from);
}

double burnt_dots(const artwork::Image& dots, const Flat& flat) {
  long burnt = 0;
  for (int up = flat.around_from; up < flat.around_to; ++up)
    for (int x = flat.axial_from; x < flat.axial_to; ++x)
      burnt += dots.tone[size_t(flat.height - 1 - up) * size_t(flat.width) + size_t(x)] < 32768;
  return double(burnt) / double(dots_of(flat));
}

Tone tone_of(const Swatch& swatch, const Flat& flat, const Finish& finish) {
  const Pane pane = pane_of(flat);
  const appearance::Xyz xyz = appearance::xyz_from_linear(in_diffuse_light(mean_shade(swatch, pane, finish)));
  return {0, appearance::lab_from_xyz(xyz), xyz.y / 100, marked_share(swatch, pane),
          over_share(swatch, pane)};
}

Tone burnt(const Swatches& swatches, const Finish& finish, const Flat& flat, std::optional<Screen> screen,
           double share) {
  artwork::Image art = grey(flat, share);
  if (screen) art = artwork::halftone(art, *screen);
  Tone tone = tone_of(swatches.burn(art, flat.pixel, flat.use), flat, finish);
  tone.share = screen ? burnt_dots(art, flat) : share;
  return tone;
}

void check(const Swatches& swatches, const ToneRequest& request, double dot) {
  if (request.count < 3 || request.count > 257)
    throw ValidityError(fmt::format("tones: count = {} (expected 3 to 257)", request.count));
  if (request.screen && !(dot >= 2 * swatches.cell()))
    throw ValidityError(
        fmt::format("dots {} apart (finer than two cells of {} can hold; expected at least {}). Take coarser "
                    "dots or cells of at most {}",
                    format(dot, "um"), format(swatches.cell(), "um"), format(2 * swatches.cell(), "um"),
                    format(dot / 2, "um")));
}

double dot_of(const Swatches& swatches, const ToneRequest& request) {
  if (request.dot > 0) return request.dot;
  const double own = swatches.scene().job.artwork.dot;
  return own > 0 ? own : swatches.spacing();
}

void note_lines(ToneCurve& curve, double spacing) {
  const double lines = curve.dot / spacing;
  if (lines < 1 - 1e-6)
    curve.notes.push_back(
        fmt::format("Dots {} apart are finer than the lines, {} apart, which cannot tell them apart: take "
                    "dots of {} or closer lines.",
                    format(curve.dot, "um"), format(spacing, "um"), format(spacing, "um")));
  else if (std::abs(lines - std::round(lines)) > 0.01)
    curve.notes.push_back(
        fmt::format("Dots {} apart are {:.2f} lines wide: rows of dots get unequal numbers of lines; whole "
                    "lines are even.",
                    format(curve.dot, "um"), lines));
}

// Greys by power that live on a cliff, or are few.
void note_greys(ToneCurve& curve) {
  double within = 0, at = 0;
  const std::vector<double>& given = curve.given;
  for (size_t i = 0, j = 0; i < given.size(); ++i) {
    while (j + 1 < given.size() && given[j + 1] <= given[i] + 0.1) ++j;
    const double way = double(j - i) / double(given.size() - 1);
    if (way > within) within = way, at = given[i];
  }
  const char* const better =
      curve.screen ? "Line art does better" : "Line art or a halftone does better than greys by power";
  if (curve.steps < 2) return;  // said already
  if (curve.steps < 8)
    curve.notes.push_back(fmt::format("{}: only {} greys can be told apart.", better, curve.steps));
  else if (within > 0.6)
    curve.notes.push_back(
        fmt::format("{}: {:.0f} % of the lightness lies between {:.0f} and {:.0f} % of the {}.", better,
                    100 * within, 100 * at, 100 * (at + 0.1), curve.screen ? "dots" : "power"));
  if (curve.unsteady > 0.1)
    curve.notes.push_back(
        fmt::format("Lightness turns back by {:.0f} % of its range as more is given: greys there are a guess.",
                    100 * curve.unsteady));
}

void note_over_burn(ToneCurve& curve) {
  const auto at =
      std::find_if(curve.tones.begin(), curve.tones.end(), [](const Tone& t) { return t.over > 0.02; });
  if (at == curve.tones.end()) return;
  curve.notes.push_back(
      fmt::format("From {:.0f} % of the {} on, places over-burn; a full area does by {:.0f} %.",
                  100 * at->share, curve.screen ? "dots" : "power", 100 * curve.tones.back().over));
}

std::vector<Tone> sorted(std::vector<Tone> tones) {
  std::stable_sort(tones.begin(), tones.end(),
                   [](const Tone& a, const Tone& b) { return a.share < b.share; });
  return tones;
}

// Shares in the middle of the widest steps of lightness, at most so many: of steps more than half the widest,
// and wider than `least` [1] of shares.
std::vector<double> steepest(const std::vector<Tone>& tones, int most, double least) {
  std::vector<std::pair<double, double>> steps;  // by size
  for (size_t i = 1; i < tones.size(); ++i) {
    const double step = std::abs(tones[i].lab.l - tones[i - 1].lab.l);
    if (step > kFine && tones[i].share - tones[i - 1].share > least)
      steps.emplace_back(-step, (tones[i].share + tones[i - 1].share) / 2);
  }
  std::sort(steps.begin(), steps.end());
  std::vector<double> out;
  for (const auto& [step, share] : steps)
    if (step < steps.front().first / 2 && int(out.size()) < most) out.push_back(share);
  return out;
}

}  // namespace

ToneCurve tone_curve(const Swatches& swatches, const Finish& finish, const ToneRequest& request) {
  const double dot = request.screen ? dot_of(swatches, request) : swatches.spacing();
  check(swatches, request, dot);
  const Flat flat = request.screen ? by_dots(swatches, *request.screen, dot) : by_power(swatches);
  std::vector<double> shares;
  for (int i = 0; i < request.count; ++i) shares.push_back(double(i) / (request.count - 1));
  const auto burn = [&](const std::vector<double>& of, double from, double to) {
    std::vector<Tone> out(of.size());
    const auto some = [&](int first, int last, int) {
      for (int i = first; i < last; ++i)
        out[size_t(i)] = burnt(swatches, finish, flat, request.screen, of[size_t(i)]);
    };
    quantity::for_bands({.count = int(of.size()), .band = 1, .threads = 0}, some,
                        quantity::part(request.progress, from, to));
    return out;
  };
  const double least = request.screen ? 1.5 / double(dots_of(flat)) : kLeastShare;
  std::vector<Tone> tones = sorted(burn(shares, 0, 0.5));
  for (int round = 0; round < kRounds; ++round) {
    const std::vector<double> between = steepest(tones, 2 * request.count - int(tones.size()), least);
    if (between.empty()) break;
    const auto done = [](int rounds) { return 0.5 + 0.5 * rounds / kRounds; };
    const std::vector<Tone> more = burn(between, done(round), done(round + 1));
    tones.insert(tones.end(), more.begin(), more.end());
    tones = sorted(std::move(tones));
  }
  ToneCurve curve = curve_of(std::move(tones), request.screen == Screen::bayer ? kBayerLevels : 255);
  curve.screen = request.screen;
  curve.dot = dot;
  if (curve.screen) note_lines(curve, swatches.spacing());
  note_greys(curve);
  note_over_burn(curve);
  curve.notes.insert(curve.notes.end(), finish.notes().begin(), finish.notes().end());
  return curve;
}

const char* name_of(const std::optional<Screen>& screen) {
  static constexpr const char* kNames[] = {"ordered (Bayer)", "Floyd-Steinberg", "Jarvis-Judice-Ninke",
                                           "Stucki", "blue noise"};
  return screen ? kNames[int(*screen)] : "power";
}

}  // namespace circumfluence::look
