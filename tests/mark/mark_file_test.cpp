// Truth: what was handed in must come back bit for bit, read by HDF5's own decoder; damage made on purpose.
#include "mark/mark_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <hdf5.h>
#include <sched.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include <csignal>
#include <cstring>
#include <fstream>
#include <functional>
#include <iterator>
#include <thread>

#include "mark/sample_map.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

using quantity::FileError;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::string write_sample(const TestFolder& folder, int rows, int columns, bool compact) {
  const std::string path = folder.file("map.h5");
  MarkWriter writer(path, sample_header(rows, columns, compact));
  hand_in(writer, SampleMaps(rows, columns), {rows, columns});
  writer.finish(sample_summary());
  return path;
}

std::string problem(const std::function<void()>& action) {
  try {
    action();
  } catch (const FileError& error) {
    return error.what();
  }
  return "no error";
}

std::string open_problem(const std::string& path) {
  return problem([&] { MarkFile file(path); });
}

// Changes a finished file behind the library's back.
void with_hdf5(const std::string& path, const std::function<void(hid_t)>& change) {
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
  ASSERT_GE(file, 0);
  change(file);
  ASSERT_GE(H5Fclose(file), 0);
}

struct Shape {
  int rows, columns;
  bool compact;
};

class RoundTrip : public testing::TestWithParam<Shape> {};

TEST_P(RoundTrip, TwoThreadsWriteAndEverythingComesBack) {
  const auto [rows, columns, compact] = GetParam();
  const TestFolder folder;
  const SampleMaps maps(rows, columns);
  {
    MarkWriter writer(folder.file("map.h5"), sample_header(rows, columns, compact));
    std::thread other([&, shape = std::pair(rows, columns)] { hand_in(writer, maps, shape, 1, 2); });
    hand_in(writer, maps, {rows, columns}, 0, 2);
    other.join();
    EXPECT_FALSE(std::filesystem::exists(folder.file("map.h5")));
    writer.finish(sample_summary());
  }
  EXPECT_THAT(folder.names(), ElementsAre("map.h5"));

  const MarkFile file(folder.file("map.h5"));
  const FileHeader expected = sample_header(rows, columns, compact);
  EXPECT_EQ(file.header().around, expected.around);
  EXPECT_EQ(file.header().axial, expected.axial);
  EXPECT_EQ(file.header().radius, expected.radius);
  ASSERT_EQ(file.header().angle.size(), expected.angle.size());
  for (size_t i = 0; i < expected.angle.size(); ++i)  // stored in degrees
    EXPECT_NEAR(file.header().angle[i], expected.angle[i], 1e-15);
  EXPECT_EQ(file.header().title, expected.title);
  EXPECT_EQ(file.header().job_text, expected.job_text);
  EXPECT_EQ(file.header().materials, expected.materials);
  EXPECT_EQ(file.header().compact, compact);
  std::vector<float> cells(size_t(rows) * columns);
  for (int layer = 0; layer < kLayers; ++layer) {
    file.read(Layer(layer), cells.data());
    const size_t bytes = cells.size() * bytes_a_cell(layers()[size_t(layer)].flags);
    EXPECT_EQ(std::memcmp(cells.data(), maps.row(Layer(layer), 0, columns), bytes), 0)
        << layers()[size_t(layer)].name;
  }
}

INSTANTIATE_TEST_SUITE_P(Shapes, RoundTrip,
                         testing::Values(Shape{1, 1, false}, Shape{1, 1, true}, Shape{3, 2, true},
                                         Shape{64, 256, true}, Shape{64, 256, false}, Shape{200, 300, true},
                                         Shape{200, 300, false}, Shape{129, 257, true}));

TEST(MarkFile, SummaryKeepsOrderUnitsAndWords) {
  const TestFolder folder;
  const MarkFile file(write_sample(folder, 3, 2, false));
  const Summary& summary = file.summary();
  ASSERT_EQ(summary.figures.size(), 3u);
  EXPECT_EQ(summary.figures[0].name, "duration");
  EXPECT_EQ(summary.figures[0].unit, "s");
  EXPECT_EQ(summary.figures[0].value, 4321.5);
  EXPECT_EQ(summary.figures[2].name, "a_margin");
  EXPECT_TRUE(std::isnan(summary.figures[2].value));
  EXPECT_EQ(summary.words, sample_summary().words);
}

