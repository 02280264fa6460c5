// Truth: a picture of four unlike corners, and where TIFF 6.0 (tag 274, from memory) says that its row 0 and
// its column 0 are seen.
#include <gtest/gtest.h>

#include <array>
#include <string>

#include "artwork/image.h"
#include "artwork/made_pictures.h"

namespace circumfluence::artwork {
namespace {

using made::Bytes;

constexpr int kWidth = 32, kHeight = 16;
// Corners as stored: top left, top right, bottom left, bottom right.
constexpr std::array<int, 4> kLevels = {0, 80, 160, 240};

Bytes corners() {
  Bytes pixels;
  for (int y = 0; y < kHeight; ++y)
    for (int x = 0; x < kWidth; ++x)
      pixels.push_back(std::uint8_t(kLevels[2 * (y >= kHeight / 2) + (x >= kWidth / 2)]));
  return made::jpeg({.width = kWidth, .height = kHeight}, pixels);
}

void put(Bytes& out, unsigned value, int size, bool little) {
  for (int i = 0; i < size; ++i) out.push_back(std::uint8_t(value >> 8 * (little ? i : size - 1 - i)));
}

// The block of a camera that states its resolution too.
Bytes exif(unsigned orientation, bool little) {
  Bytes block;
  for (const char letter : {'E', 'x', 'i', 'f', '\0', '\0', little ? 'I' : 'M', little ? 'I' : 'M'})
    block.push_back(std::uint8_t(letter));
  put(block, 42, 2, little), put(block, 8, 4, little), put(block, 2, 2, little);
  put(block, 296, 2, little), put(block, 3, 2, little), put(block, 1, 4, little), put(block, 2, 2, little),
      put(block, 0, 2, little);
  put(block, 274, 2, little), put(block, 3, 2, little), put(block, 1, 4, little),
      put(block, orientation, 2, little), put(block, 0, 2, little);
  put(block, 0, 4, little);
  return block;
}

// Behind the first segment, as cameras and editors leave it.
Bytes with_block(const Bytes& block) {
  Bytes jpeg = corners();
  Bytes segment = {0xff, 0xe1};
  put(segment, unsigned(block.size() + 2), 2, false);
  segment.insert(segment.end(), block.begin(), block.end());
  const std::size_t at = 4 + (std::size_t{jpeg[4]} << 8 | jpeg[5]);
  jpeg.insert(jpeg.begin() + 2 + std::ptrdiff_t(at - 2), segment.begin(), segment.end());
  return jpeg;
}

std::string seen(const Image& image) {
  std::string out;
  for (const int y : {2, image.height - 3})
    for (const int x : {2, image.width - 3})
      out += "abcd"[(image.tone[std::size_t(y) * image.width + x] / 257 + 40) / 80];
  return out;
}

std::string seen(const Colours& colours) {
  std::string out;
  for (const int y : {2, colours.height - 3})
    for (const int x : {2, colours.width - 3})
      out += "abcd"[(colours.pixels[std::size_t(y) * colours.width + x][0] + 40) / 80];
  return out;
}

// Stored: ab over cd.
constexpr std::array<const char*, 8> kSeen = {"abcd", "badc", "dcba", "cdab", "acbd", "cadb", "dbca", "bdac"};

TEST(Orientation, APictureIsTurnedAsItsCameraWasHeld) {
  for (unsigned way = 1; way <= 8; ++way)
    for (const bool little : {false, true}) {
      const Bytes jpeg = with_block(exif(way, little));
      EXPECT_EQ(stored_orientation(jpeg), int(way));
      const Image image = decode_image(jpeg, "photo.jpg");
      EXPECT_EQ(seen(image), kSeen[way - 1]) << way;
      EXPECT_EQ(seen(decode_colours(jpeg, "photo.jpg")), kSeen[way - 1]) << way;
      EXPECT_EQ(image.width, way < 5 ? kWidth : kHeight);
      EXPECT_EQ(image.height, way < 5 ? kHeight : kWidth);
    }
}

TEST(Orientation, WithoutASoundTagAPictureStandsAsStored) {
  EXPECT_EQ(stored_orientation(corners()), 1);
  EXPECT_EQ(stored_orientation({}), 1);
  for (const unsigned unknown : {0u, 9u, 65535u})
    EXPECT_EQ(stored_orientation(with_block(exif(unknown, true))), 1);
  const Bytes block = exif(6, false);
  for (std::size_t length = 0; length < block.size() - 4; ++length)  // cut off anywhere before the value ends
    EXPECT_EQ(stored_orientation(with_block(Bytes(block.begin(), block.begin() + std::ptrdiff_t(length)))), 1)
        << length;
  Bytes odd = block;
  odd[6] = 'X';
  EXPECT_EQ(stored_orientation(with_block(odd)), 1);
  odd = block, odd[10] = 0xff;  // a table far beyond the block
  EXPECT_EQ(stored_orientation(with_block(odd)), 1);
  odd = block, odd[14] = 0xff;  // more entries than there is room for
  EXPECT_EQ(stored_orientation(with_block(odd)), 6);
}

TEST(Orientation, WhatIsTransparentTurnsToo) {
  Image image{2, 1, {1, 2}, {3, 4}};
  upright(image, 6);
  EXPECT_EQ(image.height, 2);
  EXPECT_EQ(image.tone, (std::vector<std::uint16_t>{1, 2}));
  EXPECT_EQ(image.opacity, (std::vector<std::uint16_t>{3, 4}));
  upright(image, 3);
  EXPECT_EQ(image.opacity, (std::vector<std::uint16_t>{4, 3}));
}

}  // namespace
}  // namespace circumfluence::artwork
