#include <fmt/format.h>
#include <hdf5_hl.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <limits>

#include "mark/mark_file.h"
#include "mark/hdf5.h"
#include "quantity/unfinished_file.h"
#include "quantity/constants.h"
#include "quantity/error.h"

#ifndef CIRCUMFLUENCE_VERSION
#define CIRCUMFLUENCE_VERSION "unversioned"
#endif

namespace circumfluence::mark {
namespace {

constexpr std::uint64_t kLeastRoom = 1 << 16;  // [bytes] everything but the maps, roughly
constexpr hsize_t kPage = 4096;                // contiguous maps begin on a page

std::string creation_time() {
  std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  if (const char* epoch = std::getenv("SOURCE_DATE_EPOCH")) now = std::time_t(std::atoll(epoch));
  std::tm utc{};
  gmtime_r(&now, &utc);
  char text[32];
  return {text, std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc)};
}

bool plain_name(const std::string& name) {
  return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
  });
}

void check_header(const std::string& path, const FileHeader& header) {
  const auto refuse = [&path](const std::string& why) { throw quantity::FileError(path, why); };
  if (header.around.empty() || header.axial.empty()) refuse("a map without cells (expected at least one)");
  if (header.angle.size() != header.around.size()) refuse("as many angles as rows were expected");
  if (header.radius.size() != header.axial.size()) refuse("as many radii as columns were expected");
  for (const auto* scale : {&header.around, &header.axial})
    for (size_t i = 0; i < scale->size(); ++i)
      if (!std::isfinite((*scale)[i]) || (i > 0 && (*scale)[i] <= (*scale)[i - 1]))
        refuse("cell centres (expected finite and increasing)");
}

}  // namespace

struct MarkWriter::State {
  Hdf5Calls calls;
  int rows, columns;
  bool compact;
  std::array<haddr_t, kLayers> offsets{};       // contiguous: where each map begins in the file
  std::unique_ptr<std::atomic<bool>[]> handed;  // [layer][stripe]
  Hdf5Id h5;
  std::array<Hdf5Id, kLayers>
      maps;  // contiguous ones are written past HDF5, which then holds no cell of them
  quantity::UnfinishedFile file;

  State(const std::string& path, const FileHeader& header)
      : calls(path),
        rows(int(header.around.size())),
        columns(int(header.axial.size())),
        compact(header.compact),
        handed(new std::atomic<bool>[size_t(kLayers) * stripes()]()),
        file(path) {}

  ~State() {
    const Hdf5Session session;
    if (h5.valid()) forsake(h5.get());
  }

  int stripes() const { return (rows + kStripe - 1) / kStripe; }
  int chunk_rows() const { return std::min(rows, kStripe); }
  int chunk_columns() const { return std::min(columns, kChunkColumns); }

  Hdf5Id access_list() const;
  void create(const FileHeader& header);
  void create_entries(const FileHeader& header);
  std::array<Hdf5Id, 2> create_axes(const FileHeader& header);
  Hdf5Id create_map(const LayerInfo& layer, const std::array<Hdf5Id, 2>& scales);
  Hdf5Id map_creation(const LayerInfo& layer) const;
  void put(Entry entry, hid_t object, const std::string& value) const {
    calls.write_text(object, entries()[size_t(entry)].name, value);
  }
  void pack_stripe(size_t layer, int first, int count, const std::byte* cells);
  void close();
  void check_complete() const;
};

Hdf5Id MarkWriter::State::access_list() const {
  Hdf5Id access(H5Pcreate(H5P_FILE_ACCESS), H5Pclose);
  H5Pset_libver_bounds(access.get(), H5F_LIBVER_V18, H5F_LIBVER_V110);
  H5Pset_fapl_sec2(access.get());
  H5Pset_sieve_buf_size(access.get(), 0);  // writes fail where they are made, not later when something closes
  // Nobody else knows the temporary name, so a file system without locks is no reason to refuse.
  H5Pset_file_locking(access.get(), true, true);
  if (!compact) H5Pset_alignment(access.get(), 16 * kPage, kPage);
  return access;
}

void MarkWriter::State::create(const FileHeader& header) {
  const Hdf5Session session;
  const Hdf5Id creation = ordered_creation(H5P_FILE_CREATE);
  const Hdf5Id access = access_list();
  h5 = calls.own(H5Fcreate(file.temporary().c_str(), H5F_ACC_TRUNC, creation.get(), access.get()), H5Fclose,
                 "create the file");
  calls.forsake_on_failure(h5.get());
  create_entries(header);
  const std::array<Hdf5Id, 2> scales = create_axes(header);
  for (size_t i = 0; i < size_t(kLayers); ++i) {
    maps[i] = create_map(layers()[i], scales);
    if (compact) continue;
    offsets[i] = H5Dget_offset(maps[i].get());
    if (offsets[i] == HADDR_UNDEF) calls.fail(std::string("place map ") + layers()[i].name);
  }
}

