// Truth: what the folder holds before and after, seen through the file system.
#include "quantity/unfinished_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

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

}  // namespace
}  // namespace circumfluence::quantity
