// Truth: what was written, read back by the room's own reader: sizes exactly, colours as far as the quality
// keeps them.
#include <gtest/gtest.h>

#include <cmath>

#include "artwork/image.h"
#include "artwork/png.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

// Slow gradients of three colours.
std::vector<std::uint8_t> gradients(int width, int height) {
  std::vector<std::uint8_t> out;
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      for (const int value : {x * 255 / width, y * 255 / height, 128}) out.push_back(std::uint8_t(value));
  return out;
}

double worst(const std::vector<std::uint8_t>& samples, const Colours& read) {
  double out = 0;
  for (size_t i = 0; i < read.pixels.size(); ++i)
    for (size_t k = 0; k < 3; ++k)
      out = std::max(out, std::abs(double(samples[3 * i + k]) - read.pixels[i][k]));
  return out;
}

TEST(JpegWrite, ComesBackAsItWas) {
  const auto samples = gradients(75, 50);
  const auto encoded = [&](int quality) {
    return encode_jpeg({.data = samples.data(), .width = 75, .height = 50, .stride = 225}, quality);
  };
  const Colours read = decode_colours(encoded(95), "made");
  ASSERT_EQ(read.width, 75);
  ASSERT_EQ(read.height, 50);
  EXPECT_LE(worst(samples, read), 8);
  EXPECT_LT(encoded(40).size(), encoded(95).size());
}

TEST(JpegWrite, GreyStaysGrey) {
  std::vector<std::uint8_t> samples;
  for (int i = 0; i < 32 * 16; ++i) samples.push_back(std::uint8_t(i % 32 * 8));
  const PngSource source{
      .data = samples.data(), .width = 32, .height = 16, .stride = 32, .samples = Samples::grey};
  const Image read = decode_image(encode_jpeg(source, 95), "made");
  for (size_t i = 0; i < samples.size(); ++i) EXPECT_NEAR(read.tone[i] / 257.0, samples[i], 6);
}

TEST(JpegWrite, PaddedSamplesAreBlueFirst) {
  std::vector<std::uint8_t> samples;
  for (int i = 0; i < 16 * 16; ++i) samples.insert(samples.end(), {250, 0, 0, 99});
  const PngSource source{
      .data = samples.data(), .width = 16, .height = 16, .stride = 64, .samples = Samples::padded};
  const Colour pixel = decode_colours(encode_jpeg(source, 95), "made").pixels[100];
  EXPECT_LE(pixel[0], 8);
  EXPECT_GE(pixel[2], 240);
}

TEST(JpegWrite, SaysWhatItCannotWrite) {
  const auto samples = gradients(4, 4);
  EXPECT_THROW(encode_jpeg({}), quantity::ValidityError);
  EXPECT_THROW(encode_jpeg({.data = samples.data(), .width = 0, .height = 4, .stride = 12}),
               quantity::ValidityError);
  EXPECT_THROW(encode_jpeg({.data = samples.data(), .width = 70'000, .height = 1, .stride = 12}),
               quantity::ValidityError);
  EXPECT_THROW(encode_jpeg({.data = samples.data(), .width = 4, .height = 4, .stride = 12}, 0),
               quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::artwork
