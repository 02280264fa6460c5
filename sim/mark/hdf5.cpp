#include "mark/hdf5.h"

#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <new>

#include "quantity/error.h"

namespace circumfluence::mark {
namespace {

// Never destroyed: identifiers in objects of static lifetime may close after every other static is gone.
std::recursive_mutex& process_lock() {
  static auto* lock = new std::recursive_mutex;
  return *lock;
}

herr_t collect(unsigned, const H5E_error2_t* error, void* out) {
  auto& words = *static_cast<std::vector<std::string>*>(out);
  std::string said = error->desc ? error->desc : "";
  std::replace(said.begin(), said.end(), '\n', ' ');  // HDF5 prints times as ctime() does
  if (!said.empty() && std::find(words.begin(), words.end(), said) == words.end()) words.push_back(said);
  return 0;
}

Hdf5Id text_type(size_t bytes) {
  Hdf5Id type(H5Tcopy(H5T_C_S1), H5Tclose);
  H5Tset_size(type.get(), std::max<size_t>(bytes, 1));
  H5Tset_cset(type.get(), H5T_CSET_UTF8);
  H5Tset_strpad(type.get(), H5T_STR_NULLPAD);
  return type;
}

}  // namespace

Hdf5Session::Hdf5Session() : lock_(process_lock()) {
  H5open();
  H5Eget_auto2(H5E_DEFAULT, &print_, &print_data_);
  H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);
}

Hdf5Session::~Hdf5Session() {
  H5Eset_auto2(H5E_DEFAULT, print_, print_data_);
}

Hdf5Id& Hdf5Id::operator=(Hdf5Id&& other) noexcept {
  std::swap(id_, other.id_);
  std::swap(close_, other.close_);
  return *this;
}

herr_t Hdf5Id::release() {
  const hid_t id = std::exchange(id_, -1);
  if (id < 0) return 0;
  const Hdf5Session session;
  return close_(id);
}

std::string hdf5_words() {
  std::vector<std::string> words;
  H5Ewalk2(H5E_DEFAULT, H5E_WALK_UPWARD, collect, &words);
  std::string out;
  for (size_t i = 0; i < std::min<size_t>(words.size(), 3); ++i) out += (i ? "; " : "") + words[i];
  return out;
}

void Hdf5Calls::fail(const std::string& doing) const {
  const std::string words = hdf5_words();
  if (file_ >= 0) forsake(file_);
  throw quantity::FileError(path_, "cannot " + doing + (words.empty() ? "" : " (HDF5: " + words + ")"));
}

