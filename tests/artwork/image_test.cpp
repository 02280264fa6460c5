// Truth: pictures written here, sample by sample, by the same standards that the reader follows (PNG 2nd ed.
// sample scaling: full scale is 2^depth - 1; luma weights of Rec. ITU-R BT.709-6, item 3.2).
#include "artwork/image.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <string>

#include "artwork/made_pictures.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using made::Bytes;
using made::noise;
using quantity::FileError;
using ::testing::HasSubstr;

double full(int depth) {
  return (1 << depth) - 1;
}

std::string failure(const Bytes& bytes) {
  try {
    decode_image(bytes, "bottle.png");
  } catch (const FileError& error) {
    return error.what();
  }
  return "no error";
}

// ---- PNG, every kind ----

struct Mode {
  int colour, depth;
  bool interlaced;
};

class PngMode : public ::testing::TestWithParam<Mode> {};

// What the reader must give for one pixel's samples, worked out in double.
void expect_pixel(const Image& image, std::size_t at, const int* samples, const Mode& mode) {
  const int channels = made::channels(mode.colour);
  const bool colour = channels >= 3;
  const double scale = 65535 / full(mode.depth);
  const double tone = colour ? 0.2126 * samples[0] + 0.7152 * samples[1] + 0.0722 * samples[2] : samples[0];
  EXPECT_NEAR(image.tone[at], tone * scale, colour ? 1.5 : 0.0) << "pixel " << at;
  if (channels % 2 == 0) {
    EXPECT_EQ(image.opacity[at], samples[channels - 1] * scale) << "pixel " << at;
  }
}

TEST_P(PngMode, KeepsEverySample) {
  const Mode mode = GetParam();
  for (const auto& [width, height] : {std::pair{1, 1}, {3, 2}, {13, 11}, {64, 9}}) {
    const int channels = made::channels(mode.colour);
    const auto samples = noise(static_cast<std::size_t>(width) * height * channels, (1 << mode.depth) - 1);
    const Image image = decode_image(made::png({.width = width,
                                                .height = height,
                                                .depth = mode.depth,
                                                .colour = mode.colour,
                                                .interlaced = mode.interlaced},
                                               samples),
                                     "x");
    ASSERT_EQ(image.width, width);
    ASSERT_EQ(image.height, height);
    ASSERT_EQ(image.tone.size(), static_cast<std::size_t>(width) * height);
    ASSERT_EQ(image.opacity.size(), channels % 2 == 0 ? image.tone.size() : 0);
    for (std::size_t i = 0; i < image.tone.size(); ++i)
      expect_pixel(image, i, samples.data() + i * channels, mode);
  }
}

std::vector<Mode> all_modes() {
  std::vector<Mode> modes;
  for (const bool interlaced : {false, true}) {
    for (const int depth : {1, 2, 4, 8, 16}) modes.push_back({PNG_COLOR_TYPE_GRAY, depth, interlaced});
    for (const int depth : {8, 16})
      for (const int colour : {PNG_COLOR_TYPE_GRAY_ALPHA, PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA})
        modes.push_back({colour, depth, interlaced});
  }
  return modes;
}
INSTANTIATE_TEST_SUITE_P(All, PngMode, ::testing::ValuesIn(all_modes()), [](const auto& mode) {
  return "colour" + std::to_string(mode.param.colour) + "_" + std::to_string(mode.param.depth) + "bit" +
         (mode.param.interlaced ? "_interlaced" : "");
});

TEST(Png, PaletteIsLookedUp) {
  const std::vector<png_color> palette = {{0, 0, 0}, {255, 255, 255}, {255, 0, 0}, {7, 7, 7}};
  for (const int depth : {2, 4, 8})
    for (const bool interlaced : {false, true}) {
      const Image image = decode_image(made::png({.width = 4,
                                                  .height = 1,
                                                  .depth = depth,
                                                  .colour = PNG_COLOR_TYPE_PALETTE,
                                                  .interlaced = interlaced,
                                                  .palette = palette},
                                                 {3, 2, 1, 0}),
                                       "x");
      EXPECT_TRUE(image.opacity.empty());
      EXPECT_EQ(image.tone[0], 7 * 257);
      EXPECT_NEAR(image.tone[1], 0.2126 * 65535, 1);
      EXPECT_EQ(image.tone[2], 65535);
      EXPECT_EQ(image.tone[3], 0);
    }
}

