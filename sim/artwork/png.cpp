#include "artwork/png.h"

#include <png.h>

#include <cmath>
#include <csetjmp>
#include <new>
#include <string>

#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using Bytes = std::vector<std::uint8_t>;

// libpng is C and leaves through longjmp: no exception may pass through it.
void append(png_structp png, png_bytep data, size_t length) {
  auto* bytes = static_cast<Bytes*>(png_get_io_ptr(png));
  bool full = false;
  try {
    bytes->insert(bytes->end(), data, data + length);
  } catch (const std::bad_alloc&) {
    full = true;
  }
  if (full) png_error(png, "out of memory");
}

png_uint_32 per_metre(double pitch) {
  return static_cast<png_uint_32>(std::lround(1.0 / pitch));
}

// Only plain values live here, since longjmp runs no destructors.
bool encode(const PngSource& source, Bytes& bytes) {
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  if (png == nullptr) return false;
  png_infop info = png_create_info_struct(png);
  if (info == nullptr || setjmp(png_jmpbuf(png)) != 0) {
    png_destroy_write_struct(&png, &info);
    return false;
  }
  png_set_write_fn(png, &bytes, append, nullptr);
  if (!source.kept) {
    png_set_compression_level(png, 1);
    png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_SUB);
  }
  png_set_IHDR(png, info, static_cast<png_uint_32>(source.width), static_cast<png_uint_32>(source.height), 8,
               source.samples == Samples::grey ? PNG_COLOR_TYPE_GRAY : PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  if (source.samples != Samples::grey) png_set_sRGB(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
  if (source.axial_pitch > 1e-9 && source.around_pitch > 1e-9)
    png_set_pHYs(png, info, per_metre(source.axial_pitch), per_metre(source.around_pitch),
                 PNG_RESOLUTION_METER);
  png_write_info(png, info);
  if (source.samples == Samples::padded) {
    png_set_bgr(png);
    png_set_filler(png, 0, PNG_FILLER_AFTER);
  }
  for (int row = 0; row < source.height; ++row) png_write_row(png, source.data + size_t(row) * source.stride);
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  return true;
}

}  // namespace

std::vector<std::uint8_t> png_bytes(const PngSource& source) {
  if (source.data == nullptr || source.width < 1 || source.height < 1)
    throw quantity::ValidityError("picture: size = " + std::to_string(source.width) + " x " +
                                  std::to_string(source.height) +
                                  " (no pixels; expected 1 or more each way)");
  Bytes bytes;
  bytes.reserve(size_t(source.width) * size_t(source.height) / 4 + 4096);
  if (!encode(source, bytes)) throw std::bad_alloc();  // nothing else can go wrong in memory
  return bytes;
}

}  // namespace circumfluence::artwork
