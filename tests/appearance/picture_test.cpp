// Truth: areas mixed by hand in linear light (IEC 61966-2-1); colour vision after the source of eyes.h.
#include "appearance/picture.h"

#include <gtest/gtest.h>
#include <png.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numeric>
#include <vector>

#include "appearance/eyes.h"
#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

namespace fs = std::filesystem;
using Row = std::vector<std::uint8_t>;

// One block of `edge` x `edge` cells, filled with the states in turn: outcome + 4 where wanted.
Overview block_of(const std::vector<int>& states, int edge) {
  Overview overview(edge, edge, 1);
  size_t next = 0;
  for (int a = 0; a < edge; ++a) {
    Row outcome, wanted;
    for (int u = 0; u < edge; ++u, ++next) {
      const int state = next < states.size() ? states[next] : 0;
      outcome.push_back(static_cast<std::uint8_t>(state & 3));
      wanted.push_back(static_cast<std::uint8_t>(state >> 2));
    }
    overview.add_row(a, outcome, wanted);
  }
  return overview;
}

TEST(Picture, AroundRunsUpwardAndAxialToTheRight) {
  Overview overview(2, 3);
  overview.add_row(0, Row{2, 0, 0}, Row{1, 0, 0});  // marked at the start of both
  overview.add_row(1, Row{0, 0, 3}, Row{0, 0, 1});  // over-burned at the end of both
  const Pixels pixels = outcome_pixels(overview);
  ASSERT_EQ(pixels.width, 3);
  ASSERT_EQ(pixels.height, 2);
  EXPECT_EQ(pixels.rgb[3], colour_of(Verdict::marked));       // lower left
  EXPECT_EQ(pixels.rgb[2], colour_of(Verdict::over_burned));  // upper right
  EXPECT_EQ(pixels.rgb[0], colour_of(Verdict::spared));
}

TEST(Picture, EveryStateHasItsVerdict) {
  const Verdict expected[8] = {Verdict::spared,      Verdict::stray,      Verdict::stray,
                               Verdict::over_burned, Verdict::missing,    Verdict::under_marked,
                               Verdict::marked,      Verdict::over_burned};
  for (int state = 0; state < 8; ++state) {
    EXPECT_EQ(verdict(state & 3, state >= 4), expected[state]);
    EXPECT_EQ(outcome_pixels(block_of({state}, 1)).rgb[0], colour_of(expected[state]));
  }
}

TEST(Picture, AFaultShowsFromAQuarterAndOverburnFromAnEighth) {
  const auto seen = [](std::vector<int> states) { return outcome_pixels(block_of(states, 4)).rgb[0]; };
  EXPECT_EQ(seen({5, 5, 5, 5}), colour_of(Verdict::under_marked));
  EXPECT_EQ(seen({5, 5, 5}), colour_of(Verdict::spared));
  EXPECT_EQ(seen({7, 7}), colour_of(Verdict::over_burned));
  EXPECT_EQ(seen({7}), colour_of(Verdict::spared));
  EXPECT_EQ(seen({5, 5, 5, 5, 7, 7, 7}), colour_of(Verdict::over_burned));
}

// Half the light of white (0.5) is sRGB 188, not 128.
TEST(Picture, ViewMixesLightByArea) {
  const Palette palette{{0, 0, 0}, {255, 255, 255}, {255, 0, 0}};
  const auto seen = [&](std::vector<int> states) { return view_pixels(block_of(states, 2), palette).rgb[0]; };
  EXPECT_EQ(seen({6, 6, 0, 0}), (Colour{188, 188, 188}));
  EXPECT_EQ(seen({5, 5, 5, 5}), (Colour{188, 188, 188}));  // under-marked: half and half
  EXPECT_EQ(seen({6, 2, 6, 2}), (Colour{255, 255, 255}));  // the eye doesn't know what was wanted
  EXPECT_EQ(seen({7, 7, 3, 0}), (Colour{225, 0, 0}));      // 0.75 of the light
  EXPECT_EQ(seen({0, 4, 0, 4}), (Colour{0, 0, 0}));
}

TEST(Picture, ViewOfOneStateIsItsColourExactly) {
  for (int value = 0; value < 256; ++value) {
    const auto v = static_cast<std::uint8_t>(value);
    const auto w = static_cast<std::uint8_t>(255 - value);
    const Palette palette{{v, w, 7}, {w, 3, v}, {w, v, w}};
    EXPECT_EQ(view_pixels(block_of({0}, 1), palette).rgb[0], palette.ground);
    EXPECT_EQ(view_pixels(block_of({6}, 1), palette).rgb[0], palette.marked);
    EXPECT_EQ(view_pixels(block_of({7}, 1), palette).rgb[0], palette.over);
  }
}

TEST(Picture, SharesAreOfTheWholeArea) {
  const auto share = shares(block_of({0, 1, 2, 3, 4, 5, 6, 7}, 3));  // and one more spared
  const double ninth = 1.0 / 9.0;
  const double expected[kVerdicts] = {2 * ninth, ninth, ninth, 2 * ninth, ninth, 2 * ninth};
  for (int i = 0; i < kVerdicts; ++i) EXPECT_NEAR(share[i], expected[i], 1e-15);
}

