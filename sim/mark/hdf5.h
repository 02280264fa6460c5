// A small layer over HDF5's C interface: identifiers that close themselves, one lock, errors with HDF5's own
// words.
//
// HDF5 as distributions build it guards its low-level calls but not its high-level ones (dimension scales),
// so everything here happens while an Hdf5Session is alive; sessions nest, and serialise the whole process.
#pragma once

#include <hdf5.h>
#include <zlib.h>

#include <cstddef>
#include <mutex>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace circumfluence::mark {

// Holds the process-wide lock and keeps HDF5 from printing errors on this thread; both are restored on
// leaving, since another user of HDF5 (h5py) may live in the same process.
class Hdf5Session {
 public:
  Hdf5Session();
  ~Hdf5Session();
  Hdf5Session(const Hdf5Session&) = delete;
  Hdf5Session& operator=(const Hdf5Session&) = delete;

 private:
  std::lock_guard<std::recursive_mutex> lock_;
  H5E_auto2_t print_ = nullptr;
  void* print_data_ = nullptr;
};

// An owned identifier, closed by the function that fits its kind.
class Hdf5Id {
 public:
  using Close = herr_t (*)(hid_t);
  Hdf5Id() = default;
  Hdf5Id(hid_t id, Close close) : id_(id), close_(close) {}
  Hdf5Id(Hdf5Id&& other) noexcept : id_(std::exchange(other.id_, -1)), close_(other.close_) {}
  Hdf5Id& operator=(Hdf5Id&& other) noexcept;
  ~Hdf5Id() { release(); }

  hid_t get() const { return id_; }
  bool valid() const { return id_ >= 0; }
  herr_t release();  // closes now; negative when HDF5 could not (which then still owns it)

 private:
  hid_t id_ = -1;
  Close close_ = nullptr;
};

// What HDF5 says about the last failure on this thread, innermost cause first; "" when it has nothing to say.
std::string hdf5_words();

// Calls on one file, each checked: a negative result throws FileError "path: cannot <doing> (HDF5: words)".
// `doing` is such as "create dataset fluence". Nothing here is called without an Hdf5Session.
class Hdf5Calls {
 public:
  explicit Hdf5Calls(std::string path) : path_(std::move(path)) {}

  template <class Result>
  Result check(Result result, const std::string& doing) const {
    if (result < 0) fail(doing);
    return result;
  }
  Hdf5Id own(hid_t id, Hdf5Id::Close close, const std::string& doing) const {
    return {check(id, doing), close};
  }
  [[noreturn]] void fail(const std::string& doing) const;

  // From now on a failure forsakes this file before it throws, so that closing it on the way out succeeds.
  void forsake_on_failure(hid_t file) { file_ = file; }

  // Attributes in the form every netCDF reader takes: fixed-length UTF-8 text, numbers as arrays.
  void write_text(hid_t object, const std::string& name, const std::string& value) const;
  void write_number(hid_t object, const std::string& name, int value) const;
  void write_number(hid_t object, const std::string& name, float value) const;
  void write_bytes(hid_t object, const std::string& name, std::span<const unsigned char> values) const;

  // Text of fixed length, at most `limit` bytes, trailing NULs dropped; throws when absent or of another
  // kind.
  std::string read_text(hid_t object, const std::string& name, size_t limit) const;
  int read_integer(hid_t object, const std::string& name) const;

  Hdf5Id create_group(hid_t where, const std::string& name) const;
  // A scalar (no values beyond one, rank 0) or a 1-D dataset of doubles.
  Hdf5Id create_numbers(hid_t where, const std::string& name, std::span<const double> values,
                        bool scalar) const;

  const std::string& path() const { return path_; }

 private:
  void write_array(hid_t object, const std::string& name, hid_t type,
                   std::pair<const void*, size_t> data) const;

  std::string path_;
  hid_t file_ = -1;
};

// Before closing a file that is to be thrown away: lets HDF5 write what it still holds into memory instead.
// On a full disk it could not close the file otherwise, and having failed to, it crashes when the process
// ends.
void forsake(hid_t file);

// A creation list of H5P_DATASET_CREATE, H5P_GROUP_CREATE or H5P_FILE_CREATE kind that keeps the order in
// which things are created (netCDF lists axes in that order, and needs it to append) and stores no clock
// times.
Hdf5Id ordered_creation(hid_t kind);

struct WallMap;
// The group /wall with its map and its own axes; nothing for a map without cells.
void write_wall(const Hdf5Calls& calls, hid_t file, const WallMap& wall);

// Level 1 of 9: on maps the higher ones cost several times the time for little.
inline constexpr int kDeflateLevel = 1;

// One chunk of a compact map, packed as HDF5's shuffle and deflate filters would: any HDF5 reads it back.
// HDF5 compresses under its one lock; packing outside it lets every thread compress its own stripe. Needs no
// session.
class ChunkPacker {
 public:
  ChunkPacker(int rows, int columns, int element);  // of a chunk; element: bytes a cell
  ~ChunkPacker();
  ChunkPacker(const ChunkPacker&) = delete;
  ChunkPacker& operator=(const ChunkPacker&) = delete;

  // Packs the cells [first_column, first_column + columns) of `rows` rows, `stride` cells apart; what the
  // chunk has beyond the map is filled with zeros. The result stands until the next call.
  std::span<const unsigned char> pack(const std::byte* cells, int rows, int first_column, int stride);

 private:
  int rows_, columns_, element_;
  z_stream stream_{};
  std::vector<unsigned char> shuffled_, packed_;
};

}  // namespace circumfluence::mark
