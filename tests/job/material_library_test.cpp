// Truth: the order in which records are looked for; records made here.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "job/material_file.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

namespace fs = std::filesystem;

std::string record(const std::string& name, const std::string& title) {
  return "[material." + name + "]\ntitle = \"" + title + "\"\nkind = \"metal\"\n";
}

class MaterialLibrary : public testing::Test {
 protected:
  void SetUp() override { fs::create_directories(folder_); }
  void TearDown() override {
    unsetenv("CIRCUMFLUENCE_MY_MATERIALS");
    fs::remove_all(folder_);
  }
  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name) << text;
    return (folder_ / name).string();
  }
  fs::path folder_ =
      fs::path(testing::TempDir()) /
      ("library_" + std::string(testing::UnitTest::GetInstance()->current_test_info()->name()));
};

TEST_F(MaterialLibrary, ReadsAFolderInOrderOfName) {
  write("a.toml", record("zinc", "z") + record("brass", "b"));
  write("b.toml", record("cork", "c"));
  write("notes.txt", "no record");
  std::vector<std::string> names;
  for (const auto& material : read_material_folder(folder_.string())) names.push_back(material.name);
  EXPECT_THAT(names, testing::ElementsAre("brass", "cork", "zinc"));
}

TEST_F(MaterialLibrary, RefusesTwoRecordsOfOneName) {
  write("a.toml", record("zinc", "z"));
  write("b.toml", record("zinc", "z"));
  EXPECT_THROW(read_material_folder(folder_.string()), quantity::JobError);
  EXPECT_THROW(read_material_folder((folder_ / "absent").string()), quantity::FileError);
}

TEST_F(MaterialLibrary, PrefersTheJobThenTheUser) {
  const std::string mine = write("mine.toml", record("test_alloy", "the user's"));
  setenv("CIRCUMFLUENCE_MY_MATERIALS", mine.c_str(), 1);
  EXPECT_EQ(find_material("test_alloy", {}).title, "the user's");
  workpiece::Material own;
  own.name = "test_alloy";
  own.title = "the job's";
  const std::vector<workpiece::Material> job = {own};
  EXPECT_EQ(find_material("test_alloy", job).title, "the job's");
  EXPECT_THAT(material_names(job), testing::Contains("test_alloy"));
}

TEST_F(MaterialLibrary, AFileToComeHasNoRecordsYet) {
  const std::string mine = (folder_ / "mine.toml").string();
  setenv("CIRCUMFLUENCE_MY_MATERIALS", mine.c_str(), 1);
  EXPECT_THROW(find_material("test_alloy", {}), quantity::JobError);
  write("mine.toml", record("test_alloy", "kept"));
  EXPECT_EQ(find_material("test_alloy", {}).title, "kept");
}

TEST_F(MaterialLibrary, ReadsTheUsersFileAgainWhenItHasChanged) {
  const std::string mine = write("mine.toml", record("test_alloy", "first"));
  setenv("CIRCUMFLUENCE_MY_MATERIALS", mine.c_str(), 1);
  const workpiece::Material& first = find_material("test_alloy", {});
  write("mine.toml", record("test_alloy", "second"));
  fs::last_write_time(mine, fs::last_write_time(mine) + std::chrono::seconds(2));
  EXPECT_EQ(find_material("test_alloy", {}).title, "second");
  EXPECT_EQ(first.title, "first");  // what was handed out stays
}

TEST_F(MaterialLibrary, NamesTheNearest) {
  const std::string mine = write("mine.toml", record("test_alloy", "x"));
  setenv("CIRCUMFLUENCE_MY_MATERIALS", mine.c_str(), 1);
  try {
    find_material("tset_alloy", {});
    FAIL();
  } catch (const quantity::JobError& error) {
    EXPECT_THAT(error.what(),
                testing::StartsWith("material \"tset_alloy\" (no such record; expected one of "));
    EXPECT_THAT(error.what(), testing::EndsWith(". Did you mean \"test_alloy\"?"));
  }
}

TEST(BuiltInMaterials, AllParse) {
  const fs::path folder = fs::path(CIRCUMFLUENCE_SOURCE) / "sim" / "workpiece" / "materials";
  if (!fs::is_directory(folder) || fs::is_empty(folder)) GTEST_SKIP() << "no built-in records yet";
  for (const auto& material : read_material_folder(folder.string())) {
    EXPECT_FALSE(material.title.empty()) << material.name;
    const auto again = parse_materials(write_material(material), material.origin);
    EXPECT_EQ(write_material(again.at(0)), write_material(material));
  }
}

}  // namespace
}  // namespace circumfluence::job
