#include "look/solid_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "mark/fill.h"
#include "mark/hdf5.h"
#include "quantity/bands.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::look {
namespace {

using mark::Hdf5Calls;
using mark::Hdf5Id;

constexpr double kMillimetre = 1e3;
constexpr std::uint8_t kQuad = 9;  // VTK's number of a quadrilateral

// Points a whole number of cells apart, in the middle of the cells that they stand for.
struct Net {
  int around, axial;  // points
  int rows, columns;  // cells each stands for; the last ones for what is left
  bool closed;
  long points() const { return long(around) * axial; }
  long bands() const { return closed ? around : around - 1; }  // of quadrilaterals, around
  long quads() const { return bands() * (axial - 1); }
};

int points_of(int cells, int step) {
  return (cells + step - 1) / step;
}

// As many cells to a point as keep to `most`, the same each way unless a side would not keep two points.
Net net_of(const workpiece::Surface& s, long most) {
  const int least = std::max(1, int(std::sqrt(double(s.around) * s.axial / double(most))));
  for (int step = least;; ++step) {
    const int rows = std::min(step, (s.around + 1) / 2), columns = std::min(step, (s.axial + 1) / 2);
    const Net net{points_of(s.around, rows), points_of(s.axial, columns), rows, columns, s.closed};
    if (net.points() <= most || (rows < step && columns < step)) return net;
  }
}

// [first, last) of the cells along one side.
struct Run {
  int first, last;
  double middle() const { return (first + last) / 2.0; }  // in cells from the first's edge
};
Run run_of(int point, int step, int cells) {
  return {point * step, std::min(cells, (point + 1) * step)};
}

class Gather {
 public:
  Gather(const mark::MarkMap& map, const Net& net) : map_(map), net_(net) {}

  std::vector<float> places() const;
  std::vector<float> means(const quantity::Map<float>& layer) const;
  std::vector<std::uint8_t> commonest(const quantity::Map<std::uint8_t>& layer) const;
  std::vector<std::uint8_t> colours() const;

