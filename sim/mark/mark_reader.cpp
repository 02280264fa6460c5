#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <system_error>

#include "mark/mark_file.h"
#include "mark/hdf5.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

// What a file may claim before anything is allocated for it.
constexpr hsize_t kLongestAxis = hsize_t{1} << 22;
constexpr hsize_t kMostCells = hsize_t{1} << 32;
constexpr hsize_t kLargestChunk = hsize_t{1} << 26;  // [bytes]
constexpr size_t kLongestText = size_t{1} << 26;     // [bytes]
constexpr size_t kMostWallCells = size_t{1} << 26;
constexpr size_t kMostNames = 4096;                  // in the summary
constexpr hsize_t kDeflateLimit = 1100;              // deflate never packs more than 1032 to 1

herr_t keep_link(hid_t, const char* name, const H5L_info_t*, void* out) {
  auto& names = *static_cast<std::vector<std::string>*>(out);
  names.emplace_back(name);
  return names.size() < kMostNames ? 0 : 1;
}

herr_t keep_attribute(hid_t, const char* name, const H5A_info_t*, void* out) {
  return keep_link(0, name, nullptr, out);
}

bool is_one_of(hid_t type, std::initializer_list<hid_t> allowed) {
  return std::any_of(allowed.begin(), allowed.end(), [type](hid_t a) { return H5Tequal(type, a) > 0; });
}

bool strictly_increasing(const std::vector<double>& values) {
  return std::adjacent_find(values.begin(), values.end(), [](double a, double b) { return !(a < b); }) ==
         values.end();
}

}  // namespace

struct MarkFile::State {
  Hdf5Calls calls;
  Hdf5Id h5;
  hsize_t bytes = 0;  // of the file
  FileHeader header;
  Summary summary;
  WallMap wall;
  int version = kFormatVersion;

  explicit State(const std::string& path) : calls(path) {}

  [[noreturn]] void refuse(const std::string& why) const { throw quantity::FileError(calls.path(), why); }
  void open();
  void check_format();
  Hdf5Id open_own(hid_t where, const std::string& name, hid_t (*opener)(hid_t, const char*, hid_t),
                  Hdf5Id::Close close) const;
  Hdf5Id open_dataset(hid_t where, const std::string& name, const std::vector<hsize_t>& shape,
                      std::initializer_list<hid_t> types) const;
  void check_storage(hid_t dataset, const std::string& name, hsize_t expected) const;
  void check_filters(hid_t creation, const std::string& name) const;
  std::vector<double> read_axis(hid_t where, const std::string& name, hsize_t expected) const;
  std::vector<double> read_axis(Axis axis, hsize_t expected) const {
    return read_axis(h5.get(), axes()[size_t(axis)].name, expected);
  }
  Hdf5Id open_map(const LayerInfo& layer) const;
  std::string read_entry(Entry entry, hid_t object) const {
    return calls.read_text(object, entries()[size_t(entry)].name, std::min<hsize_t>(kLongestText, bytes));
  }
  void read_header();
  void read_summary();
  void read_wall();
};

void MarkFile::State::open() {
  const std::string& path = calls.path();
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) refuse("cannot open (no such file)");
  if (!std::filesystem::is_regular_file(status)) refuse("cannot open (not a regular file)");
  bytes = std::filesystem::file_size(path, error);
  const htri_t hdf5 = H5Fis_hdf5(path.c_str());
  if (hdf5 < 0) calls.fail("open");
  if (hdf5 == 0) refuse("not an HDF5 file (expected a mark map)");
  h5 = calls.own(H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), H5Fclose, "open");
}

void MarkFile::State::check_format() {
  const char* format = entries()[size_t(Entry::format)].name;
  if (H5Aexists(h5.get(), format) <= 0 || read_entry(Entry::format, h5.get()) != kFormatName)
    refuse(std::string("not a mark map (expected attribute format = \"") + kFormatName + "\")");
  version = calls.read_integer(h5.get(), entries()[size_t(Entry::format_version)].name);
  if (version < 1) refuse(fmt::format("format_version = {} (expected 1 or more)", version));
  if (version > kFormatVersion)
    refuse(
        fmt::format("format_version = {} (newer than this library, which reads up to {}). "
                    "Update circumfluence",
                    version, kFormatVersion));
}

// Only what lies in the file itself: a link elsewhere could make us read any file of the user's.
Hdf5Id MarkFile::State::open_own(hid_t where, const std::string& name,
                                 hid_t (*opener)(hid_t, const char*, hid_t), Hdf5Id::Close close) const {
  H5L_info_t link{};
  if (H5Lexists(where, name.c_str(), H5P_DEFAULT) <= 0) refuse(name + " is missing");
  calls.check(H5Lget_info(where, name.c_str(), &link, H5P_DEFAULT), "look up " + name);
  if (link.type != H5L_TYPE_HARD) refuse(name + " is a link (expected the data itself)");
  return calls.own(opener(where, name.c_str(), H5P_DEFAULT), close, "open " + name);
}