TEST(Png, PaletteMayBeTransparent) {
  const Image image = decode_image(made::png({.width = 3,
                                              .height = 1,
                                              .depth = 8,
                                              .colour = PNG_COLOR_TYPE_PALETTE,
                                              .palette = {{0, 0, 0}, {255, 255, 255}, {9, 9, 9}},
                                              .palette_opacity = {0, 128}},
                                             {0, 1, 2}),
                                   "x");
  EXPECT_EQ(image.opacity, (std::vector<std::uint16_t>{0, 128 * 257, 65535}));
}

TEST(Png, OneLevelMayBeTransparent) {
  for (const int depth : {1, 4, 8, 16}) {
    const Image image =
        decode_image(made::png({.width = 2, .height = 1, .depth = depth, .transparent = 1}, {1, 0}), "x");
    EXPECT_EQ(image.opacity, (std::vector<std::uint16_t>{0, 65535})) << depth;
  }
  const Image image = decode_image(
      made::png({.width = 2, .height = 1, .depth = 16, .colour = PNG_COLOR_TYPE_RGB, .transparent = 300},
                {300, 300, 300, 300, 301, 300}),
      "x");
  EXPECT_EQ(image.opacity, (std::vector<std::uint16_t>{0, 65535}));
}

TEST(Png, OpacityIsDroppedWhenAllIsOpaque) {
  const Image image = decode_image(
      made::png({.width = 2, .height = 1, .colour = PNG_COLOR_TYPE_GRAY_ALPHA}, {10, 255, 20, 255}), "x");
  EXPECT_TRUE(image.opacity.empty());
}

TEST(Luma, GreyPixelsKeepTheirValue) {
  std::vector<int> samples;
  for (int value = 0; value < 65536; ++value) samples.insert(samples.end(), 3, value);
  const Image image = decode_image(
      made::png({.width = 256, .height = 256, .depth = 16, .colour = PNG_COLOR_TYPE_RGB}, samples), "x");
  for (int value = 0; value < 65536; ++value) ASSERT_EQ(image.tone[value], value);
}

// ---- JPEG ----

TEST(Jpeg, GreyWithinTheCoding) {
  const int width = 37, height = 21;
  Bytes pixels(width * height);
  for (int i = 0; i < width * height; ++i)
    pixels[i] = static_cast<std::uint8_t>(4 * (i % width) + 3 * (i / width));
  for (const int flags : {0, TJFLAG_PROGRESSIVE}) {
    const Image image = decode_image(made::jpeg({width, height, TJPF_GRAY, TJSAMP_GRAY, flags}, pixels), "x");
    ASSERT_EQ(image.width, width);
    ASSERT_EQ(image.height, height);
    EXPECT_TRUE(image.opacity.empty());
    for (std::size_t i = 0; i < pixels.size(); ++i) ASSERT_NEAR(image.tone[i], pixels[i] * 257, 2 * 257);
  }
}

TEST(Jpeg, ColourWithinTheCoding) {
  const int width = 16, height = 16;
  for (const auto& rgb : {std::array{255, 0, 0}, {0, 255, 0}, {0, 0, 255}, {90, 90, 90}, {20, 130, 240}}) {
    Bytes pixels;
    for (int i = 0; i < width * height; ++i)
      for (const int level : rgb) pixels.push_back(static_cast<std::uint8_t>(level));
    const Image image = decode_image(made::jpeg({width, height, TJPF_RGB, TJSAMP_444}, pixels), "x");
    const double expected = 257 * (0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]);
    for (const std::uint16_t tone : image.tone) ASSERT_NEAR(tone, expected, 2 * 257);
  }
}

TEST(Jpeg, CmykIsRefused) {
  const Bytes pixels(8 * 8 * 4, 100);
  EXPECT_THAT(failure(made::jpeg({8, 8, TJPF_CMYK, TJSAMP_444}, pixels)), HasSubstr("CMYK"));
}

TEST(Jpeg, EndlessScansAreRefused) {
  Bytes bytes = made::jpeg({16, 16, TJPF_GRAY, TJSAMP_GRAY, TJFLAG_PROGRESSIVE}, Bytes(256, 77));
  // The last refining scan again and again: cheap to write, costly to read.
  std::size_t scan = bytes.size();
  while (!(bytes[scan - 2] == 0xff && bytes[scan - 1] == 0xda)) --scan;
  const Bytes last(bytes.begin() + static_cast<long>(scan) - 2, bytes.end() - 2);
  for (int i = 0; i < 100; ++i) bytes.insert(bytes.end() - 2, last.begin(), last.end());
  EXPECT_THAT(failure(bytes), HasSubstr("scans"));
}

}  // namespace
}  // namespace circumfluence::artwork