 private:
  template <class Work>
  void each(const Work& work) const {
    const workpiece::Surface& s = map_.surface;
    quantity::for_bands({.count = net_.around}, [&](int first, int last, int) {
      for (int row = first; row < last; ++row)
        for (int column = 0; column < net_.axial; ++column)
          work(size_t(row) * size_t(net_.axial) + size_t(column), run_of(row, net_.rows, s.around),
               run_of(column, net_.columns, s.axial));
    });
  }
  const mark::MarkMap& map_;
  const Net& net_;
};

std::vector<float> Gather::places() const {
  const workpiece::Surface& s = map_.surface;
  std::vector<float> out(size_t(net_.points()) * 3);
  each([&](size_t at, const Run& rows, const Run& columns) {
    const double axial = s.axial_from + columns.middle() * s.cell_axial;
    const double azimuth = (s.around_from + rows.middle() * s.cell_around) / s.reference_radius;
    const double radius = map_.scene.profile.radius(axial);
    out[3 * at] = float(axial * kMillimetre);
    out[3 * at + 1] = float(radius * std::sin(azimuth) * kMillimetre);
    out[3 * at + 2] = float(radius * std::cos(azimuth) * kMillimetre);
  });
  return out;
}

std::vector<float> Gather::means(const quantity::Map<float>& layer) const {
  std::vector<float> out(size_t(net_.points()));
  each([&](size_t at, const Run& rows, const Run& columns) {
    double sum = 0;
    long count = 0;
    for (int row = rows.first; row < rows.last; ++row)
      for (const float value :
           layer.row(row).subspan(size_t(columns.first), size_t(columns.last - columns.first)))
        if (std::isfinite(value)) {
          sum += value;
          ++count;
        }
    out[at] = count > 0 ? float(sum / double(count)) : std::numeric_limits<float>::infinity();
  });
  return out;
}

std::vector<std::uint8_t> Gather::commonest(const quantity::Map<std::uint8_t>& layer) const {
  std::vector<std::uint8_t> out(size_t(net_.points()));
  each([&](size_t at, const Run& rows, const Run& columns) {
    std::array<int, 4> counts{};  // of classes 0 to 3
    for (int row = rows.first; row < rows.last; ++row)
      for (const std::uint8_t value :
           layer.row(row).subspan(size_t(columns.first), size_t(columns.last - columns.first)))
        ++counts[value & 3];
    out[at] = std::uint8_t(std::max_element(counts.begin(), counts.end()) - counts.begin());
  });
  return out;
}

// The light of the cells, seen from everywhere, averaged as light is.
std::vector<std::uint8_t> Gather::colours() const {
  const mark::Line line = mark::line_of(map_.scene);
  const Finish finish(map_.scene, mark::respond(map_.scene, {{line.along, line.across, line.speed}}));
  std::vector<appearance::Linear> lights;
  for (const Shade& shade : finish.shades()) lights.push_back(in_diffuse_light(shade));
  std::vector<std::uint8_t> out(size_t(net_.points()) * 3);
  each([&](size_t at, const Run& rows, const Run& columns) {
    appearance::Linear sum{};
    for (int row = rows.first; row < rows.last; ++row)
      for (int column = columns.first; column < columns.last; ++column) {
        const size_t i = size_t(column);
        const appearance::Linear& light =
            lights[size_t(finish.entry(map_.maps.outcome.row(row)[i], map_.maps.changed.row(row)[i]))];
        for (size_t k = 0; k < 3; ++k) sum[k] += light[k];
      }
    const double cells = double(rows.last - rows.first) * (columns.last - columns.first);
    for (size_t k = 0; k < 3; ++k) out[3 * at + k] = on_screen(float(sum[k] / cells));
  });
  return out;
}

// Quadrilaterals between neighbouring points, looked at from outside counter-clockwise; the seam takes up the
// first row again.
std::vector<std::int64_t> connectivity(const Net& net) {
  std::vector<std::int64_t> out;
  out.reserve(size_t(net.quads()) * 4);
  for (long row = 0; row < net.bands(); ++row) {
    const long here = row * net.axial, next = (row + 1) % net.around * net.axial;
    for (long column = 0; column + 1 < net.axial; ++column)
      for (const long point : {here + column, here + column + 1, next + column + 1, next + column})
        out.push_back(point);
  }
  return out;
}

// A file of that kind: one group, VTKHDF, whose root attributes say what stands in it.
class Writer {
 public:
  explicit Writer(const std::string& path) : calls_(path), file_(path) {
    const Hdf5Id access(H5Pcreate(H5P_FILE_ACCESS), H5Pclose);
    H5Pset_libver_bounds(access.get(), H5F_LIBVER_V18, H5F_LIBVER_V110);
    H5Pset_file_locking(access.get(), true, true);
    h5_ = calls_.own(H5Fcreate(file_.temporary().c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, access.get()), H5Fclose,
                     "create the file");
    calls_.forsake_on_failure(h5_.get());
    root_ = calls_.create_group(h5_.get(), "VTKHDF");
    put_kind();
  }
  ~Writer() {
    if (h5_.valid()) mark::forsake(h5_.get());
  }

  void open_points() { data_ = calls_.create_group(root_.get(), "PointData"); }
  hid_t root() const { return root_.get(); }
  hid_t data() const { return data_.get(); }

  template <class T>
  Hdf5Id put(hid_t where, const char* name, const std::vector<T>& values, hsize_t width = 1) const {
    const std::string doing = std::string("write ") + name;
    const hsize_t shape[2] = {values.size() / width, width};
    const Hdf5Id space = calls_.own(H5Screate_simple(width > 1 ? 2 : 1, shape, nullptr), H5Sclose, doing);
    Hdf5Id set =
        calls_.own(H5Dcreate2(where, name, stored(T{}), space.get(), H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT),
                   H5Dclose, doing);
    calls_.check(H5Dwrite(set.get(), stored(T{}), H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), doing);
    return set;
  }
  template <class T>
  void layer(mark::Layer which, const std::vector<T>& values) const {
    const mark::LayerInfo& info = mark::layers()[size_t(which)];
    const Hdf5Id set = put(data(), info.name, values);
    calls_.write_text(set.get(), "units", info.unit);
  }