void Hdf5Calls::write_text(hid_t object, const std::string& name, const std::string& value) const {
  const std::string doing = "write attribute " + name;
  const Hdf5Id type = text_type(value.size());
  const Hdf5Id space = own(H5Screate(H5S_SCALAR), H5Sclose, doing);
  const Hdf5Id attribute = own(
      H5Acreate2(object, name.c_str(), type.get(), space.get(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose, doing);
  check(H5Awrite(attribute.get(), type.get(), value.c_str()), doing);
}

void Hdf5Calls::write_array(hid_t object, const std::string& name, hid_t type,
                            std::pair<const void*, size_t> data) const {
  const std::string doing = "write attribute " + name;
  const hsize_t count = data.second;
  const Hdf5Id space = own(H5Screate_simple(1, &count, nullptr), H5Sclose, doing);
  const Hdf5Id attribute =
      own(H5Acreate2(object, name.c_str(), type, space.get(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose, doing);
  check(H5Awrite(attribute.get(), type, data.first), doing);
}

void Hdf5Calls::write_number(hid_t object, const std::string& name, int value) const {
  write_array(object, name, H5T_NATIVE_INT, {&value, 1});
}

void Hdf5Calls::write_number(hid_t object, const std::string& name, float value) const {
  write_array(object, name, H5T_NATIVE_FLOAT, {&value, 1});
}

void Hdf5Calls::write_bytes(hid_t object, const std::string& name,
                            std::span<const unsigned char> values) const {
  write_array(object, name, H5T_NATIVE_UINT8, {values.data(), values.size()});
}

std::string Hdf5Calls::read_text(hid_t object, const std::string& name, size_t limit) const {
  const std::string doing = "read attribute " + name;
  const Hdf5Id attribute = own(H5Aopen(object, name.c_str(), H5P_DEFAULT), H5Aclose, doing);
  const Hdf5Id type = own(H5Aget_type(attribute.get()), H5Tclose, doing);
  const Hdf5Id space = own(H5Aget_space(attribute.get()), H5Sclose, doing);
  const size_t bytes = H5Tget_size(type.get());
  if (H5Tget_class(type.get()) != H5T_STRING || H5Tis_variable_str(type.get()) != 0 ||
      H5Sget_simple_extent_npoints(space.get()) != 1 || bytes == 0 || bytes > limit)
    throw quantity::FileError(path_, "attribute " + name + " (expected one fixed-length text of at most " +
                                         std::to_string(limit) + " bytes)");
  std::string value(bytes, '\0');
  // The stored type is also the memory type: no conversion, hence no surprise about padding.
  check(H5Aread(attribute.get(), type.get(), value.data()), doing);
  value.resize(value.find_last_not_of('\0') + 1);
  return value;
}

int Hdf5Calls::read_integer(hid_t object, const std::string& name) const {
  const std::string doing = "read attribute " + name;
  const Hdf5Id attribute = own(H5Aopen(object, name.c_str(), H5P_DEFAULT), H5Aclose, doing);
  const Hdf5Id type = own(H5Aget_type(attribute.get()), H5Tclose, doing);
  const Hdf5Id space = own(H5Aget_space(attribute.get()), H5Sclose, doing);
  if (H5Tget_class(type.get()) != H5T_INTEGER || H5Tget_size(type.get()) > 8 ||
      H5Sget_simple_extent_npoints(space.get()) != 1)
    throw quantity::FileError(path_, "attribute " + name + " (expected one whole number)");
  int value = 0;
  check(H5Aread(attribute.get(), H5T_NATIVE_INT, &value), doing);
  return value;
}

Hdf5Id Hdf5Calls::create_group(hid_t where, const std::string& name) const {
  const Hdf5Id creation = ordered_creation(H5P_GROUP_CREATE);
  return own(H5Gcreate2(where, name.c_str(), H5P_DEFAULT, creation.get(), H5P_DEFAULT), H5Gclose,
             "create group " + name);
}

Hdf5Id Hdf5Calls::create_numbers(hid_t where, const std::string& name, std::span<const double> values,
                                 bool scalar) const {
  const std::string doing = "write dataset " + name;
  const hsize_t count = values.size();
  const Hdf5Id creation = ordered_creation(H5P_DATASET_CREATE);
  const Hdf5Id space =
      own(scalar ? H5Screate(H5S_SCALAR) : H5Screate_simple(1, &count, nullptr), H5Sclose, doing);
  Hdf5Id dataset = own(
      H5Dcreate2(where, name.c_str(), H5T_IEEE_F64LE, space.get(), H5P_DEFAULT, creation.get(), H5P_DEFAULT),
      H5Dclose, doing);
  check(H5Dwrite(dataset.get(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), doing);
  return dataset;
}

void forsake(hid_t file) {
  void* handle = nullptr;
  if (H5Fget_vfd_handle(file, H5P_DEFAULT, &handle) < 0 || !handle) return;
  const int memory = ::memfd_create("forsaken", MFD_CLOEXEC);
  if (memory < 0) return;
  ::dup2(memory, *static_cast<int*>(handle));  // the default driver's handle is its file descriptor
  ::close(memory);
}

Hdf5Id ordered_creation(hid_t kind) {
  Hdf5Id list(H5Pcreate(kind), H5Pclose);
  const unsigned tracked = H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED;
  H5Pset_attr_creation_order(list.get(), tracked);
  H5Pset_obj_track_times(list.get(),
                         false);  // the record says when; nothing else may differ between two runs
  if (kind != H5P_DATASET_CREATE) H5Pset_link_creation_order(list.get(), tracked);
  return list;
}

ChunkPacker::ChunkPacker(int rows, int columns, int element)
    : rows_(rows), columns_(columns), element_(element), shuffled_(size_t(rows) * columns * element) {
  if (deflateInit(&stream_, kDeflateLevel) != Z_OK) throw std::bad_alloc();
  packed_.resize(deflateBound(&stream_, uLong(shuffled_.size())));
}

ChunkPacker::~ChunkPacker() {
  deflateEnd(&stream_);
}

std::span<const unsigned char> ChunkPacker::pack(const std::byte* cells, int rows, int first_column,
                                                 int stride) {
  const int columns = std::min(columns_, stride - first_column);
  if (rows < rows_ || columns < columns_) std::fill(shuffled_.begin(), shuffled_.end(), 0);
  const size_t plane = size_t(rows_) * columns_;
  for (int row = 0; row < rows; ++row) {
    const auto* from =
        reinterpret_cast<const unsigned char*>(cells + (size_t(row) * stride + first_column) * element_);
    unsigned char* to = shuffled_.data() + size_t(row) * columns_;
    if (element_ == 1) {
      std::memcpy(to, from, size_t(columns));
    } else {
      for (int byte = 0; byte < element_; ++byte)
        for (int i = 0; i < columns; ++i) to[size_t(byte) * plane + i] = from[size_t(i) * element_ + byte];
    }
  }
  deflateReset(&stream_);
  stream_.next_in = shuffled_.data();
  stream_.avail_in = uInt(shuffled_.size());
  stream_.next_out = packed_.data();
  stream_.avail_out = uInt(packed_.size());
  deflate(&stream_, Z_FINISH);  // always room: deflateBound
  return {packed_.data(), size_t(stream_.total_out)};
}

}  // namespace circumfluence::mark
