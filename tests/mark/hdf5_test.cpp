// Truth: values written must come back; HDF5's own error texts.
#include "mark/hdf5.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdint>
#include <thread>

#include "mark/sample_map.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using testing::HasSubstr;

struct OpenFile {
  TestFolder folder;
  Hdf5Session session;
  Hdf5Calls calls{folder.file("file.h5")};
  Hdf5Id id;

  OpenFile() {
    const Hdf5Id access(H5Pcreate(H5P_FILE_ACCESS), H5Pclose);
    H5Pset_libver_bounds(access.get(), H5F_LIBVER_V18, H5F_LIBVER_V110);
    id = calls.own(H5Fcreate(calls.path().c_str(), H5F_ACC_EXCL, H5P_DEFAULT, access.get()), H5Fclose,
                   "create");
  }
};

TEST(Hdf5Calls, ErrorsCarryPathActionAndHdf5sWordsAndPrintNothing) {
  const OpenFile file;
  testing::internal::CaptureStderr();
  std::string said;
  try {
    file.calls.check(H5Gopen2(file.id.get(), "none", H5P_DEFAULT), "open group none");
  } catch (const quantity::FileError& error) {
    said = error.what();
  }
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
  EXPECT_THAT(said, HasSubstr("file.h5: cannot open group none (HDF5: object 'none' doesn't exist"));
}

TEST(Hdf5Session, GivesPrintingBackToOthers) {
  H5E_auto2_t before = nullptr, after = nullptr;
  void* data = nullptr;
  H5Eget_auto2(H5E_DEFAULT, &before, &data);
  ASSERT_NE(before, nullptr);
  {
    const Hdf5Session outer;
    { const Hdf5Session inner; }
    H5Eget_auto2(H5E_DEFAULT, &after, &data);
    EXPECT_EQ(after, nullptr);
  }
  H5Eget_auto2(H5E_DEFAULT, &after, &data);
  EXPECT_EQ(after, before);
}

TEST(Hdf5Id, ClosesOnceAndMoves) {
  hid_t raw = -1;
  {
    Hdf5Id first(H5Screate(H5S_SCALAR), H5Sclose);
    raw = first.get();
    Hdf5Id second(std::move(first));
    EXPECT_FALSE(first.valid());
    EXPECT_GT(H5Iis_valid(raw), 0);
    Hdf5Id third;
    third = std::move(second);
    EXPECT_EQ(third.get(), raw);
    EXPECT_EQ(H5Iget_ref(raw), 1);
  }
  EXPECT_EQ(H5Iis_valid(raw), 0);
}

TEST(Hdf5Calls, TextOfAnyLengthComesBack) {
  const OpenFile file;
  const std::string texts[] = {"", "m", "µ é \"quoted\"\n", std::string(200000, 'x') + "y"};
  int number = 0;
  for (const std::string& text : texts) {
    const std::string name = "text" + std::to_string(number++);
    file.calls.write_text(file.id.get(), name, text);
    EXPECT_EQ(file.calls.read_text(file.id.get(), name, 1 << 20), text);
  }
  EXPECT_THROW(file.calls.read_text(file.id.get(), "text3", 1000), quantity::FileError);
  EXPECT_THROW(file.calls.read_text(file.id.get(), "none", 1000), quantity::FileError);
}

TEST(Hdf5Calls, NumbersAndTextAreNotMistaken) {
  const OpenFile file;
  file.calls.write_number(file.id.get(), "number", -7);
  file.calls.write_number(file.id.get(), "real", 1.5f);
  file.calls.write_text(file.id.get(), "text", "7");
  EXPECT_EQ(file.calls.read_integer(file.id.get(), "number"), -7);
  EXPECT_THROW(file.calls.read_integer(file.id.get(), "text"), quantity::FileError);
  EXPECT_THROW(file.calls.read_integer(file.id.get(), "real"), quantity::FileError);
  EXPECT_THROW(file.calls.read_text(file.id.get(), "number", 100), quantity::FileError);
}

TEST(Hdf5Calls, VariableLengthTextIsRefused) {
  // Not written by us, and the part of HDF5 that reads it trusts lengths found in the file.
  const OpenFile file;
  const Hdf5Id type(H5Tcopy(H5T_C_S1), H5Tclose);
  H5Tset_size(type.get(), H5T_VARIABLE);
  const Hdf5Id space(H5Screate(H5S_SCALAR), H5Sclose);
  const Hdf5Id attribute(H5Acreate2(file.id.get(), "text", type.get(), space.get(), H5P_DEFAULT, H5P_DEFAULT),
                         H5Aclose);
  const char* value = "words";
  ASSERT_GE(H5Awrite(attribute.get(), type.get(), &value), 0);
  EXPECT_THROW(file.calls.read_text(file.id.get(), "text", 100), quantity::FileError);
}

TEST(Hdf5Session, ThreadsTakeTurns) {
  const TestFolder folder;
  const auto work = [&folder](int thread) {
    for (int i = 0; i < 20; ++i) {
      const Hdf5Session session;
      const Hdf5Calls calls(folder.file(std::to_string(thread) + ".h5"));
      const Hdf5Id id = calls.own(H5Fcreate(calls.path().c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT),
                                  H5Fclose, "create");
      calls.write_number(id.get(), "i", i);
      ASSERT_EQ(calls.read_integer(id.get(), "i"), i);
    }
  };
  std::thread other(work, 1);
  work(0);
  other.join();
}

// zlib's own inflate, and the definition of HDF5's shuffle filter: byte b of every cell before byte b + 1.
std::vector<unsigned char> unpack(std::span<const unsigned char> packed, size_t bytes) {
  std::vector<unsigned char> out(bytes);
  uLongf size = uLongf(bytes);
  EXPECT_EQ(uncompress(out.data(), &size, packed.data(), uLong(packed.size())), Z_OK);
  EXPECT_EQ(size, bytes);
  return out;
}

TEST(ChunkPacker, ShufflesPadsAndIsReusable) {
  const int stride = 7;
  std::vector<std::uint32_t> cells(3 * stride);
  for (size_t i = 0; i < cells.size(); ++i) cells[i] = std::uint32_t(0x01020304u + 0x10000u * i + i);
  ChunkPacker packer(4, 5, 4);
  for (const int first : {0, 5}) {  // the second chunk is narrower, both are shorter than 4 rows
    const auto bytes =
        unpack(packer.pack(reinterpret_cast<const std::byte*>(cells.data()), 3, first, stride), 80);
    for (int row = 0; row < 4; ++row)
      for (int column = 0; column < 5; ++column)
        for (int b = 0; b < 4; ++b) {
          const bool inside = row < 3 && first + column < stride;
          const auto cell = inside ? cells[size_t(row * stride + first + column)] : 0u;
          EXPECT_EQ(bytes[size_t(b * 20 + row * 5 + column)], (cell >> (8 * b)) & 0xffu);
        }
  }
}

TEST(ChunkPacker, IncompressibleCellsStillFit) {
  std::vector<unsigned char> cells(64 * 256);
  std::uint32_t state = 1;
  for (unsigned char& cell : cells)
    cell = static_cast<unsigned char>((state = state * 1664525u + 1013904223u) >> 24);
  ChunkPacker packer(64, 256, 1);
  EXPECT_EQ(unpack(packer.pack(reinterpret_cast<const std::byte*>(cells.data()), 64, 0, 256), cells.size()),
            cells);
}

}  // namespace
}  // namespace circumfluence::mark
