// Truth: pictures written here, sample by sample; what the reader of tones makes of the same bytes.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "artwork/image.h"
#include "artwork/made_pictures.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using made::Bytes;
using made::noise;
using quantity::FileError;

struct Mode {
  int colour, depth;
  bool interlaced;
};

std::vector<Mode> modes() {
  std::vector<Mode> out;
  for (const bool interlaced : {false, true})
    for (const int colour :
         {PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_GRAY_ALPHA, PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA})
      for (const int depth : {8, 16}) out.push_back({colour, depth, interlaced});
  return out;
}

TEST(Colours, EverySampleOfAPngIsKept) {
  for (const Mode& mode : modes()) {
    const int channels = made::channels(mode.colour), full = (1 << mode.depth) - 1;
    const auto samples = noise(size_t(13 * 11 * channels), full);
    const Colours seen = decode_colours(made::png({.width = 13,
                                                   .height = 11,
                                                   .depth = mode.depth,
                                                   .colour = mode.colour,
                                                   .interlaced = mode.interlaced},
                                                  samples),
                                        "x");
    ASSERT_EQ(seen.width, 13);
    ASSERT_EQ(seen.height, 11);
    ASSERT_EQ(seen.pixels.size(), 143u);
    for (size_t i = 0; i < seen.pixels.size(); ++i)
      for (size_t c = 0; c < 3; ++c) {
        const int* pixel = samples.data() + i * size_t(channels);
        const double opacity = channels % 2 == 0 ? pixel[channels - 1] / double(full) : 1;
        const double value = pixel[channels < 3 ? 0 : c] / double(full);
        EXPECT_NEAR(seen.pixels[i][c], 255 * (value * opacity + 1 - opacity), 0.51) << "pixel " << i;
      }
  }
}

TEST(Colours, APaletteIsLookedUp) {
  const Colours seen = decode_colours(
      made::png(
          {.width = 2, .height = 1, .colour = PNG_COLOR_TYPE_PALETTE, .palette = {{1, 2, 3}, {250, 0, 9}}},
          {1, 0}),
      "x");
  EXPECT_EQ(seen.pixels, (std::vector<Colour>{{250, 0, 9}, {1, 2, 3}}));
}

TEST(Colours, OfAJpegHaveTheTonesOfItsImage) {
  Bytes pixels;
  for (const int value : noise(24 * 17 * 3, 255)) pixels.push_back(static_cast<std::uint8_t>(value));
  const Bytes file = made::jpeg({24, 17, TJPF_RGB, TJSAMP_420, 0}, pixels);
  const Colours seen = decode_colours(file, "x");
  const Image image = decode_image(file, "x");
  ASSERT_EQ(seen.pixels.size(), image.tone.size());
  for (size_t i = 0; i < image.tone.size(); ++i) {
    const Colour& p = seen.pixels[i];
    EXPECT_NEAR(0.2126 * p[0] + 0.7152 * p[1] + 0.0722 * p[2], image.tone[i] / 257.0, 0.01);
  }
}

TEST(Colours, AGreyJpegIsGrey) {
  const Bytes pixels(64, 77);
  for (const Colour& p : decode_colours(made::jpeg({}, pixels), "x").pixels)
    EXPECT_EQ(p, (Colour{77, 77, 77}));
}

TEST(Colours, EveryTruncationIsRefused) {
  for (const bool interlaced : {false, true}) {
    const Bytes whole =
        made::png({.width = 9, .height = 7, .colour = PNG_COLOR_TYPE_RGB_ALPHA, .interlaced = interlaced},
                  noise(9 * 7 * 4, 255));
    ASSERT_NO_THROW(decode_colours(whole, "x"));
    for (size_t size = 0; size < whole.size(); ++size)
      ASSERT_THROW(decode_colours(std::span(whole).first(size), "x"), FileError) << size;
  }
}

TEST(Colours, AreReadFromAFile) {
  const auto path = std::filesystem::temp_directory_path() / ("colours_test_" + std::to_string(::getpid()) + ".png");
  const Bytes file = made::png({.width = 2, .height = 1, .colour = PNG_COLOR_TYPE_RGB}, {1, 2, 3, 4, 5, 6});
  std::ofstream(path, std::ios::binary)
      .write(reinterpret_cast<const char*>(file.data()), static_cast<std::streamsize>(file.size()));
  EXPECT_EQ(read_colours(path.string()).pixels, (std::vector<Colour>{{1, 2, 3}, {4, 5, 6}}));
  std::filesystem::remove(path);
  EXPECT_THROW(read_colours(path.string()), FileError);
  EXPECT_THROW(read_colours(std::filesystem::temp_directory_path().string()), FileError);
}

}  // namespace
}  // namespace circumfluence::artwork