TEST(MarkFile, KeepsJobTextLargerThanAnObjectHeaderHolds) {
  const TestFolder folder;
  FileHeader header = sample_header(3, 2, false);
  header.job_text = std::string(300000, '#') + "\n";
  {
    MarkWriter writer(folder.file("map.h5"), header);
    hand_in(writer, SampleMaps(3, 2), {3, 2});
    writer.finish({});
  }
  EXPECT_EQ(MarkFile(folder.file("map.h5")).header().job_text, header.job_text);
}

TEST(MarkFile, SeveralStripesAtOnce) {
  const TestFolder folder;
  const SampleMaps maps(150, 4);
  for (const bool compact : {false, true}) {
    MarkWriter writer(folder.file("map.h5"), sample_header(150, 4, compact));
    for (int layer = 0; layer < kLayers; ++layer)
      writer.write_rows(Layer(layer), 0, 150, maps.row(Layer(layer), 0, 4));
    writer.finish({});
    std::vector<float> cells(600);
    MarkFile(folder.file("map.h5")).read(Layer::fluence, cells.data());
    EXPECT_EQ(cells, maps.floats[0]);
  }
}

TEST(MarkFile, KeptSampleOfVersion1StillReads) {
  const MarkFile file(std::string(CIRCUMFLUENCE_SOURCE) + "/tests/mark/samples/version_1.h5");
  EXPECT_EQ(file.header().around, sample_header(5, 4, true).around);
  EXPECT_EQ(file.header().job_text, sample_header(5, 4, true).job_text);
  std::vector<float> cells(20);
  file.read(Layer::changed, cells.data());
  const SampleMaps maps(5, 4);
  for (size_t i = 0; i < cells.size(); ++i) EXPECT_FLOAT_EQ(cells[i], maps.floats[1][i]);
}

TEST(MarkFile, KeptSampleOfVersion2StillReads) {
  const MarkFile file(std::string(CIRCUMFLUENCE_SOURCE) + "/tests/mark/samples/version_2.h5");
  EXPECT_EQ(file.header().around, sample_header(5, 4, true).around);
  EXPECT_EQ(file.wall().around, sample_wall().around);
  EXPECT_EQ(file.wall().axial, sample_wall().axial);
  EXPECT_EQ(file.wall().temperature, sample_wall().temperature);
  std::vector<float> cells(20);
  file.read(Layer::changed, cells.data());
  const SampleMaps maps(5, 4);
  for (size_t i = 0; i < cells.size(); ++i) EXPECT_FLOAT_EQ(cells[i], maps.floats[1][i]);
}

TEST(MarkFile, AFileWithoutAWallHasAnEmptyOne) {
  const TestFolder folder;
  EXPECT_TRUE(MarkFile(write_sample(folder, 5, 4, false)).wall().temperature.empty());
}

TEST(MarkFile, SameInputGivesTheSameBytes) {
  const TestFolder folder;
  ::setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
  std::string contents[2];
  for (std::string& content : contents) {
    std::ifstream in(write_sample(folder, 70, 9, true), std::ios::binary);
    content.assign(std::istreambuf_iterator<char>(in), {});
  }
  ::unsetenv("SOURCE_DATE_EPOCH");
  EXPECT_GT(contents[0].size(), 1000u);
  EXPECT_TRUE(contents[0] == contents[1]);
  EXPECT_THAT(contents[0], HasSubstr("2023-11-14T22:13:20Z"));
}

TEST(MarkFile, InterruptedLeavesNothingAndKeepsTheOldFile) {
  const TestFolder folder;
  for (const bool compact : {false, true}) {
    MarkWriter writer(folder.file("map.h5"), sample_header(130, 3, compact));
    const SampleMaps maps(130, 3);
    writer.write_rows(Layer::fluence, 64, 64, maps.row(Layer::fluence, 64, 3));
  }
  EXPECT_THAT(folder.names(), IsEmpty());
  const std::string path = write_sample(folder, 3, 2, false);
  { MarkWriter writer(path, sample_header(130, 3, false)); }
  EXPECT_THAT(folder.names(), ElementsAre("map.h5"));
  EXPECT_EQ(MarkFile(path).header().around.size(), 3u);
}

