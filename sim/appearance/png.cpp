#include "appearance/png.h"

#include <png.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cmath>
#include <csetjmp>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <new>
#include <system_error>

#include "quantity/error.h"

namespace circumfluence::appearance {
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
  png_set_compression_level(png, 1);
  png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_SUB);
  png_set_IHDR(png, info, static_cast<png_uint_32>(source.width), static_cast<png_uint_32>(source.height), 8,
               PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_set_sRGB(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
  if (source.axial_pitch > 1e-9 && source.around_pitch > 1e-9)
    png_set_pHYs(png, info, per_metre(source.axial_pitch), per_metre(source.around_pitch),
                 PNG_RESOLUTION_METER);
  png_write_info(png, info);
  if (source.padded) {
    png_set_bgr(png);
    png_set_filler(png, 0, PNG_FILLER_AFTER);
  }
  for (int row = 0; row < source.height; ++row) png_write_row(png, source.data + size_t(row) * source.stride);
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  return true;
}

// A name no other writer uses, in the folder of `path` so that renaming stays within a file system.
std::string beside(const std::string& path) {
  static std::atomic<unsigned> count{0};
  return path + ".part-" + std::to_string(getpid()) + "-" + std::to_string(count++);
}

[[noreturn]] void refuse(const std::string& path, int reason) {
  throw quantity::FileError(path, "cannot be written (" + std::generic_category().message(reason) +
                                      "). Check that the folder exists, may be written and has room");
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

void write_whole(const std::string& path, const std::vector<std::uint8_t>& bytes) {
  const std::string part = beside(path);
  std::FILE* file = std::fopen(part.c_str(), "wb");
  if (file == nullptr) refuse(path, errno);
  errno = 0;
  const bool written = std::fwrite(bytes.data(), 1, bytes.size(), file) == bytes.size();
  const int reason = errno;
  const bool closed = std::fclose(file) == 0;
  std::error_code renamed;
  if (written && closed) {
    std::filesystem::rename(part, path, renamed);
    if (!renamed) return;
  }
  const int why = !written ? reason : !closed ? errno : renamed.value();
  std::remove(part.c_str());
  refuse(path, why);
}

}  // namespace circumfluence::appearance
