// A picture file as tones: PNG or JPEG, 8 or 16 bit, grey, RGB, palette, with or without alpha.
//
// Files are not trusted: the header is read first, size limits are checked before anything is allocated, and
// a truncated or damaged file is a FileError, never a half picture. The kind is told by the first bytes, not
// by the name. A JPEG is turned upright as its EXIF block asks, as every viewer shows it; colour profiles and
// gamma are not applied. CMYK, 12-bit and lossless JPEG are refused. For photographs the same files are read
// in colour.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace circumfluence::artwork {

struct Image {
  int width = 0;   // [px]
  int height = 0;  // [px], row 0 is the top
  // Row-major, 0 black to 65535 white: luma of the encoded (not linear) values, ITU-R BT.709 weights.
  std::vector<std::uint16_t> tone;
  std::vector<std::uint16_t> opacity;  // same layout; empty when the whole picture is opaque
};

using Colour = std::array<std::uint8_t, 3>;  // red, green, blue as stored, 8 bit

struct Colours {
  int width = 0, height = 0;   // [px], row 0 is the top
  std::vector<Colour> pixels;  // row-major; 16-bit samples rounded, transparent ones as seen on white
};

inline constexpr long kMostPixels = 100'000'000;  // larger pictures are refused
inline constexpr int kMostPixelsASide = 65'500;
inline constexpr long kMostFileBytes = 512L << 20;
// Each scan of a progressive JPEG walks the whole picture again; encoders write about ten.
inline constexpr int kMostScans = 64;

enum class FileKind { png, jpeg };
// By a file's first bytes. Throws FileError for another kind; `name` stands for the path in messages.
FileKind kind_of(std::span<const std::uint8_t> head, const std::string& name);

// Throws FileError: path, what is wrong, what was expected.
Image read_image(const std::string& path);
Colours read_colours(const std::string& path);

// The same, without decoding anew while the file's time and size stay: for one picture predicted many times.
// The last picture of up to 16 Mpx is kept.
Image read_image_again(const std::string& path);

// The same from a file's bytes.
Image decode_image(std::span<const std::uint8_t> bytes, const std::string& name);
Colours decode_colours(std::span<const std::uint8_t> bytes, const std::string& name);

// How the pixels of a JPEG lie, 1 to 8, by the tag of its EXIF block (tag 274 of TIFF 6.0 and of CIPA
// DC-008 [from memory]): 1 upright, as where there is none; 3 on its head, 6 and 8 on a side, the others
// mirrored; and as such a picture is seen. Any bytes will do.
int stored_orientation(std::span<const std::uint8_t> jpeg);
void upright(Image& image, int orientation);
void upright(Colours& colours, int orientation);

// As a grey PNG of 8 bits, `pixel` [m] a pixel each way (pHYs, in whole pixels a metre: a size read from it
// is good to pixel / 2 a metre). Tones that 8 bits can hold come back as they were. Appears under its name
// when it is whole. Throws FileError, and ValidityError when it is empty, partly transparent, or beyond the
// limits above.
void write_image(const Image& image, double pixel, const std::string& path);

}  // namespace circumfluence::artwork