TEST(MarkFile, ReplacesAFileThatIsOpenForReading) {
  const TestFolder folder;
  const std::string path = write_sample(folder, 3, 2, false);
  const MarkFile old(path);
  write_sample(folder, 70, 2, true);
  std::vector<float> cells(6);
  old.read(Layer::fluence, cells.data());
  EXPECT_EQ(cells, SampleMaps(3, 2).floats[0]);
  EXPECT_EQ(MarkFile(path).header().around.size(), 70u);
  EXPECT_THAT(folder.names(), ElementsAre("map.h5"));
}

TEST(MarkFile, TwoWritersToOneNameDoNotMeet) {
  const TestFolder folder;
  MarkWriter first(folder.file("map.h5"), sample_header(3, 2, false));
  MarkWriter second(folder.file("map.h5"), sample_header(5, 2, true));
  hand_in(second, SampleMaps(5, 2), {5, 2});
  hand_in(first, SampleMaps(3, 2), {3, 2});
  second.finish({});
  first.finish({});
  EXPECT_EQ(MarkFile(folder.file("map.h5")).header().around.size(), 3u);
  EXPECT_THAT(folder.names(), ElementsAre("map.h5"));
}

TEST(MarkFile, IncompleteMapsAreNotPublished) {
  const TestFolder folder;
  {
    MarkWriter writer(folder.file("map.h5"), sample_header(130, 3, false));
    hand_in(writer, SampleMaps(130, 3), {130, 3}, 0, 2);
    EXPECT_THAT(problem([&] { writer.finish({}); }), HasSubstr("map fluence is incomplete (rows from 64"));
  }
  EXPECT_THAT(folder.names(), IsEmpty());
}

TEST(MarkFile, RefusesRowsThatAreNoStripe) {
  const TestFolder folder;
  MarkWriter writer(folder.file("map.h5"), sample_header(130, 3, false));
  const std::vector<float> cells(130 * 3);
  for (const auto& [first, rows] :
       {std::pair{1, 64}, {0, 63}, {128, 3}, {-64, 64}, {0, 0}, {128, 2147483647}})
    EXPECT_THROW(writer.write_rows(Layer::fluence, first, rows, cells.data()), FileError) << first;
}

TEST(MarkFile, RefusesWhatIsNoHeader) {
  const TestFolder folder;
  const auto attempt = [&](auto change) {
    FileHeader header = sample_header(3, 2, false);
    change(header);
    return problem([&] { MarkWriter writer(folder.file("map.h5"), header); });
  };
  EXPECT_THAT(attempt([](FileHeader& h) { h.around.clear(); }), HasSubstr("without cells"));
  EXPECT_THAT(attempt([](FileHeader& h) { h.angle.pop_back(); }), HasSubstr("angles"));
  EXPECT_THAT(attempt([](FileHeader& h) { h.radius.pop_back(); }), HasSubstr("radii"));
  EXPECT_THAT(attempt([](FileHeader& h) { h.around[1] = h.around[0]; }), HasSubstr("increasing"));
  EXPECT_THAT(attempt([](FileHeader& h) { h.axial[0] = NAN; }), HasSubstr("finite"));
  EXPECT_THAT(folder.names(), IsEmpty());
}

TEST(MarkFile, FailedWriteIsAFileErrorAndLeavesNothing) {
  // A limit on file size stands in for the full disk: the same failing system call, another errno.
  const TestFolder folder;
  const auto before = std::signal(SIGXFSZ, SIG_IGN);
  rlimit old{};
  ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &old), 0);
  {
    MarkWriter writer(folder.file("map.h5"), sample_header(640, 300, false));
    const rlimit small{20000, old.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &small);
    const std::string said = problem([&] { hand_in(writer, SampleMaps(640, 300), {640, 300}); });
    ::setrlimit(RLIMIT_FSIZE, &old);
    EXPECT_THAT(said, HasSubstr("map.h5: cannot write (File too large)"));
  }
  std::signal(SIGXFSZ, before);
  EXPECT_THAT(folder.names(), IsEmpty());
}

