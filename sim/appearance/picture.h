// Pictures of a mark map: outcome classes with legend and millimetre rulers, and what the eye would see.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "appearance/overview.h"

namespace circumfluence::appearance {

using Colour = std::array<std::uint8_t, 3>;  // sRGB

struct Pixels {
  int width = 0, height = 0;
  std::vector<Colour> rgb;  // row 0 is the top
};

// What the four states of a surface look like.
struct Palette {
  Colour ground, marked, over;  // an under-marked cell is half ground, half marked, in linear light
};

// "#rrggbb"; throws JobError.
Colour parse_colour(const std::string& text);

// A block a pixel, around upward, axial to the right: states in their own colours (well apart for
// colour-blind eyes, stray marks outside the wanted area apart from wanted ones).
Pixels outcome_pixels(const Overview& overview);
// The same as the eye would see it: colours mixed by area in linear light.
Pixels view_pixels(const Overview& overview, const Palette& palette);

// Where the picture lies and what is said around it.
struct Frame {
  double axial_from, axial_to, around_from, around_to;  // [m]
  std::string title;
  std::string subtitle;
  bool legend = false;  // of the outcome states, with their shares of the area
};

// Draws rulers in millimetres, title, and legend around the pixels and writes a PNG (whole or not at all).
void write_picture(const std::string& path, const Pixels& pixels, const Frame& frame,
                   const Overview& overview);

// The bare pixels as PNG bytes, fast (for sliders): level 1.
std::vector<std::uint8_t> encode_png(const Pixels& pixels);

}  // namespace circumfluence::appearance
