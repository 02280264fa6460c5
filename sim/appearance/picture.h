// Pictures of a mark map: outcome classes with legend and millimetre rulers, and what the eye would see.
//
// Pixels are mixed in linear light, since that is how the eye adds what it can't resolve.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "appearance/colour.h"
#include "appearance/overview.h"

namespace circumfluence::appearance {

struct Pixels {
  int width = 0, height = 0;
  std::vector<Colour> rgb;  // row 0 is the top
};

// What the four states of a surface look like.
struct Palette {
  Colour ground, marked, over;  // an under-marked cell is half ground, half marked, in linear light
};

// What became of an area, against what the art wanted there: how the outcome picture is coloured.
enum class Verdict : std::uint8_t {
  spared,        // untouched, as wanted
  marked,        // marked, as wanted
  under_marked,  // something happened where a mark was wanted, not enough
  over_burned,   // anywhere
  missing,       // untouched where a mark was wanted
  stray,         // marked or under-marked outside the art
};
inline constexpr int kVerdicts = 6;
inline constexpr const char* kVerdictNames[kVerdicts] = {"left clean, as wanted", "marked, as wanted",
                                                         "under-marked",          "over-burned",
                                                         "mark is missing",       "mark outside the art"};

Verdict verdict(int outcome, bool wanted);
Colour colour_of(Verdict verdict);

// Share of the area of each verdict, 0 to 1.
std::array<double, kVerdicts> shares(const Overview& overview);

// "#rrggbb"; throws JobError.
Colour parse_colour(const std::string& text);

// A block a pixel, around upward, axial to the right: states in their own colours, well apart for
// colour-blind eyes. A block shows the fault that fills a quarter of it (over-burn: an eighth), else marked
// and spared mixed by area, so that greys of a halftone remain greys.
Pixels outcome_pixels(const Overview& overview);
// The same as the eye would see it: colours mixed by area in linear light.
Pixels view_pixels(const Overview& overview, const Palette& palette);

// Where the picture lies and what is said around it.
struct Frame {
  double axial_from, axial_to, around_from, around_to;  // [m]
  std::string title;
  std::string subtitle;
  bool legend = false;  // of the verdicts, with their shares of the area
};

// Draws rulers in millimetres, title, and legend around the pixels and writes a PNG (whole or not at all)
// that prints at true size. Small pictures are magnified by a whole number. Throws FileError, ValidityError.
void write_picture(const std::string& path, const Pixels& pixels, const Frame& frame,
                   const Overview& overview);

// The bare pixels as PNG bytes, fast (for sliders): level 1.
std::vector<std::uint8_t> encode_png(const Pixels& pixels);

}  // namespace circumfluence::appearance
