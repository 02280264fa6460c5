// Truth: what the folder holds before and after, seen through the file system.
#include "quantity/unfinished_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

#include "mark/sample_map.h"
#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

using mark::TestFolder;

std::string content(const std::string& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(UnfinishedFile, AppearsOnlyWhenPublished) {
  const TestFolder folder;
  UnfinishedFile file(folder.file("a"));
  file.write_at(2, "cd", 2);
  file.write_at(0, "ab", 2);
  EXPECT_FALSE(std::filesystem::exists(folder.file("a")));
  EXPECT_EQ(std::filesystem::path(file.temporary()).parent_path(), folder.path);
  file.publish();
  EXPECT_EQ(content(folder.file("a")), "abcd");
  EXPECT_THAT(folder.names(), testing::ElementsAre("a"));
}

TEST(UnfinishedFile, ReplacesAnOldFileWhole) {
  const TestFolder folder;
  std::ofstream(folder.file("a")) << "older and longer";
  {
    UnfinishedFile abandoned(folder.file("a"));
    abandoned.write_at(0, "no", 2);
  }
  EXPECT_EQ(content(folder.file("a")), "older and longer");
  UnfinishedFile file(folder.file("a"));
  file.write_at(0, "new", 3);
  file.publish();
  EXPECT_EQ(content(folder.file("a")), "new");
  EXPECT_THAT(folder.names(), testing::ElementsAre("a"));
}

TEST(UnfinishedFile, FollowsASymbolicLink) {
  const TestFolder folder;
  std::filesystem::create_directory(folder.path / "disk");
  std::ofstream(folder.file("disk/real")) << "old";
  std::filesystem::create_symlink("disk/real", folder.path / "link");
  UnfinishedFile file(folder.file("link"));
  file.write_at(0, "new", 3);
  file.publish();
  EXPECT_TRUE(std::filesystem::is_symlink(folder.path / "link"));
  EXPECT_EQ(content(folder.file("disk/real")), "new");
}

TEST(UnfinishedFile, SaysWhenTheDiskIsTooSmall) {
  const TestFolder folder;
  const UnfinishedFile file(folder.file("a"));
  EXPECT_NO_THROW(file.expect_room(1));
  EXPECT_THROW(file.expect_room(std::uint64_t{1} << 62), FileError);
}

namespace fs = std::filesystem;
using Bytes = std::vector<std::uint8_t>;

class Folder : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() /
              ("circumfluence-whole-" + std::to_string(testing::UnitTest::GetInstance()->random_seed()) + "-" +
               testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }
  int files() const { return int(std::distance(fs::directory_iterator(folder_), {})); }
  fs::path folder_;
};

using WholeFile = Folder;

TEST_F(WholeFile, IsWholeAndAlone) {
  const fs::path path = folder_ / "a.png";
  write_whole(path.string(), Bytes{1, 2, 3});
  write_whole(path.string(), Bytes{4, 5});  // in place of the first
  std::ifstream file(path, std::ios::binary);
  EXPECT_EQ(std::string(std::istreambuf_iterator<char>(file), {}), "\4\5");
  EXPECT_EQ(files(), 1);
}

TEST_F(WholeFile, FailureLeavesNothing) {
  const fs::path missing = folder_ / "no" / "a.png";
  try {
    write_whole(missing.string(), Bytes{1});
    FAIL() << "a folder that does not exist was written to";
  } catch (const FileError& error) {
    EXPECT_EQ(std::string(error.what()).rfind(missing.string() + ": ", 0), 0u) << error.what();
  }
  EXPECT_EQ(files(), 0);

  fs::create_directories(folder_ / "taken" / "inside");  // a folder stands where the file should go
  EXPECT_THROW(write_whole((folder_ / "taken").string(), Bytes{1}), FileError);
  EXPECT_EQ(files(), 1);
  EXPECT_TRUE(fs::is_directory(folder_ / "taken" / "inside"));
}

}  // namespace
}  // namespace circumfluence::quantity
