// Truth: the file read back by HDF5 itself, held against the maps and the closed form of the part; the layout
// is that of the open specification (VTKHDF 1.0), every dataset of it.
#include "look/solid_file.h"

#include <gtest/gtest.h>
#include <hdf5.h>

#include <cmath>
#include <cstring>
#include <set>

#include "mark/hdf5.h"
#include "mark/small_job.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

using mark::MarkMap;
using mark::SmallJob;

template <class T>
struct Data {
  std::vector<hsize_t> shape;
  std::vector<T> values;
};

class Read {
 public:
  explicit Read(const std::string& path) : file_(H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT)) {}
  ~Read() { H5Fclose(file_); }
  template <class T>
  Data<T> get(const std::string& name, hid_t type) const {
    Data<T> out;
    const hid_t set = H5Dopen2(file_, ("VTKHDF/" + name).c_str(), H5P_DEFAULT), space = H5Dget_space(set);
    out.shape.resize(size_t(H5Sget_simple_extent_ndims(space)));
    H5Sget_simple_extent_dims(space, out.shape.data(), nullptr);
    out.values.resize(size_t(H5Sget_simple_extent_npoints(space)));
    H5Dread(set, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, out.values.data());
    H5Sclose(space);
    H5Dclose(set);
    return out;
  }
  Data<float> numbers(const std::string& name) const { return get<float>(name, H5T_NATIVE_FLOAT); }
  Data<std::int64_t> counts(const std::string& name) const {
    return get<std::int64_t>(name, H5T_NATIVE_INT64);
  }
  Data<std::uint8_t> bytes(const std::string& name) const {
    return get<std::uint8_t>(name, H5T_NATIVE_UINT8);
  }
  hid_t file() const { return file_; }

 private:
  mark::Hdf5Session session_;
  hid_t file_;
};

const MarkMap& island_map() {
  static const MarkMap map = SmallJob(mark::island()).predicted(true);
  return map;
}

TEST(SolidFile, SaysWhatKindItIs) {
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), island_map());
  const Read read(folder.file("part.hdf"));
  const hid_t type = H5Aopen_by_name(read.file(), "VTKHDF", "Type", H5P_DEFAULT, H5P_DEFAULT),
              kind = H5Aget_type(type);
  char text[17] = {};
  EXPECT_EQ(H5Tget_size(kind), 16u);
  EXPECT_EQ(H5Tget_cset(kind), H5T_CSET_ASCII);
  EXPECT_EQ(H5Tis_variable_str(kind), 0);
  H5Aread(type, kind, text);
  EXPECT_STREQ(text, "UnstructuredGrid");
  const hid_t version = H5Aopen_by_name(read.file(), "VTKHDF", "Version", H5P_DEFAULT, H5P_DEFAULT);
  std::int64_t numbers[2] = {-1, -1};
  H5Aread(version, H5T_NATIVE_INT64, numbers);
  EXPECT_EQ(numbers[0], 1);
  EXPECT_EQ(numbers[1], 0);
  H5Tclose(kind);
  H5Aclose(type);
  H5Aclose(version);
}

TEST(SolidFile, EveryCellIsAPointWhereThereIsRoom) {
  const MarkMap& map = island_map();
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), map);
  const Read read(folder.file("part.hdf"));
  const size_t size = map.maps.fluence.size();
  ASSERT_EQ(read.counts("NumberOfPoints").values, std::vector<std::int64_t>{std::int64_t(size)});
  const auto points = read.numbers("Points");
  ASSERT_EQ(points.shape, (std::vector<hsize_t>{size, 3}));
  const auto fluence = read.numbers("PointData/fluence"), changed = read.numbers("PointData/changed");
  const auto outcome = read.bytes("PointData/outcome"), wanted = read.bytes("PointData/wanted");
  const auto margin = read.numbers("PointData/margin"), peak = read.numbers("PointData/peak_temperature");
  for (size_t i = 0; i < size; i += 7) {
    const int row = int(i) / map.surface.axial, column = int(i) % map.surface.axial;
    EXPECT_NEAR(points.values[3 * i], 1e3 * map.surface.position(column), 1e-5);
    EXPECT_NEAR(points.values[3 * i + 1], 30 * std::sin(map.surface.azimuth(row)), 1e-5);
    EXPECT_NEAR(points.values[3 * i + 2], 30 * std::cos(map.surface.azimuth(row)), 1e-5);
    EXPECT_EQ(fluence.values[i], map.maps.fluence.cells()[i]);
    EXPECT_EQ(changed.values[i], map.maps.changed.cells()[i]);
    EXPECT_EQ(peak.values[i], map.maps.peak_temperature.cells()[i]);
    EXPECT_EQ(margin.values[i], map.maps.margin.cells()[i]);
    EXPECT_EQ(outcome.values[i], map.maps.outcome.cells()[i]);
    EXPECT_EQ(wanted.values[i], map.maps.wanted.cells()[i]);
  }
}

