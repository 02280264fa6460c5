#include <fmt/format.h>

#include "artwork/image.h"
#include "artwork/png.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::artwork {
namespace {

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
  std::vector<std::uint8_t> grey(image.tone.size());
  for (size_t i = 0; i < grey.size(); ++i) grey[i] = std::uint8_t((image.tone[i] + 128) / 257);
  quantity::write_whole(path, png_bytes({.data = grey.data(),
                                         .width = image.width,
                                         .height = image.height,
                                         .stride = size_t(image.width),
                                         .samples = Samples::grey,
                                         .axial_pitch = pixel,
                                         .around_pitch = pixel,
                                         .kept = true}));
}

}  // namespace circumfluence::artwork
