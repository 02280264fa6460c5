// Truth: limits. Whatever the bytes, the reader either gives the whole picture or says why it cannot.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "artwork/image.h"
#include "artwork/made_pictures.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using made::Bytes;
using made::noise;
using quantity::FileError;
using ::testing::HasSubstr;

std::string failure(const Bytes& bytes) {
  try {
    decode_image(bytes, "bottle.png");
  } catch (const FileError& error) {
    return error.what();
  }
  return "no error";
}

class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "image_test_XXXXXX").string();
    path_ = mkdtemp(name.data());
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  std::string put(const std::string& name, const Bytes& bytes) const {
    std::ofstream(path_ / name, std::ios::binary)
        .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    return (path_ / name).string();
  }
  std::string path() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

std::string failure(const std::string& path) {
  try {
    read_image(path);
  } catch (const FileError& error) {
    return error.what();
  }
  return "no error";
}

Bytes small_png(bool interlaced) {
  return made::png({.width = 9, .height = 7, .colour = PNG_COLOR_TYPE_RGB_ALPHA, .interlaced = interlaced},
                   noise(9 * 7 * 4, 255));
}

Bytes small_jpeg(int flags) {
  Bytes pixels;
  for (const int value : noise(24 * 17 * 3, 255)) pixels.push_back(static_cast<std::uint8_t>(value));
  return made::jpeg({24, 17, TJPF_RGB, TJSAMP_420, flags}, pixels);
}

TEST(Hostile, EveryTruncationIsRefused) {
  for (const Bytes& whole :
       {small_png(false), small_png(true), small_jpeg(0), small_jpeg(TJFLAG_PROGRESSIVE)}) {
    ASSERT_NO_THROW(decode_image(whole, "x"));
    for (std::size_t size = 0; size < whole.size(); ++size)
      ASSERT_THROW(decode_image(std::span(whole).first(size), "x"), FileError)
          << size << " of " << whole.size();
  }
}

TEST(Hostile, EveryFlippedByteOfAPngIsRefusedOrHarmless) {
  const Bytes whole = small_png(false);
  for (std::size_t i = 0; i < whole.size(); ++i) {
    Bytes bytes = whole;
    bytes[i] ^= 0x55;
    // Nothing but a FileError; each chunk's checksum makes it one every time.
    ASSERT_THROW(decode_image(bytes, "x"), FileError) << i;
  }
}

TEST(Hostile, RandomBytesAreRefused) {
  const Bytes png = small_png(false), jpeg = small_jpeg(0);
  for (unsigned seed = 0; seed < 2000; ++seed) {
    Bytes bytes;
    for (const int value : noise(1 + seed % 300, 255, seed))
      bytes.push_back(static_cast<std::uint8_t>(value));
    const Bytes& real = seed % 2 ? png : jpeg;
    bytes.insert(bytes.begin(), real.begin(), real.begin() + seed % 64);
    ASSERT_THROW(decode_image(bytes, "x"), FileError) << seed;
  }
}

// An IHDR, its checksum right, and the start of some image data.
Bytes png_claiming(std::uint32_t width, std::uint32_t height) {
  Bytes bytes = made::png({.width = 1, .height = 1}, {0});
  for (int i = 0; i < 4; ++i) {
    bytes[16 + i] = static_cast<std::uint8_t>(width >> (24 - 8 * i));
    bytes[20 + i] = static_cast<std::uint8_t>(height >> (24 - 8 * i));
  }
  std::uint32_t crc = 0xffffffffu;
  for (int i = 12; i < 29; ++i) {
    crc ^= bytes[i];
    for (int bit = 0; bit < 8; ++bit) crc = crc >> 1 ^ (crc & 1 ? 0xedb88320u : 0);
  }
  for (int i = 0; i < 4; ++i) bytes[29 + i] = static_cast<std::uint8_t>(~crc >> (24 - 8 * i));
  return bytes;
}

TEST(Hostile, HugeClaimsAreRefused) {
  EXPECT_THAT(failure(png_claiming(60000, 60000)), HasSubstr("60000 x 60000 pixels (too large"));
  EXPECT_THAT(failure(png_claiming(2147483647, 1)), HasSubstr("too large"));
  EXPECT_THAT(failure(png_claiming(0, 5)), HasSubstr("PNG"));
  EXPECT_THAT(failure(png_claiming(0xffffffff, 0xffffffff)), HasSubstr("PNG"));
  EXPECT_THAT(failure(png_claiming(10000, 10000)), HasSubstr("cannot hold 10000 x 10000"));
  Bytes jpeg = small_jpeg(0);
  for (std::size_t i = 2; i < jpeg.size() - 9; ++i)
    if (jpeg[i] == 0xff && jpeg[i + 1] == 0xc0) {
      jpeg[i + 5] = jpeg[i + 7] = 0xea;  // 60000 = 0xea60
      jpeg[i + 6] = jpeg[i + 8] = 0x60;
      break;
    }
  EXPECT_THAT(failure(jpeg), HasSubstr("60000 x 60000 pixels (too large"));
}

TEST(Hostile, LargestPictureStillReads) {
  const int side = 10000;  // kMostPixels exactly, from a file of some 12 kB
  const Bytes bytes = made::png({.width = side, .height = side, .depth = 1},
                                std::vector<int>(static_cast<std::size_t>(side) * side, 1));
  EXPECT_LT(bytes.size(), 100'000u);
  const Image image = decode_image(bytes, "x");
  EXPECT_EQ(image.tone.front(), 65535);
  EXPECT_EQ(image.tone.back(), 65535);
}

TEST(ReadImage, ContentDecidesNotTheName) {
  const Folder folder;
  EXPECT_EQ(read_image(folder.put("bottle.jpg", small_png(false))).width, 9);
  EXPECT_EQ(read_image(folder.put("bottle.png", small_jpeg(0))).width, 24);
}

TEST(ReadImage, SaysWhatIsWrong) {
  const Folder folder;
  EXPECT_THAT(failure(folder.path() + "/none.png"), HasSubstr("none.png: there is no such file"));
  EXPECT_THAT(failure(folder.path()), HasSubstr("a folder"));
  EXPECT_THAT(failure(folder.put("empty.png", {})), HasSubstr("empty"));
  EXPECT_THAT(failure(folder.put("map.png", {'%', 'P', 'D', 'F', '-'})),
              HasSubstr("map.png: not a PNG or JPEG picture (it starts with 25 50 44 46)"));
  EXPECT_THAT(failure(std::string("/dev/zero")), HasSubstr("not an ordinary file"));
  Bytes cut = small_png(false);
  cut.resize(60);
  EXPECT_THAT(failure(folder.put("cut.png", cut)), HasSubstr("cut.png: damaged or truncated PNG"));
}

TEST(ReadImage, TooLargeAFileIsNotRead) {
  const Folder folder;
  const std::string path = folder.put("long.png", small_png(false));
  std::filesystem::resize_file(path, kMostFileBytes + 1);  // sparse
  EXPECT_THAT(failure(path), HasSubstr("too large a file"));
}

}  // namespace
}  // namespace circumfluence::artwork