TEST(Picture, ColoursStayApartForColourBlindEyes) {
  for (int eye = 0; eye < kEyes; ++eye)
    for (int i = 0; i < kVerdicts; ++i)
      for (int j = 0; j < i; ++j)
        EXPECT_GT(ciede2000(seen_by(eye, colour_of(Verdict(i))), seen_by(eye, colour_of(Verdict(j)))), 19.5)
            << kVerdictNames[i] << " and " << kVerdictNames[j] << ", eye " << eye;
}

TEST(Picture, ColoursAreRead) {
  EXPECT_EQ(parse_colour("#1a2B3c"), (Colour{0x1a, 0x2b, 0x3c}));
  EXPECT_EQ(parse_colour("#ffffff"), (Colour{255, 255, 255}));
  for (const char* wrong : {"", "#", "1a2b3c", "#1a2b3", "#1a2b3c4", "#1a2b3g", "#12 456", "blue", "#1a2b-1",
                            "#\x10\x11\x12\x13\x14\x15"})
    EXPECT_THROW(parse_colour(wrong), quantity::JobError) << wrong;
  try {
    parse_colour("blue");
  } catch (const quantity::JobError& error) {
    EXPECT_NE(std::string(error.what()).find("\"blue\""), std::string::npos);
  }
}

struct ReadBack {
  std::vector<Colour> pixels;
  int width = 0, height = 0;
  size_t count(Colour colour) const { return size_t(std::count(pixels.begin(), pixels.end(), colour)); }
};

ReadBack read(const std::string& path) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  EXPECT_TRUE(png_image_begin_read_from_file(&image, path.c_str())) << image.message;
  image.format = PNG_FORMAT_RGB;
  ReadBack back{std::vector<Colour>(size_t(image.width) * image.height), int(image.width), int(image.height)};
  EXPECT_TRUE(png_image_finish_read(&image, nullptr, back.pixels.data(), 0, nullptr)) << image.message;
  return back;
}

// A name of this process alone: tests run beside each other.
std::string scratch(const char* name) {
  return (fs::path(testing::TempDir()) / (std::to_string(getpid()) + name)).string();
}

Frame frame(bool legend) {
  return {0.0, 0.01, 0.0, 0.01, "A title", "and what is below it", legend};
}

TEST(WritePicture, MagnifiesSmallMapsBySquares) {
  Overview fine(2, 2);
  fine.add_row(0, Row{2, 0}, Row{1, 0});
  fine.add_row(1, Row{0, 3}, Row{0, 0});
  const std::string path = scratch("circumfluence-magnified.png");
  write_picture(path, outcome_pixels(fine), frame(false), fine);
  const ReadBack back = read(path);
  EXPECT_EQ(back.count(colour_of(Verdict::marked)), 350u * 350u);
  EXPECT_EQ(back.count(colour_of(Verdict::over_burned)), 350u * 350u);
  EXPECT_EQ(back.count(colour_of(Verdict::spared)), 2u * 350u * 350u);
  fs::remove(path);
}

TEST(WritePicture, LegendShowsEveryColour) {
  const Overview overview = block_of({0}, 2);
  const std::string path = scratch("circumfluence-legend.png");
  write_picture(path, outcome_pixels(overview), frame(true), overview);
  const ReadBack with = read(path);
  write_picture(path, outcome_pixels(overview), frame(false), overview);
  const ReadBack without = read(path);
  for (int i = 1; i < kVerdicts; ++i) {
    EXPECT_EQ(with.count(colour_of(Verdict(i))), 20u * 14u) << kVerdictNames[i];
    EXPECT_EQ(without.count(colour_of(Verdict(i))), 0u);
  }
  fs::remove(path);
}

// The sides of extreme shapes still leave room for legend and titles.
TEST(WritePicture, AnyShapeIsDrawn) {
  for (const auto& [around, axial] : {std::pair{1, 1}, {1, 3000}, {3000, 1}, {700, 300}}) {
    Overview overview(around, axial);
    const Row row(size_t(axial), 0);
    for (int a = 0; a < around; ++a) overview.add_row(a, row, row);
    const std::string path = scratch("circumfluence-shape.png");
    write_picture(path, outcome_pixels(overview), frame(true), overview);
    const ReadBack back = read(path);
    EXPECT_GT(back.width, 500);
    for (int i = 1; i < kVerdicts; ++i) EXPECT_EQ(back.count(colour_of(Verdict(i))), 20u * 14u);
    fs::remove(path);
  }
}

TEST(WritePicture, FailureLeavesNothing) {
  const Overview overview = block_of({0}, 1);
  const std::string path = scratch("circumfluence-no-such-folder/a.png");
  EXPECT_THROW(write_picture(path, outcome_pixels(overview), frame(true), overview), quantity::FileError);
  EXPECT_FALSE(fs::exists(fs::path(path).parent_path()));
  EXPECT_THROW(write_picture(path, {}, frame(true), {}), quantity::FileError);
}

TEST(EncodePng, StartsLikeOneAndHasThePixels) {
  const Pixels pixels{2, 1, {{1, 2, 3}, {250, 0, 9}}};
  const auto bytes = encode_png(pixels);
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  ASSERT_TRUE(png_image_begin_read_from_memory(&image, bytes.data(), bytes.size()));
  image.format = PNG_FORMAT_RGB;
  std::vector<Colour> back(2);
  ASSERT_TRUE(png_image_finish_read(&image, nullptr, back.data(), 0, nullptr));
  EXPECT_EQ(back, pixels.rgb);
}

}  // namespace
}  // namespace circumfluence::appearance
