// Truth: the PNG is read back by libpng's own reader.
#include "artwork/png.h"

#include <gtest/gtest.h>
#include <png.h>

#include <vector>

#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes read_back(const Bytes& file, int& width, int& height) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  EXPECT_TRUE(png_image_begin_read_from_memory(&image, file.data(), file.size())) << image.message;
  image.format = PNG_FORMAT_RGB;
  Bytes pixels(PNG_IMAGE_SIZE(image));
  EXPECT_TRUE(png_image_finish_read(&image, nullptr, pixels.data(), 0, nullptr)) << image.message;
  width = int(image.width);
  height = int(image.height);
  return pixels;
}

Bytes gradient(int width, int height) {
  Bytes pixels;
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      for (const int value : {x * 7, y * 11, x * y}) pixels.push_back(static_cast<std::uint8_t>(value));
  return pixels;
}

TEST(Png, ReadsBackAsWritten) {
  const Bytes pixels = gradient(37, 23);
  int width = 0, height = 0;
  const Bytes file = png_bytes({.data = pixels.data(), .width = 37, .height = 23, .stride = 3 * 37});
  EXPECT_EQ(read_back(file, width, height), pixels);
  EXPECT_EQ(width, 37);
  EXPECT_EQ(height, 23);
}

TEST(Png, PaddedPixelsAreBlueGreenRed) {
  const Bytes pixels = {1, 2, 3, 99, 4, 5, 6, 99};
  int width = 0, height = 0;
  const Bytes file = png_bytes({.data = pixels.data(), .width = 2, .height = 1, .stride = 8, .samples = Samples::padded});
  EXPECT_EQ(read_back(file, width, height), (Bytes{3, 2, 1, 6, 5, 4}));
}

TEST(Png, NoPixelsIsAnError) {
  const Bytes pixels(3);
  EXPECT_THROW(png_bytes({}), quantity::ValidityError);
  EXPECT_THROW(png_bytes({.data = pixels.data(), .width = 0, .height = 1}), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::artwork