  void close() {
    data_.release();
    root_.release();
    calls_.check(h5_.release(), "close the file");
    file_.publish();
  }

 private:
  static hid_t stored(float) { return H5T_NATIVE_FLOAT; }
  static hid_t stored(std::int64_t) { return H5T_NATIVE_INT64; }
  static hid_t stored(std::uint8_t) { return H5T_NATIVE_UINT8; }

  // Readers want the kind as plain ASCII of fixed length.
  void put_kind() const {
    const std::string kind = "UnstructuredGrid", doing = "write attribute Type";
    const Hdf5Id type(H5Tcopy(H5T_C_S1), H5Tclose);
    H5Tset_size(type.get(), kind.size());
    H5Tset_cset(type.get(), H5T_CSET_ASCII);
    H5Tset_strpad(type.get(), H5T_STR_NULLPAD);
    const Hdf5Id one = calls_.own(H5Screate(H5S_SCALAR), H5Sclose, doing);
    const Hdf5Id attribute = calls_.own(
        H5Acreate2(root_.get(), "Type", type.get(), one.get(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose, doing);
    calls_.check(H5Awrite(attribute.get(), type.get(), kind.data()), doing);
    const hsize_t two = 2;
    const std::int64_t version[2] = {1, 0};
    const Hdf5Id pair = calls_.own(H5Screate_simple(1, &two, nullptr), H5Sclose, doing);
    const Hdf5Id stands =
        calls_.own(H5Acreate2(root_.get(), "Version", H5T_NATIVE_INT64, pair.get(), H5P_DEFAULT, H5P_DEFAULT),
                   H5Aclose, doing);
    calls_.check(H5Awrite(stands.get(), H5T_NATIVE_INT64, version), doing);
  }

  mark::Hdf5Session session_;
  Hdf5Calls calls_;
  quantity::UnfinishedFile file_;
  Hdf5Id h5_, root_, data_;
};

void write_net(const Writer& writer, const Net& net, const std::vector<float>& places) {
  const std::vector<std::int64_t> corners = connectivity(net);
  std::vector<std::int64_t> offsets(size_t(net.quads()) + 1);
  for (size_t i = 0; i < offsets.size(); ++i) offsets[i] = 4 * std::int64_t(i);
  const auto one = [](long count) { return std::vector<std::int64_t>{count}; };
  writer.put(writer.root(), "NumberOfPoints", one(net.points()));
  writer.put(writer.root(), "NumberOfCells", one(net.quads()));
  writer.put(writer.root(), "NumberOfConnectivityIds", one(4 * net.quads()));
  writer.put(writer.root(), "Points", places, 3);
  writer.put(writer.root(), "Connectivity", corners);
  writer.put(writer.root(), "Offsets", offsets);
  writer.put(writer.root(), "Types", std::vector<std::uint8_t>(size_t(net.quads()), kQuad));
}

void check(const mark::MarkMap& map, long most) {
  if (map.maps.fluence.empty())
    throw quantity::ValidityError(
        "solid: maps (not kept; expected those of every cell). Predict with keep = true");
  if (most < 4)
    throw quantity::ValidityError(
        fmt::format("solid: most = {} points (expected 4 or more, for one face)", most));
}

}  // namespace

void write_solid(const std::string& path, const mark::MarkMap& map, long most) {
  check(map, most);
  const Net net = net_of(map.surface, most);
  const Gather gather(map, net);
  Writer writer(path);
  write_net(writer, net, gather.places());
  writer.open_points();
  using mark::Layer;
  writer.layer(Layer::fluence, gather.means(map.maps.fluence));
  writer.layer(Layer::changed, gather.means(map.maps.changed));
  writer.layer(Layer::peak_temperature, gather.means(map.maps.peak_temperature));
  writer.layer(Layer::margin, gather.means(map.maps.margin));
  writer.layer(Layer::outcome, gather.commonest(map.maps.outcome));
  writer.layer(Layer::wanted, gather.commonest(map.maps.wanted));
  writer.put(writer.data(), "colour", gather.colours(), 3);
  writer.close();
}

}  // namespace circumfluence::look
