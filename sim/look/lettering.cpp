#include "look/lettering.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using quantity::format;

constexpr double kWidest = 16, kFinest = 0.25;  // [1] of the spot
constexpr int kWidths = 13;                     // a factor of the square root of 2 apart
constexpr double kPieces = 6;                   // of a line spacing, that a stroke is looked at
constexpr double kOff = 1.0 / 3;                // [1] of its width
constexpr double kEased = 2, kMinute = quantity::kPi / 180 / 60, kAway = 0.5;  // [rad], [m]
constexpr double kPlain = 20;                                                  // CIEDE2000
constexpr double kUsualStroke = 0.135;  // [1] of its capitals, in the regular face that words() draws

struct Bar {
  bool along;  // the lines
  bool gap;
  double full;  // [1] marked of a full area
};

struct Width {
  double least, greatest, mean;  // [m] over pieces and phases
};

bool axial_lines(const Swatches& swatches) {
  return swatches.scene().job.scan.direction == motion::Direction::axial;
}

// A bar that is burnt, looked at in strips along it or across.
struct Burnt {
  Swatch swatch;
  bool axial;  // how the bar lies

  double marked(double along_from, double along_to, double across_from, double across_to) const {
    return marked_share(swatch, axial ? Pane{along_from, along_to, across_from, across_to}
                                      : Pane{across_from, across_to, along_from, along_to});
  }
};

Burnt burnt(const Swatches& swatches, const Bar& bar, double drawn, bool between) {
  const double length = kPieces * swatches.spacing() + 2 * swatches.spot();
  const bool axial = bar.along == axial_lines(swatches);
  return {burn(swatches, {.axial = axial ? length : drawn,
                          .around = axial ? drawn : length,
                          .gap = bar.gap,
                          .between = between}),
          axial};
}

// [m] how wide the bar comes out, piece by piece, by what is marked not far from it.
void measure(const Swatches& swatches, const Bar& bar, double drawn, bool between, std::vector<double>& out) {
  const Burnt here = burnt(swatches, bar, drawn, between);
  const double piece = swatches.spacing(), reach = drawn / 2 + 1.5 * swatches.spot();
  for (int i = 0; i < kPieces; ++i) {
    const double from = (i - kPieces / 2) * piece,
                 marked = here.marked(from, from + piece, -reach, reach) / bar.full;
    out.push_back(2 * reach * (bar.gap ? 1 - marked : marked));
  }
}

// [m] from edge to edge of a stroke: where, coming from outside, half as much is marked as in a full area.
double outline(const Swatches& swatches, const Bar& bar, double drawn, bool between) {
  const Burnt here = burnt(swatches, bar, drawn, between);
  const double cell = swatches.cell(), half = kPieces * swatches.spacing() / 2;
  const auto off = [&](double side) {
    double before = 0;
    for (double at = drawn / 2 + 2 * swatches.spot(); at > 0; at -= cell) {
      const double now = here.marked(-half, half, side * at - cell / 2, side * at + cell / 2) - bar.full / 2;
      if (now >= 0) return at + cell * (now > before && before < 0 ? now / (now - before) : 0);
      before = now;
    }
    return 0.0;
  };
  return off(-1) + off(1);
}

Width width(const Swatches& swatches, const Bar& bar, double drawn) {
  std::vector<double> pieces;
  for (const bool between : {false, true}) measure(swatches, bar, drawn, between, pieces);
  const auto [least, greatest] = std::minmax_element(pieces.begin(), pieces.end());
  double sum = 0;
  for (const double piece : pieces) sum += piece;
  return {*least, *greatest, sum / double(pieces.size())};
}

bool comes_out(const Width& width, double drawn) {
  return width.least >= (1 - kOff) * drawn && width.greatest <= (1 + kOff) * drawn;
}

// The width from which all wider ones come out as well.
Finest finest(const Swatches& swatches, const Bar& bar) {
  const double spot = swatches.spot();
  double good = std::numeric_limits<double>::infinity(), bad = 0;
  for (int i = 0; i < kWidths; ++i) {
    const double drawn = kWidest * spot / std::pow(std::sqrt(2.0), i);
    if (drawn < kFinest * spot * 0.999) break;
    if (!comes_out(width(swatches, bar, drawn), drawn)) {
      bad = drawn;
      break;
    }
    good = drawn;
  }
  if (std::isinf(good)) return {good, good};
  while (good - bad > std::max(swatches.cell() / 2, 0.02 * good)) {
    const double middle = (good + bad) / 2;
    (comes_out(width(swatches, bar, middle), middle) ? good : bad) = middle;
  }
  return {good, width(swatches, bar, good).mean};
}

// [m] mean over both directions and places between lines.
double growth(const Swatches& swatches, double full) {
  const double drawn = 4 * swatches.spot();
  double sum = 0;
  for (const bool along : {true, false})
    for (const bool between : {true, false})
      sum += outline(swatches, {along, false, full}, drawn, between) - drawn;
  return sum / 4;
}

void note(Lettering& out, double full, double contrast) {
  const double stroke = std::max(out.stroke_along.drawn, out.stroke_across.drawn);
  if (std::isinf(out.made))
    out.notes.push_back(
        "Strokes or gaps do not come out up to 16 spots: letters cannot be made with these settings.");
  else if (stroke / kUsualStroke > out.made)
    out.notes.push_back(
        fmt::format("Capitals of a regular face, strokes of {:.0f} % of their height, take {}.",
                    100 * kUsualStroke, format(stroke / kUsualStroke, "mm", 3)));
  if (full > 0 && full < 0.95)
    out.notes.push_back(fmt::format(
        "Lines leave {:.0f} % of a full area unmarked: strokes are as ribbed as that.", 100 * (1 - full)));
  if (contrast < kPlain)
    out.notes.push_back(fmt::format(
        "The mark is little unlike its ground (CIEDE2000 {:.0f}): letters are to be larger.", contrast));
}

}  // namespace

Lettering lettering(const Swatches& swatches, const Finish& finish, const quantity::Progress& progress) {
  constexpr double kNever = std::numeric_limits<double>::infinity();
  Lettering out{{kNever, kNever}, {kNever, kNever}, {kNever, kNever}, {kNever, kNever}, 0, kNever, 0, 0, {}};
  const FullArea area = full_area(swatches);
  const double full = marked_share(area.swatch, area.pane);
  const std::array<Finest*, 4> which{&out.stroke_along, &out.stroke_across, &out.gap_along, &out.gap_across};
  if (full > 0) {
    quantity::for_bands(
        {.count = 4, .band = 1, .threads = 0},
        [&](int first, int last, int) {
          for (int i = first; i < last; ++i) *which[size_t(i)] = finest(swatches, {i % 2 == 0, i >= 2, full});
        },
        progress);
    out.growth = growth(swatches, full);
  }
  for (const Finest* each : which)
    out.made = each == which[0] ? 5 * each->drawn : std::max(out.made, 5 * each->drawn);
  const double seen = contrast(finish.ground(), mean_shade(area.swatch, area.pane, finish)).diffuse;
  const double larger = seen < kPlain ? kPlain / std::max(seen, 1.0) : 1;
  out.read = kEased * 5 * kMinute * kAway * larger;
  out.height = std::max(out.made, out.read);
  note(out, full, seen);
  return out;
}

}  // namespace circumfluence::look