// An empty shape stands for a scalar, a length of 0 for any length.
Hdf5Id MarkFile::State::open_dataset(hid_t where, const std::string& name, const std::vector<hsize_t>& shape,
                                     std::initializer_list<hid_t> types) const {
  Hdf5Id dataset = open_own(where, name, H5Dopen2, H5Dclose);
  const Hdf5Id space = calls.own(H5Dget_space(dataset.get()), H5Sclose, "read the shape of " + name);
  const Hdf5Id type = calls.own(H5Dget_type(dataset.get()), H5Tclose, "read the type of " + name);
  if (!is_one_of(type.get(), types)) refuse(name + " has another number type than the format says");
  hsize_t found[H5S_MAX_RANK] = {};
  if (H5Sget_simple_extent_ndims(space.get()) != int(shape.size()) ||
      H5Sget_simple_extent_dims(space.get(), found, nullptr) != int(shape.size()))
    refuse(fmt::format("{} (expected {} dimensions)", name, shape.size()));
  hsize_t count = H5Sget_simple_extent_type(space.get()) == H5S_NULL ? 0 : 1;
  for (size_t i = 0; i < shape.size(); ++i) {
    if (found[i] == 0 || found[i] > kLongestAxis || (shape[i] != 0 && found[i] != shape[i]))
      refuse(fmt::format("{} has {} cells along dimension {} (expected {})", name, found[i], i,
                         shape[i] ? std::to_string(shape[i]) : "1 to " + std::to_string(kLongestAxis)));
    count *= found[i];
  }
  if (count == 0 || count > kMostCells) refuse(fmt::format("{} has {} values", name, count));
  check_storage(dataset.get(), name, count * H5Tget_size(type.get()));
  return dataset;
}

void MarkFile::State::check_storage(hid_t dataset, const std::string& name, hsize_t expected) const {
  const Hdf5Id creation = calls.own(H5Dget_create_plist(dataset), H5Pclose, "read the layout of " + name);
  const H5D_layout_t layout = H5Pget_layout(creation.get());
  const hsize_t stored = std::min<hsize_t>(H5Dget_storage_size(dataset), bytes);
  if (layout == H5D_CHUNKED) {
    hsize_t chunk[H5S_MAX_RANK] = {};
    hsize_t size = 1;
    const int rank = H5Pget_chunk(creation.get(), H5S_MAX_RANK, chunk);
    for (int i = 0; i < rank; ++i) size *= std::min(chunk[i], kLargestChunk);
    if (rank < 1 || rank > 2 || size > kLargestChunk / 8) refuse(name + " has chunks that are too large");
    check_filters(creation.get(), name);
    if (stored * kDeflateLimit < expected) refuse(name + " is incomplete (chunks are missing)");
    return;
  }
  if ((layout != H5D_CONTIGUOUS && layout != H5D_COMPACT) || H5Pget_external_count(creation.get()) != 0)
    refuse(name + " is not stored in the file itself");
  if (stored != expected) refuse(name + " is incomplete");
  if (layout != H5D_CONTIGUOUS) return;
  const haddr_t offset = H5Dget_offset(dataset);
  if (offset == HADDR_UNDEF || offset > bytes || bytes - offset < expected) refuse(name + " is cut short");
}

// Filters beyond these would be loaded from plug-ins.
void MarkFile::State::check_filters(hid_t creation, const std::string& name) const {
  const int filters = H5Pget_nfilters(creation);
  for (int i = 0; i < filters; ++i) {
    unsigned flags = 0;
    unsigned config = 0;
    size_t values = 0;
    const H5Z_filter_t filter =
        H5Pget_filter2(creation, unsigned(i), &flags, &values, nullptr, 0, nullptr, &config);
    if (filter != H5Z_FILTER_DEFLATE && filter != H5Z_FILTER_SHUFFLE && filter != H5Z_FILTER_FLETCHER32)
      refuse(fmt::format("{} is packed by filter {} (expected shuffle and deflate)", name, int(filter)));
  }
}