void fill_disk(const std::string& path, long leave) {
  std::ofstream(path, std::ios::binary) << std::string(4 << 20, 'x');
  const long size = long(std::filesystem::file_size(path));
  std::filesystem::resize_file(path, std::uintmax_t(std::max(0L, size - leave)));
}

// Writes on a disk that runs full before, during or after the maps, with `leave` bytes left. Returns what is
// wrong afterwards.
std::string write_on_full_disk(const TestFolder& disk, int moment, bool compact, long leave) {
  const std::string path = disk.file("map.h5");
  const std::string said = problem([&] {
    if (moment == 0) fill_disk(disk.file("filler"), leave);
    MarkWriter writer(path, sample_header(100, 50, compact));
    if (moment == 1) fill_disk(disk.file("filler"), leave);
    hand_in(writer, SampleMaps(100, 50), {100, 50});
    if (moment == 2) fill_disk(disk.file("filler"), leave);
    writer.finish(sample_summary());
  });
  std::filesystem::remove(disk.file("filler"));
  const bool written = said == "no error";
  if (disk.names() != std::vector<std::string>(written ? 1 : 0, "map.h5"))
    return "files are left after: " + said;
  if (!written) return "";
  const std::string opened = open_problem(path);
  std::filesystem::remove(path);
  return opened == "no error" ? "" : opened;
}

// In name spaces of the calling process: nobody else sees it, and no privilege is needed where users may.
bool mount_small_disk(const std::string& folder) {
  const std::string user = std::to_string(::getuid());
  const std::string group = std::to_string(::getgid());
  if (::unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0) return false;
  std::ofstream("/proc/self/setgroups") << "deny";
  std::ofstream("/proc/self/uid_map") << "0 " + user + " 1";
  std::ofstream("/proc/self/gid_map") << "0 " + group + " 1";
  return ::mount("none", folder.c_str(), "tmpfs", 0, "size=2m") == 0 &&
         std::ofstream(folder + "/probe").good() && std::filesystem::remove(folder + "/probe");
}

TEST(MarkFile, FullDiskAtAnyMomentEndsCleanly) {
  // A small disk of its own, in a process of its own: HDF5 must also survive the end of the process.
  const TestFolder disk;
  const pid_t child = ::fork();
  if (child == 0) {
    if (!mount_small_disk(disk.path.string())) ::_exit(77);
    int wrong = 0;
    for (int moment = 0; moment < 3; ++moment)
      for (const bool compact : {false, true})
        for (long leave = 0; leave <= 160 * 1024; leave += 8192) {
          const std::string what = write_on_full_disk(disk, moment, compact, leave);
          if (what.empty()) continue;
          std::fprintf(stderr, "moment %d, compact %d, %ld bytes left: %s\n", moment, compact, leave,
                       what.c_str());
          wrong = 1;
        }
    std::exit(wrong);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFEXITED(status)) << "signal " << WTERMSIG(status);
  if (WEXITSTATUS(status) == 77) GTEST_SKIP() << "not allowed to mount a small disk";
  EXPECT_EQ(WEXITSTATUS(status), 0);
}

TEST(MarkFile, NamesWhatIsWrongWithTheTarget) {
  const TestFolder folder;
  const auto write = [&](const std::string& path) {
    return problem([&] { MarkWriter writer(path, sample_header(3, 2, false)); });
  };
  EXPECT_THAT(write(folder.file("none/map.h5")), HasSubstr("No such file or directory"));
  EXPECT_THAT(write(folder.path.string()), HasSubstr("no regular file"));
  EXPECT_THAT(write("/dev/null"), HasSubstr("no regular file"));
  EXPECT_THAT(write("/proc/map.h5"), HasSubstr("cannot write ("));
}

