// Writing PNG: compression level 1 and one filter, since pictures are made more often than they are kept.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace circumfluence::appearance {

// Rows of 8-bit sRGB, top row first; not owned.
struct PngSource {
  const std::uint8_t* data = nullptr;
  int width = 0, height = 0;
  size_t stride = 0;          // [byte] from row to row
  bool padded = false;        // four bytes a pixel: blue, green, red, unused; else red, green, blue
  double axial_pitch = 0.0;   // [m] a pixel is to be printed that wide (0: not said)
  double around_pitch = 0.0;  // [m] and that high
};

// The bytes of a PNG file. Throws ValidityError when there are no pixels.
std::vector<std::uint8_t> png_bytes(const PngSource& source);

// Writes beside `path` and renames when complete, so that `path` is whole or as it was. Throws FileError.
void write_whole(const std::string& path, const std::vector<std::uint8_t>& bytes);

}  // namespace circumfluence::appearance
