#include "appearance/picture.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "appearance/draw.h"
#include "artwork/png.h"
#include "quantity/error.h"
#include "response/outcome.h"

namespace circumfluence::appearance {
namespace {

// Chosen so that no two are closer than CIEDE2000 = 19.5 for normal, protan, deutan and tritan eyes.
constexpr Colour kVerdictColours[kVerdicts] = {{0xf4, 0xf1, 0xea}, {0x12, 0x3c, 0x4a}, {0xea, 0xb0, 0x3c},
                                               {0xb2, 0x3a, 0x17}, {0x8a, 0xb8, 0xf5}, {0xa0, 0x4c, 0xc4}};

// Nearest 8-bit sRGB value of an amount of light, from a table fine enough to be exact to a rounding.
class Encoder {
 public:
  Encoder() {
    for (int i = 0; i <= kSteps; ++i)
      code_[i] = static_cast<std::uint8_t>(std::lround(255.0 * srgb_from_linear(double(i) / kSteps)));
  }
  std::uint8_t operator()(double light) const { return code_[int(light * kSteps + 0.5)]; }
  Colour operator()(const Linear& light) const {
    return {(*this)(light[0]), (*this)(light[1]), (*this)(light[2])};
  }

 private:
  static constexpr int kSteps = 1 << 14;
  std::array<std::uint8_t, kSteps + 1> code_;
};

const Encoder& encoder() {
  static const Encoder encoder;
  return encoder;
}

Linear mix(const Linear& one, const Linear& other, double share) {
  Linear light;
  for (int i = 0; i < 3; ++i) light[i] = one[i] + (other[i] - one[i]) * share;
  return light;
}

template <class ColourOf>
Pixels pixels_of(const Overview& overview, const ColourOf& colour_of_block) {
  Pixels pixels{overview.axial, overview.around, {}};
  pixels.rgb.resize(size_t(pixels.width) * size_t(pixels.height));
  for (int row = 0; row < pixels.height; ++row) {
    const auto* in = overview.counts.data() + size_t(overview.around - 1 - row) * size_t(overview.axial);
    Colour* out = pixels.rgb.data() + size_t(row) * size_t(pixels.width);
    for (int i = 0; i < pixels.width; ++i) out[i] = colour_of_block(in[i]);
  }
  return pixels;
}

int cells_of(const Overview::Counts& counts) {
  int cells = 0;
  for (const int count : counts) cells += count;
  return cells;
}

// The fault a block is coloured by, or `spared` when none is large enough.
Verdict fault_of(const Overview::Counts& c, int cells) {
  const std::array<std::pair<int, Verdict>, 4> faults = {{{4 * 2 * (c[3] + c[7]), Verdict::over_burned},
                                                          {4 * c[4], Verdict::missing},
                                                          {4 * c[5], Verdict::under_marked},
                                                          {4 * (c[1] + c[2]), Verdict::stray}}};
  const auto worst = *std::max_element(faults.begin(), faults.end(),
                                       [](const auto& a, const auto& b) { return a.first < b.first; });
  return worst.first > 0 && worst.first >= cells ? worst.second : Verdict::spared;
}

// "12.3 %", never rounding something to nothing or to everything.
std::string percent(double share) {
  char text[32];
  const double value = 100.0 * share;
  if (value == 0.0 || value == 100.0)
    std::snprintf(text, sizeof text, "%.0f %%", value);
  else if (value < 0.01)
    return "< 0.01 %";
  else if (value > 99.9)
    return "> 99.9 %";
  else
    std::snprintf(text, sizeof text, value < 9.995 ? "%.2f %%" : "%.1f %%", value);
  return text;
}

// Where everything goes on the sheet [pixel].
struct Layout {
  static constexpr int kLeft = 78, kRight = 28, kTop = 20, kRulerRoom = 58, kLegendWidth = 268,
                       kLegendRow = 24;
  int zoom = 1;
  Heading heading;
  int x = 0, y = 0, picture_width = 0, picture_height = 0;
  int legend_x = 0, legend_y = 0, legend_columns = 1;
  int width = 0, height = 0;
};

Layout lay_out(const Pixels& pixels, const Frame& frame) {
  constexpr int wanted = 700, narrowest = 480;
  Layout l;
  const int longest = std::max(pixels.width, pixels.height);
  l.zoom = longest > wanted * 9 / 10 ? 1 : (wanted + longest - 1) / longest;
  l.picture_width = pixels.width * l.zoom;
  l.picture_height = pixels.height * l.zoom;
  const bool beside = frame.legend && l.picture_width < Layout::kLegendWidth * 2 &&
                      l.picture_height > kVerdicts * Layout::kLegendRow;
  const int field = std::max(l.picture_width + (beside ? Layout::kLegendWidth : 0), narrowest);
  l.width = Layout::kLeft + field + Layout::kRight;

  l.heading = Heading(frame.title, frame.subtitle, field);
  l.x = Layout::kLeft;
  l.y = Layout::kTop + l.heading.height() + 12;
  l.height = l.y + l.picture_height + Layout::kRulerRoom;
  l.legend_x = beside ? l.x + l.picture_width + 28 : l.x;
  l.legend_y = beside ? l.y : l.height + 8;
  if (!frame.legend || beside) return l;
  l.legend_columns = std::clamp(field / Layout::kLegendWidth, 1, 3);
  l.height = l.legend_y + (kVerdicts / l.legend_columns) * Layout::kLegendRow + 14;
  return l;
}

void draw_legend(Sheet& sheet, const Layout& l, const Overview& overview) {
  const auto share = shares(overview);
  const int rows = kVerdicts / l.legend_columns;
  for (int i = 0; i < kVerdicts; ++i) {
    const double x = l.legend_x + (i / rows) * Layout::kLegendWidth;
    const double y = l.legend_y + (i % rows) * Layout::kLegendRow;
    const Box swatch{x, y, 20.0, 14.0};
    sheet.fill(swatch, kVerdictColours[i]);
    sheet.outline(swatch, kEdge);
    sheet.text({x + 30.0, y + 12.0}, kVerdictNames[i], {.size = 12.5, .colour = kInk});
    sheet.text({x + 240.0, y + 12.0}, percent(share[i]), {.size = 12.5, .colour = kInk, .anchor = 1.0});
  }
}

}  // namespace

Verdict verdict(int outcome, bool wanted) {
  const auto state = static_cast<response::Outcome>(outcome);
  if (state == response::Outcome::over_burned) return Verdict::over_burned;
  if (state == response::Outcome::untouched) return wanted ? Verdict::missing : Verdict::spared;
  if (!wanted) return Verdict::stray;
  return state == response::Outcome::marked ? Verdict::marked : Verdict::under_marked;
}

Colour colour_of(Verdict verdict) {
  return kVerdictColours[static_cast<int>(verdict)];
}

std::array<double, kVerdicts> shares(const Overview& overview) {
  const auto totals = overview.totals();
  std::array<double, kVerdicts> share{};
  double cells = 0.0;
  for (int i = 0; i < 8; ++i) {
    share[static_cast<int>(verdict(i & 3, i >= 4))] += double(totals[i]);
    cells += double(totals[i]);
  }
  for (double& s : share) s = cells > 0.0 ? s / cells : 0.0;
  return share;
}

Colour parse_colour(const std::string& text) {
  const auto refuse = [&]() {
    return quantity::JobError("colour = \"" + text +
                              "\" (not a colour; expected # and six hexadecimal digits). Try \"#1a2b3c\"");
  };
  if (text.size() != 7 || text[0] != '#') throw refuse();
  Colour colour{};
  for (size_t i = 0; i < 6; ++i) {
    const size_t digit = std::string_view("0123456789abcdef").find(char(text[i + 1] | 0x20));
    const bool numeral = text[i + 1] >= '0' && text[i + 1] <= '9';
    if (digit == std::string_view::npos || (digit < 10 && !numeral)) throw refuse();
    colour[i / 2] = static_cast<std::uint8_t>(colour[i / 2] * 16 + int(digit));
  }
  return colour;
}

Pixels outcome_pixels(const Overview& overview) {
  const Linear spared = linear_from_srgb(colour_of(Verdict::spared));
  const Linear marked = linear_from_srgb(colour_of(Verdict::marked));
  return pixels_of(overview, [&](const Overview::Counts& counts) {
    const int cells = cells_of(counts);
    const Verdict fault = fault_of(counts, cells);
    if (fault != Verdict::spared) return colour_of(fault);
    return encoder()(mix(spared, marked, cells > 0 ? double(counts[6]) / cells : 0.0));
  });
}

Pixels view_pixels(const Overview& overview, const Palette& palette) {
  const Linear ground = linear_from_srgb(palette.ground);
  const Linear marked = linear_from_srgb(palette.marked);
  const Linear over = linear_from_srgb(palette.over);
  return pixels_of(overview, [&](const Overview::Counts& c) {
    const int cells = cells_of(c);
    if (cells == 0) return palette.ground;
    const double part = 1.0 / cells;
    const double mark = part * (c[2] + c[6] + 0.5 * (c[1] + c[5]));
    const double burn = part * (c[3] + c[7]);
    Linear light;
    for (int i = 0; i < 3; ++i)
      light[i] = ground[i] + (marked[i] - ground[i]) * mark + (over[i] - ground[i]) * burn;
    return encoder()(light);
  });
}

void write_picture(const std::string& path, const Pixels& pixels, const Frame& frame,
                   const Overview& overview) {
  if (pixels.width < 1 || pixels.height < 1)
    throw quantity::FileError(path, "cannot be drawn (the map is empty)");
  const Layout l = lay_out(pixels, frame);
  Sheet sheet(l.width, l.height, kPaper);
  l.heading.draw(sheet, {double(l.x), Layout::kTop});
  sheet.paste(pixels, l.x, l.y, l.zoom);
  sheet.outline({double(l.x), double(l.y), double(l.picture_width), double(l.picture_height)}, kEdge);

  // The last block may be incomplete: the frame ends inside it.
  const bool known = overview.axial == pixels.width && overview.around == pixels.height;
  const double along = l.zoom * (known ? double(overview.axial_cells) / overview.block : pixels.width);
  const double across = l.zoom * (known ? double(overview.around_cells) / overview.block : pixels.height);
  const double foot = l.y + l.picture_height;
  constexpr double milli = 1e-3;
  draw(sheet,
       {.from = frame.axial_from / milli,
        .to = frame.axial_to / milli,
        .start = double(l.x),
        .stop = l.x + along,
        .edge = foot,
        .title = "along the axis [mm]"},
       kInk);
  draw(sheet,
       {.from = frame.around_from / milli,
        .to = frame.around_to / milli,
        .start = foot,
        .stop = foot - across,
        .edge = double(l.x),
        .upright = true,
        .title = "around the part [mm]"},
       kInk);
  if (frame.legend) draw_legend(sheet, l, overview);
  sheet.write(path, std::abs(frame.axial_to - frame.axial_from) / along,
              std::abs(frame.around_to - frame.around_from) / across);
}

std::vector<std::uint8_t> encode_png(const Pixels& pixels) {
  return artwork::png_bytes({.data = reinterpret_cast<const std::uint8_t*>(pixels.rgb.data()),
                    .width = pixels.width,
                    .height = pixels.height,
                    .stride = 3 * size_t(pixels.width)});
}

}  // namespace circumfluence::appearance