TEST(MarkFile, NamesWhatIsWrongWithTheSource) {
  const TestFolder folder;
  EXPECT_THAT(open_problem(folder.file("none.h5")), HasSubstr("none.h5: cannot open (no such file)"));
  EXPECT_THAT(open_problem(folder.path.string()), HasSubstr("not a regular file"));
  std::ofstream(folder.file("text.h5")) << "not a map";
  EXPECT_THAT(open_problem(folder.file("text.h5")), HasSubstr("not an HDF5 file"));
  std::ofstream(folder.file("empty.h5"));
  EXPECT_THAT(open_problem(folder.file("empty.h5")), HasSubstr("not an HDF5 file"));
  H5Fclose(H5Fcreate(folder.file("other.h5").c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT));
  EXPECT_THAT(open_problem(folder.file("other.h5")), HasSubstr("not a mark map"));
}

TEST(MarkFile, NewerVersionIsRefusedByName) {
  const TestFolder folder;
  const std::string path = write_sample(folder, 3, 2, false);
  with_hdf5(path, [](hid_t file) {
    const hid_t version = H5Aopen(file, "format_version", H5P_DEFAULT);
    const int newer = kFormatVersion + 1;
    H5Awrite(version, H5T_NATIVE_INT, &newer);
    H5Aclose(version);
  });
  EXPECT_THAT(open_problem(path), HasSubstr("format_version = 3 (newer than this library"));
}

TEST(MarkFile, MissingAndForeignPartsAreNamed) {
  const TestFolder folder;
  for (const char* name : {"margin", "around", "radius", "record", "summary"}) {
    const std::string path = write_sample(folder, 3, 2, true);
    with_hdf5(path, [name](hid_t file) { H5Ldelete(file, name, H5P_DEFAULT); });
    EXPECT_THAT(open_problem(path), HasSubstr(std::string(name) + " is missing"));
  }
  const std::string path = write_sample(folder, 3, 2, true);
  with_hdf5(path, [](hid_t file) {
    H5Ldelete(file, "margin", H5P_DEFAULT);
    H5Lcreate_external("/etc/secret.h5", "/margin", file, "margin", H5P_DEFAULT, H5P_DEFAULT);
  });
  EXPECT_THAT(open_problem(path), HasSubstr("margin is a link"));
}

// Replaces `name` by an empty dataset of another make.
std::string replaced(const TestFolder& folder, const char* name, hid_t type, std::vector<hsize_t> shape) {
  const std::string path = write_sample(folder, 3, 2, false);
  with_hdf5(path, [&](hid_t file) {
    H5Ldelete(file, name, H5P_DEFAULT);
    const hid_t space = H5Screate_simple(int(shape.size()), shape.data(), nullptr);
    H5Dclose(H5Dcreate2(file, name, type, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT));
    H5Sclose(space);
  });
  return open_problem(path);
}

TEST(MarkFile, ShapesAndTypesAreCheckedBeforeAnythingIsAllocated) {
  const TestFolder folder;
  EXPECT_THAT(replaced(folder, "fluence", H5T_IEEE_F64LE, {3, 2}), HasSubstr("number type"));
  EXPECT_THAT(replaced(folder, "outcome", H5T_STD_I8LE, {3, 2}), HasSubstr("number type"));
  EXPECT_THAT(replaced(folder, "fluence", H5T_IEEE_F32LE, {3, 3}), HasSubstr("3 cells along dimension 1"));
  EXPECT_THAT(replaced(folder, "fluence", H5T_IEEE_F32LE, {6}), HasSubstr("2 dimensions"));
  EXPECT_THAT(replaced(folder, "fluence", H5T_IEEE_F32LE, {3, 2}), HasSubstr("fluence is incomplete"));
  EXPECT_THAT(replaced(folder, "around", H5T_IEEE_F64LE, {hsize_t{1} << 40}), HasSubstr("around has"));
}

TEST(MarkFile, TruncatedAnywhereIsAFileError) {
  const TestFolder folder;
  for (const bool compact : {false, true}) {
    const std::string path = write_sample(folder, 70, 300, compact);
    const auto whole = std::filesystem::file_size(path);
    EXPECT_EQ(open_problem(path), "no error");
    for (int tenth = 9; tenth >= 0; --tenth) {
      std::filesystem::resize_file(path, whole * unsigned(tenth) / 10);
      EXPECT_THAT(open_problem(path), HasSubstr(path)) << tenth;
    }
    std::filesystem::remove(path);
  }
}

}  // namespace
}  // namespace circumfluence::mark
