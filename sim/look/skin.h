// The surface as it will look, unrolled: light sent on by each small rectangle of it, in linear amounts.
//
// Cells of the map take the shades of finish.h and are averaged over blocks, since that is how the eye adds what it cannot
// resolve: light by area, the squares of slopes by the light that is mirrored with them. Blocks are whole numbers of cells;
// the last ones along each side hold what is left, and show the mean of that. What lies beyond the map is untouched ground.
// Light is conserved: the mean over the skin, each block counted by its cells, is the mean over the cells, to 1e-6.
#pragma once

#include <vector>

#include "appearance/picture.h"
#include "look/finish.h"
#include "mark/predict.h"

namespace circumfluence::look {

struct Skin {
  int around = 0, axial = 0;  // blocks
  double axial_from = 0, around_from = 0;  // [m] edges of the first
  double block_axial = 0, block_around = 0;  // [m], at the reference radius
  double reference_radius = 0;             // [m]
  std::vector<std::array<float, 3>> diffuse, mirror;  // [around][axial]
  std::vector<float> slope;                // [around][axial] rms
  Shade ground;                            // of all that lies beyond
  std::vector<std::string> notes;          // of the finish

  Shade at(int row, int column) const;
  bool closed() const;  // the last row meets the first
};

struct Blocks {
  int most = 1600;                // along each side; or
  double finest = 0;              // [m] a block is no larger than that, and no smaller than a cell; 0: `most` decides
  Wipe wipe = Wipe::after;
  int threads = 0;
};

// Throws ValidityError when the map was made without keeping its maps, a record has no colours, `finest` asks for more than
// 64 million blocks, or a request makes no sense.
Skin skin(const mark::MarkMap& map, const Blocks& blocks = {});

// As seen flat, in light from everywhere: row 0 at the greatest arc.
appearance::Pixels flat(const Skin& skin);
// One channel of sRGB for an amount of light, from a table of 65536 steps: within a level of the formula, which it
// meets on a screen's own levels.
std::uint8_t on_screen(float light);

}  // namespace circumfluence::look