void MarkWriter::State::create_entries(const FileHeader& header) {
  const std::string version = CIRCUMFLUENCE_VERSION;
  put(Entry::conventions, h5.get(), "CF-1.10");
  put(Entry::title, h5.get(), header.title);
  put(Entry::source, h5.get(), "circumfluence " + version);
  put(Entry::format, h5.get(), kFormatName);
  calls.write_number(h5.get(), entries()[size_t(Entry::format_version)].name, kFormatVersion);
  const Hdf5Id record = calls.create_group(h5.get(), kRecordGroup);
  put(Entry::version, record.get(), version);
  put(Entry::created, record.get(), creation_time());
  put(Entry::job, record.get(), header.job_text);
  put(Entry::materials, record.get(), header.materials);
}

std::array<Hdf5Id, 2> MarkWriter::State::create_axes(const FileHeader& header) {
  std::vector<double> degrees(header.angle);
  for (double& angle : degrees) angle *= 180.0 / quantity::kPi;
  const std::array<const std::vector<double>*, 4> values = {&header.around, &header.axial, &degrees,
                                                            &header.radius};
  std::array<Hdf5Id, 2> scales;
  for (size_t i = 0; i < axes().size(); ++i) {
    const AxisInfo& axis = axes()[i];
    Hdf5Id dataset = calls.create_numbers(h5.get(), axis.name, *values[i], false);
    const hid_t id = dataset.get();
    if (i < scales.size()) {
      calls.check(H5DSset_scale(id, axis.name), std::string("make an axis of ") + axis.name);
      scales[i] = std::move(dataset);
    } else {
      const size_t over = axis.over == std::string(axes()[0].name) ? 0 : 1;
      calls.check(H5DSattach_scale(id, scales[over].get(), 0), std::string("label ") + axis.name);
    }
    calls.write_text(id, "units", axis.unit);
    calls.write_text(id, "long_name", axis.long_name);
    if (*axis.letter) calls.write_text(id, "axis", axis.letter);
  }
  return scales;
}

Hdf5Id MarkWriter::State::map_creation(const LayerInfo& layer) const {
  Hdf5Id creation = ordered_creation(H5P_DATASET_CREATE);
  const hid_t id = creation.get();
  H5Pset_fill_time(id, H5D_FILL_TIME_NEVER);
  if (compact) {
    const hsize_t chunk[2] = {hsize_t(chunk_rows()), hsize_t(chunk_columns())};
    H5Pset_chunk(id, 2, chunk);
    if (!layer.flags) H5Pset_shuffle(id);
    H5Pset_deflate(id, kDeflateLevel);
  } else {
    H5Pset_alloc_time(id, H5D_ALLOC_TIME_EARLY);
  }
  return creation;
}

Hdf5Id MarkWriter::State::create_map(const LayerInfo& layer, const std::array<Hdf5Id, 2>& scales) {
  const std::string doing = std::string("create map ") + layer.name;
  const hsize_t shape[2] = {hsize_t(rows), hsize_t(columns)};
  const Hdf5Id creation = map_creation(layer);
  const Hdf5Id space = calls.own(H5Screate_simple(2, shape, nullptr), H5Sclose, doing);
  Hdf5Id map = calls.own(H5Dcreate2(h5.get(), layer.name, layer.flags ? H5T_STD_U8LE : H5T_IEEE_F32LE,
                                    space.get(), H5P_DEFAULT, creation.get(), H5P_DEFAULT),
                         H5Dclose, doing);
  const hid_t id = map.get();
  for (unsigned i = 0; i < 2; ++i) calls.check(H5DSattach_scale(id, scales[i].get(), i), doing);
  if (layer.flags) {
    const std::string words = layer.meanings;
    std::vector<unsigned char> values(size_t(std::count(words.begin(), words.end(), ' ')) + 1);
    for (size_t i = 0; i < values.size(); ++i) values[i] = static_cast<unsigned char>(i);
    calls.write_bytes(id, "flag_values", values);
    calls.write_text(id, "flag_meanings", words);
  } else {
    calls.write_number(id, "_FillValue", std::numeric_limits<float>::quiet_NaN());
  }
  calls.write_text(id, "units", layer.unit);
  calls.write_text(id, "long_name", layer.long_name);
  calls.write_text(id, "coordinates", "angle radius");
  return map;
}

