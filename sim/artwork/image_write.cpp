#include <fmt/format.h>
#include <png.h>

#include <cmath>
#include <csetjmp>
#include <new>

#include "artwork/image.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::artwork {
namespace {

using Bytes = std::vector<std::uint8_t>;

// libpng leaves through longjmp, which no exception may meet and which runs no destructor.
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

// Rows of bytes to be packed, and where they go; lives outside of the jump.
struct Job {
  const Bytes& grey;
  png_uint_32 width, height, per_metre;
  Bytes packed;
};

bool encode(Job& job) {
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  if (png == nullptr) return false;
  png_infop info = png_create_info_struct(png);
  if (info == nullptr || setjmp(png_jmpbuf(png)) != 0) {
    png_destroy_write_struct(&png, &info);
    return false;
  }
  png_set_write_fn(png, &job.packed, append, nullptr);
  png_set_IHDR(png, info, job.width, job.height, 8, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_set_pHYs(png, info, job.per_metre, job.per_metre, PNG_RESOLUTION_METER);
  png_write_info(png, info);
  for (png_uint_32 row = 0; row < job.height; ++row)
    png_write_row(png, job.grey.data() + size_t(row) * job.width);
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  return true;
}

void check(const Image& image, double pixel) {
  if (image.width < 1 || image.height < 1 || image.width > kMostPixelsASide ||
      image.height > kMostPixelsASide || long(image.width) * image.height > kMostPixels ||
      image.tone.size() != size_t(image.width) * size_t(image.height))
    throw quantity::ValidityError(fmt::format(
        "picture to be written: size = {} x {} (expected 1 to {} a side, at most {} million in all)",
        image.width, image.height, kMostPixelsASide, kMostPixels / 1'000'000));
  if (!image.opacity.empty())
    throw quantity::ValidityError("picture to be written: partly transparent (expected an opaque one)");
  if (!(pixel > 1e-9 && pixel < 1))
    throw quantity::ValidityError(
        fmt::format("picture to be written: pixel = {} m (expected more than 1e-9 m, less than 1 m)", pixel));
}

}  // namespace

void write_image(const Image& image, double pixel, const std::string& path) {
  check(image, pixel);
  Bytes grey(image.tone.size());
  for (size_t i = 0; i < grey.size(); ++i) grey[i] = std::uint8_t((image.tone[i] + 128) / 257);
  Job job{grey, png_uint_32(image.width), png_uint_32(image.height), png_uint_32(std::lround(1 / pixel)), {}};
  if (!encode(job)) throw std::bad_alloc();  // nothing else can go wrong in memory
  quantity::UnfinishedFile file(path);
  file.expect_room(job.packed.size());
  file.write_at(0, job.packed.data(), job.packed.size());
  file.publish();
}

}  // namespace circumfluence::artwork
