// Truth: what is read must be what is in the file now.
#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <string>

#include "artwork/image.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

namespace fs = std::filesystem;

TEST(ReadImageAgain, FollowsTheFile) {
  const fs::path source(CIRCUMFLUENCE_SOURCE "/tests/fuzz/corpus/image");
  const fs::path path = fs::temp_directory_path() / ("again_" + std::to_string(::getpid()) + ".png");
  fs::copy_file(source / "rgba.png", path, fs::copy_options::overwrite_existing);
  const Image first = read_image_again(path.string()), same = read_image_again(path.string());
  EXPECT_EQ(first.tone, same.tone);
  EXPECT_EQ(first.opacity, same.opacity);
  fs::copy_file(source / "palette.png", path, fs::copy_options::overwrite_existing);
  fs::last_write_time(path, fs::last_write_time(path) + std::chrono::seconds(2));
  const Image now = read_image_again(path.string());
  EXPECT_EQ(now.tone, read_image(path.string()).tone);
  EXPECT_NE(now.tone, first.tone);
  fs::remove(path);
  EXPECT_THROW(read_image_again(path.string()), quantity::FileError);
}

}  // namespace
}  // namespace circumfluence::artwork