void MarkWriter::State::pack_stripe(size_t layer, int first, int count, const std::byte* cells) {
  const LayerInfo& info = layers()[layer];
  ChunkPacker packer(chunk_rows(), chunk_columns(), int(bytes_a_cell(info.flags)));
  for (int column = 0; column < columns; column += chunk_columns()) {
    const auto packed = packer.pack(cells, count, column, columns);
    const hsize_t corner[2] = {hsize_t(first), hsize_t(column)};
    const Hdf5Session session;
    calls.check(H5Dwrite_chunk(maps[layer].get(), H5P_DEFAULT, 0, corner, packed.size(), packed.data()),
                std::string("write map ") + info.name);
  }
}

void MarkWriter::State::close() {
  const Hdf5Session session;
  for (Hdf5Id& map : maps) calls.check(map.release(), "close a map");
  // A flush that fails half way leaves HDF5 unable to close the file, so its room is made sure of first.
  hsize_t size = 0;
  calls.check(H5Fget_filesize(h5.get(), &size), "measure the file");
  file.reserve(size + kLeastRoom);
  calls.check(H5Fflush(h5.get(), H5F_SCOPE_LOCAL), "write the file");
  calls.check(h5.release(), "close the file");
}

void MarkWriter::State::check_complete() const {
  for (int layer = 0; layer < kLayers; ++layer)
    for (int stripe = 0; stripe < stripes(); ++stripe)
      if (!handed[size_t(layer) * stripes() + stripe])
        throw quantity::FileError(calls.path(),
                                  fmt::format("map {} is incomplete (rows from {} on were not handed in)",
                                              layers()[size_t(layer)].name, stripe * kStripe));
}

MarkWriter::MarkWriter(const std::string& path, FileHeader header) {
  check_header(path, header);
  state_ = std::make_unique<State>(path, header);
  std::uint64_t cell = 0;
  for (const LayerInfo& layer : layers()) cell += bytes_a_cell(layer.flags);
  // Compact maps take what they take; but HDF5 needs room to begin at all.
  state_->file.expect_room(kLeastRoom +
                           (header.compact ? 0 : cell * header.around.size() * header.axial.size()));
  state_->create(header);
}

MarkWriter::~MarkWriter() = default;

void MarkWriter::write_rows(Layer layer, int first, int rows, const void* cells) {
  State& s = *state_;
  const auto index = size_t(layer);
  if (first < 0 || rows <= 0 || first % kStripe != 0 || first > s.rows - rows ||
      (rows % kStripe != 0 && first + rows != s.rows))
    throw quantity::FileError(
        s.calls.path(), fmt::format("{} rows from row {} of {} (expected whole stripes of {} rows)", rows,
                                    first, s.rows, int(kStripe)));
  const size_t row_bytes = bytes_a_cell(layers()[index].flags) * size_t(s.columns);
  const auto* bytes = static_cast<const std::byte*>(cells);
  if (!s.compact)
    s.file.write_at(s.offsets[index] + size_t(first) * row_bytes, bytes, size_t(rows) * row_bytes);
  for (int row = first; row < first + rows; row += kStripe) {
    if (s.compact)
      s.pack_stripe(index, row, std::min(kStripe, s.rows - row), bytes + size_t(row - first) * row_bytes);
    s.handed[index * size_t(s.stripes()) + size_t(row / kStripe)] = true;
  }
}

void MarkWriter::finish(const Summary& summary, const WallMap& wall) {
  State& s = *state_;
  s.check_complete();
  const Hdf5Session session;
  {
    const Hdf5Id group = s.calls.create_group(s.h5.get(), kSummaryGroup);
    for (const SummaryEntry& figure : summary.figures) {
      if (!plain_name(figure.name))
        throw quantity::FileError(
            s.calls.path(), "summary figure \"" + figure.name + "\" (a name has letters, digits and _ only)");
      const Hdf5Id value = s.calls.create_numbers(group.get(), figure.name, {&figure.value, 1}, true);
      s.calls.write_text(value.get(), "units", figure.unit.empty() ? "1" : figure.unit);
    }
    for (const auto& [name, words] : summary.words) s.calls.write_text(group.get(), name, words);
  }
  write_wall(s.calls, s.h5.get(), wall);
  s.close();
  s.file.publish();
}

}  // namespace circumfluence::mark
