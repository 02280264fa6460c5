// Truth: the same text parsed from memory; files written here with moves counted by hand; paths written by
// general-purpose CAM programs (paths/README.md), whose geometry is known because we drew it.
#include "motion/tool_path.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>

#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

PathFile how() {
  PathFile file;
  file.axial = 0;
  file.full_power_word = 1000;
  return file;
}

class PathOnDisk : public testing::Test {
 protected:
  PathOnDisk() : path_(std::filesystem::temp_directory_path() / fmt::format("path_{}.nc", ::getpid())) {}
  ~PathOnDisk() override { std::filesystem::remove(path_); }
  std::string write(const std::string& text) const {
    std::ofstream(path_, std::ios::binary) << text;
    return path_.string();
  }
  std::filesystem::path path_;
};

TEST_F(PathOnDisk, ReadsAsFromMemoryWhereverTheBlocksEnd) {
  std::string text = "G1 F100\n";
  for (int i = 0; i < 200000; ++i)
    text += fmt::format("{}X{}.{} Y{}{}\n", i % 3 ? "" : "(note) ", i % 77, i % 1000, i % 13,
                        i % 7 ? "" : " ; end");
  text += "X99";  // no end of line
  const std::string name = write(text);
  std::vector<Move> memory;
  parse_path(text, name, how(), [&](const Move& move) {
    memory.push_back(move);
    return true;
  });
  size_t i = 0;
  double share = 0;
  const PathNotes notes = read_path(
      name, how(),
      [&](const Move& move) {
        EXPECT_LT(i, memory.size());
        EXPECT_EQ(move.to.axial, memory[i].to.axial);
        EXPECT_EQ(move.to.around, memory[i].to.around);
        EXPECT_EQ(move.offset, memory[i].offset);
        EXPECT_EQ(move.line, std::int64_t(i) + 2);
        ++i;
        return !testing::Test::HasFailure();
      },
      [&](double done) {
        EXPECT_GE(done, share);
        share = done;
        return true;
      });
  EXPECT_EQ(i, 200001u);
  EXPECT_EQ(notes.bytes, std::int64_t(text.size()));
  EXPECT_EQ(share, 1);
}

TEST_F(PathOnDisk, StopsBetweenBlocksWhenAskedTo) {
  std::string text;
  for (int i = 0; i < 400000; ++i) text += "G0 X1\n";
  const std::string name = write(text);
  std::int64_t taken = 0;
  EXPECT_THROW(read_path(
                   name, how(), [&](const Move&) { return ++taken > 0; }, [](double) { return false; }),
               quantity::Interrupted);
  EXPECT_LT(taken, 400000);
}

TEST_F(PathOnDisk, ALineThatNeverEndsIsRefusedWithoutBeingKept) {
  const std::string name = write("G0 X1\n" + std::string(8 << 20, ' ') + "\n");
  EXPECT_THAT([&] { read_path(name, how(), [](const Move&) { return true; }); },
              ThrowsMessage<quantity::JobError>(HasSubstr(":2:4097: a line of more than 4096 bytes")));
}

TEST_F(PathOnDisk, LongLinesAcrossTheEndOfABlockAreReadWhole) {
  for (const int before : {4095, 4096, 4097, 4200, 2 * 4096 + 3}) {
    std::string text((1 << 20) - before, '\n');
    text += "G0 X1" + std::string(4091, ' ') + "\nX2\n";
    int moves = 0;
    read_path(write(text), how(), [&](const Move&) { return ++moves > 0; });
    EXPECT_EQ(moves, 2) << before;
  }
}

TEST_F(PathOnDisk, WhatIsNoFileIsRefused) {
  const auto read = [](const std::string& name) { read_path(name, how(), [](const Move&) { return true; }); };
  EXPECT_THAT([&] { read("/nonexistent/path.nc"); },
              ThrowsMessage<quantity::FileError>(HasSubstr("No such file")));
  EXPECT_THAT([&] { read("/tmp"); }, ThrowsMessage<quantity::FileError>(HasSubstr("no regular file")));
  EXPECT_THAT([&] { read("/dev/zero"); }, ThrowsMessage<quantity::FileError>(HasSubstr("no regular file")));
  ASSERT_EQ(::mkfifo(path_.c_str(), 0600), 0);
  EXPECT_THAT([&] { read(path_.string()); },
              ThrowsMessage<quantity::FileError>(HasSubstr("no regular file")));
}

TEST_F(PathOnDisk, APathOfMoreThanSixteenGibibytesIsRefusedAtOnce) {
  write("G0 X1\n");
  std::filesystem::resize_file(path_, std::uintmax_t(17) << 30);  // sparse
  EXPECT_THAT([&] { read_path(path_.string(), how(), [](const Move&) { return true; }); },
              ThrowsMessage<quantity::FileError>(HasSubstr("17.0 GiB (a path holds at most 16 GiB)")));
}

TEST_F(PathOnDisk, LargeFilesNeedTheMemoryOfSmallOnes) {
  std::string block = "G91 G1 F100\n";
  for (int i = 0; i < 50000; ++i) block += i % 2 ? "X-1.25 Y-0.5 S100\n" : "X1.25 Y0.5 S200 M3\n";
  const auto read = [&] {
    std::int64_t moves = 0;
    read_path(path_.string(), how(), [&](const Move&) { return ++moves > 0; });
    return moves;
  };
  const auto peak = [] {
    rusage usage{};
    ::getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss;  // [KiB]
  };
  write(block);
  EXPECT_EQ(read(), 50000);
  const long before = peak();
  {
    std::ofstream out(path_, std::ios::binary | std::ios::app);
    for (int i = 1; i < 60; ++i) out << block;
  }
  EXPECT_GT(std::filesystem::file_size(path_), std::uintmax_t(50) << 20);
  EXPECT_EQ(read(), 3000000);
  EXPECT_LT(peak() - before, 4096);
}

}  // namespace
}  // namespace circumfluence::motion