TEST(SolidFile, ColoursAreThoseOfTheSkin) {
  const MarkMap& map = island_map();
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), map);
  const auto colour = Read(folder.file("part.hdf")).bytes("PointData/colour");
  ASSERT_EQ(colour.shape, (std::vector<hsize_t>{map.maps.fluence.size(), 3}));
  const appearance::Pixels seen = flat(skin(map, {.finest = 1e-9}));
  for (size_t i = 0; i < map.maps.fluence.size(); i += 11) {
    const size_t row = i / size_t(map.surface.axial), column = i % size_t(map.surface.axial);
    const appearance::Colour& pixel =
        seen.rgb[(size_t(map.surface.around) - 1 - row) * size_t(map.surface.axial) + column];
    for (size_t k = 0; k < 3; ++k) EXPECT_NEAR(colour.values[3 * i + k], pixel[k], 1);
  }
}

// Every face has four corners that are neighbours, counter-clockwise from outside; edges are shared as on
// such a sheet.
void hold_faces(const Read& read, bool closed) {
  const auto points = read.numbers("Points");
  const auto corners = read.counts("Connectivity"), offsets = read.counts("Offsets");
  const auto types = read.bytes("Types");
  const size_t faces = types.values.size();
  ASSERT_EQ(read.counts("NumberOfCells").values[0], std::int64_t(faces));
  ASSERT_EQ(read.counts("NumberOfConnectivityIds").values[0], std::int64_t(corners.values.size()));
  ASSERT_EQ(offsets.values.size(), faces + 1);
  ASSERT_EQ(offsets.values.back(), std::int64_t(corners.values.size()));
  std::set<std::pair<std::int64_t, std::int64_t>> edges;
  for (size_t face = 0; face < faces; ++face) {
    ASSERT_EQ(types.values[face], 9);
    const auto at = [&](size_t corner) {
      return &points.values[3 * size_t(corners.values[4 * face + corner % 4])];
    };
    const float *a = at(0), *b = at(1), *d = at(3);
    // The face's normal, (b - a) x (d - a), against the way out from the axis.
    const double out = a[1] * ((b[2] - a[2]) * (d[0] - a[0]) - (b[0] - a[0]) * (d[2] - a[2])) +
                       a[2] * ((b[0] - a[0]) * (d[1] - a[1]) - (b[1] - a[1]) * (d[0] - a[0]));
    ASSERT_GT(out, 0);
    for (size_t corner = 0; corner < 4; ++corner)
      ASSERT_TRUE(
          edges.emplace(corners.values[4 * face + corner], corners.values[4 * face + (corner + 1) % 4])
              .second);
  }
  size_t open = 0;
  for (const auto& [from, to] : edges) open += !edges.count({to, from});
  const size_t axial = size_t(corners.values[3] - corners.values[0]),
               around = points.values.size() / 3 / axial;
  EXPECT_EQ(open, closed ? 2 * around : 2 * (around - 1) + 2 * (axial - 1));
}

TEST(SolidFile, FacesJoinNeighbours) {
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), island_map(), 2000);
  hold_faces(Read(folder.file("part.hdf")), false);
}

TEST(SolidFile, AWholeTurnHasNoSeam) {
  SmallJob small;
  small.with("workpiece.diameter", "8 mm")
      .with("grid.around_from", "-12.6 mm")
      .with("grid.around_to", "12.6 mm");
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), small.predicted(true), 3000);
  hold_faces(Read(folder.file("part.hdf")), true);
}

TEST(SolidFile, ThinnedItKeepsMeansAndMajorities) {
  const MarkMap& map = island_map();
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), map, 4);
  const Read read(folder.file("part.hdf"));
  ASSERT_EQ(read.counts("NumberOfPoints").values[0], 4);
  const int rows = (map.surface.around + 1) / 2, columns = (map.surface.axial + 1) / 2;
  double sum = 0;
  std::array<int, 4> counts{};
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) {
      sum += map.maps.fluence.row(row)[size_t(column)];
      ++counts[map.maps.outcome.row(row)[size_t(column)]];
    }
  EXPECT_NEAR(read.numbers("PointData/fluence").values[0], sum / (rows * columns),
              1e-5 * sum / (rows * columns));
  EXPECT_EQ(read.bytes("PointData/outcome").values[0],
            std::max_element(counts.begin(), counts.end()) - counts.begin());
}

TEST(SolidFile, OnATaperPointsLieOnTheTaper) {
  SmallJob small;
  small.tapered(0.05);
  const MarkMap map = small.predicted(true);
  mark::TestFolder folder;
  write_solid(folder.file("part.hdf"), map, 500);
  const auto points = Read(folder.file("part.hdf")).numbers("Points");
  for (size_t i = 0; i < points.shape[0]; ++i) {
    const float* p = &points.values[3 * i];
    EXPECT_NEAR(std::hypot(p[1], p[2]), 30 - 5 * p[0] / 40, 1e-4);
  }
}

TEST(SolidFile, SaysWhatIsWrong) {
  mark::TestFolder folder;
  EXPECT_THROW(write_solid(folder.file("part.hdf"), island_map(), 3), quantity::ValidityError);
  EXPECT_THROW(write_solid(folder.file("no/part.hdf"), island_map()), quantity::FileError);
  MarkMap bare = island_map();
  bare.maps = {};
  EXPECT_THROW(write_solid(folder.file("part.hdf"), bare), quantity::ValidityError);
  EXPECT_FALSE(std::filesystem::exists(folder.file("part.hdf")));
}

}  // namespace
}  // namespace circumfluence::look
