// Writing PNG, of pictures made and of art as it is fed, and JPEG, of pictures to be looked at.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace circumfluence::artwork {

// 8-bit samples: red, green, blue; blue, green, red and a byte unused; or grey alone. Colours are sRGB.
enum class Samples { rgb, padded, grey };

// Rows of pixels, top row first; not owned.
struct PngSource {
  const std::uint8_t* data = nullptr;
  int width = 0, height = 0;
  size_t stride = 0;  // [byte] from row to row
  Samples samples = Samples::rgb;
  double axial_pitch = 0.0;   // [m] a pixel is to be printed that wide (0: not said)
  double around_pitch = 0.0;  // [m] and that high
  bool kept = false;  // packed well; else at level 1 with one filter, since most pictures are made more often than kept
};

// The bytes of a PNG file. Throws ValidityError when there are no pixels.
std::vector<std::uint8_t> png_bytes(const PngSource& source);

// The bytes of a JPEG file of the same source; `quality` 1 to 100, colours at half the resolution (4:2:0). Pitches and `kept`
// do not count. Throws ValidityError when there are no pixels, more than 65500 a side, or no such quality.
std::vector<std::uint8_t> encode_jpeg(const PngSource& source, int quality = 85);

}  // namespace circumfluence::artwork
