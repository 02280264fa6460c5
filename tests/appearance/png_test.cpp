// Truth: the PNG is read back by libpng's own reader; a failed write leaves the folder as it was.
#include "appearance/png.h"

#include <gtest/gtest.h>
#include <png.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

namespace fs = std::filesystem;
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

class Folder : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() /
              ("circumfluence-png-" + std::to_string(testing::UnitTest::GetInstance()->random_seed()) + "-" +
               testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }
  int files() const { return int(std::distance(fs::directory_iterator(folder_), {})); }
  fs::path folder_;
};

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
  const Bytes file = png_bytes({.data = pixels.data(), .width = 2, .height = 1, .stride = 8, .padded = true});
  EXPECT_EQ(read_back(file, width, height), (Bytes{3, 2, 1, 6, 5, 4}));
}

TEST(Png, NoPixelsIsAnError) {
  const Bytes pixels(3);
  EXPECT_THROW(png_bytes({}), quantity::ValidityError);
  EXPECT_THROW(png_bytes({.data = pixels.data(), .width = 0, .height = 1}), quantity::ValidityError);
}

using PngFile = Folder;

TEST_F(PngFile, IsWholeAndAlone) {
  const fs::path path = folder_ / "a.png";
  write_whole(path.string(), {1, 2, 3});
  write_whole(path.string(), {4, 5});  // in place of the first
  std::ifstream file(path, std::ios::binary);
  EXPECT_EQ(std::string(std::istreambuf_iterator<char>(file), {}), "\4\5");
  EXPECT_EQ(files(), 1);
}

TEST_F(PngFile, FailureLeavesNothing) {
  const fs::path missing = folder_ / "no" / "a.png";
  try {
    write_whole(missing.string(), {1});
    FAIL() << "a folder that does not exist was written to";
  } catch (const quantity::FileError& error) {
    EXPECT_EQ(std::string(error.what()).rfind(missing.string() + ": ", 0), 0u) << error.what();
  }
  EXPECT_EQ(files(), 0);

  fs::create_directories(folder_ / "taken" / "inside");  // a folder stands where the file should go
  EXPECT_THROW(write_whole((folder_ / "taken").string(), {1}), quantity::FileError);
  EXPECT_EQ(files(), 1);
  EXPECT_TRUE(fs::is_directory(folder_ / "taken" / "inside"));
}

}  // namespace
}  // namespace circumfluence::appearance