std::vector<double> MarkFile::State::read_axis(hid_t where, const std::string& name, hsize_t expected) const {
  const Hdf5Id dataset = open_dataset(where, name, {expected}, {H5T_IEEE_F64LE, H5T_IEEE_F64BE});
  const Hdf5Id space = calls.own(H5Dget_space(dataset.get()), H5Sclose, "read the shape of " + name);
  std::vector<double> values(size_t(H5Sget_simple_extent_npoints(space.get())));
  calls.check(H5Dread(dataset.get(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()),
              "read " + name);
  if (!std::all_of(values.begin(), values.end(), [](double v) { return std::isfinite(v); }))
    refuse(name + " has a value that is no number");
  return values;
}

Hdf5Id MarkFile::State::open_map(const LayerInfo& layer) const {
  const std::vector<hsize_t> shape = {header.around.size(), header.axial.size()};
  if (layer.flags) return open_dataset(h5.get(), layer.name, shape, {H5T_STD_U8LE, H5T_STD_U8BE});
  const bool renamed = version < 2 && layer.name == std::string(layers()[size_t(Layer::changed)].name);
  return open_dataset(h5.get(), renamed ? "removed" : layer.name, shape, {H5T_IEEE_F32LE, H5T_IEEE_F32BE});
}

void MarkFile::State::read_header() {
  header.around = read_axis(Axis::around, 0);
  header.axial = read_axis(Axis::axial, 0);
  if (!strictly_increasing(header.around) || !strictly_increasing(header.axial))
    refuse("cell centres (expected increasing)");
  header.angle = read_axis(Axis::angle, header.around.size());
  for (double& angle : header.angle) angle *= quantity::kPi / 180.0;
  header.radius = read_axis(Axis::radius, header.axial.size());
  header.title = read_entry(Entry::title, h5.get());
  const Hdf5Id record = open_own(h5.get(), kRecordGroup, H5Gopen2, H5Gclose);
  header.job_text = read_entry(Entry::job, record.get());
  header.materials = read_entry(Entry::materials, record.get());
  for (const LayerInfo& layer : layers()) {
    const Hdf5Id map = open_map(layer);
    const Hdf5Id creation = calls.own(H5Dget_create_plist(map.get()), H5Pclose, "read a layout");
    header.compact = H5Pget_layout(creation.get()) == H5D_CHUNKED;
  }
}

void MarkFile::State::read_summary() {
  const Hdf5Id group = open_own(h5.get(), kSummaryGroup, H5Gopen2, H5Gclose);
  std::vector<std::string> names;
  if (H5Literate(group.get(), H5_INDEX_CRT_ORDER, H5_ITER_INC, nullptr, keep_link, &names) < 0) {
    names.clear();  // rewritten by a tool that keeps no order
    calls.check(H5Literate(group.get(), H5_INDEX_NAME, H5_ITER_INC, nullptr, keep_link, &names),
                "list the summary");
  }
  for (const std::string& name : names) {
    const Hdf5Id value = open_dataset(group.get(), name, {}, {H5T_IEEE_F64LE, H5T_IEEE_F64BE});
    double number = 0.0;
    calls.check(H5Dread(value.get(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, &number),
                "read " + name);
    summary.figures.push_back({name, calls.read_text(value.get(), "units", 256), number});
  }
  names.clear();
  hsize_t at = 0;
  if (H5Aiterate2(group.get(), H5_INDEX_CRT_ORDER, H5_ITER_INC, &at, keep_attribute, &names) < 0) {
    names.clear();
    at = 0;
    calls.check(H5Aiterate2(group.get(), H5_INDEX_NAME, H5_ITER_INC, &at, keep_attribute, &names),
                "list the summary");
  }
  for (const std::string& name : names)
    summary.words.emplace_back(name,
                               calls.read_text(group.get(), name, std::min<hsize_t>(kLongestText, bytes)));
}

void MarkFile::State::read_wall() {
  if (version < 2 || H5Lexists(h5.get(), kWallGroup, H5P_DEFAULT) <= 0) return;
  const Hdf5Id group = open_own(h5.get(), kWallGroup, H5Gopen2, H5Gclose);
  wall.around = read_axis(group.get(), "around", 0);
  wall.axial = read_axis(group.get(), "axial", 0);
  const Hdf5Id map = open_dataset(group.get(), "temperature", {wall.around.size(), wall.axial.size()},
                                  {H5T_IEEE_F32LE, H5T_IEEE_F32BE});
  if (wall.around.size() * wall.axial.size() > kMostWallCells) refuse("wall has too many cells");
  wall.temperature.resize(wall.around.size() * wall.axial.size());
  calls.check(H5Dread(map.get(), H5T_NATIVE_FLOAT, H5S_ALL, H5S_ALL, H5P_DEFAULT, wall.temperature.data()),
              "read the wall's map");
}

MarkFile::MarkFile(const std::string& path) : state_(std::make_unique<State>(path)) {
  const Hdf5Session session;
  state_->open();
  state_->check_format();
  state_->read_header();
  state_->read_summary();
  state_->read_wall();
}

MarkFile::~MarkFile() = default;

const FileHeader& MarkFile::header() const {
  return state_->header;
}

const Summary& MarkFile::summary() const {
  return state_->summary;
}

const WallMap& MarkFile::wall() const {
  return state_->wall;
}

void MarkFile::read(Layer layer, void* cells) const {
  const LayerInfo& info = layers()[size_t(layer)];
  const Hdf5Session session;
  const Hdf5Id map = state_->open_map(info);
  const hid_t type = info.flags ? H5T_NATIVE_UINT8 : H5T_NATIVE_FLOAT;
  state_->calls.check(H5Dread(map.get(), type, H5S_ALL, H5S_ALL, H5P_DEFAULT, cells),
                      std::string("read map ") + info.name);
}

}  // namespace circumfluence::mark
