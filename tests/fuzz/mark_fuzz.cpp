// Any bytes as a file of record: MarkFile either reads it or throws FileError.
//
// Checksums of the superblock and of object headers are put right first, so that mutations get past them; an
// odd last byte leaves them as they are. HDF5 itself is the library as the distribution built it, without
// instrumentation: what it does inside itself on a hostile file shows here only when it is fatal, and the memory
// it leaks on some of them is not ours to free (tests/leaks.supp). The handles are: none may stay open.
#include <hdf5.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstring>
#include <span>
#include <string>
#include <vector>

#include "mark/mark_file.h"
#include "quantity/error.h"

extern "C" std::uint32_t H5_checksum_metadata(const void* data, std::size_t size, std::uint32_t seed);

namespace {

using namespace circumfluence;

void mend(std::span<std::uint8_t> block) {  // its last four bytes are the checksum of the others
  const std::uint32_t sum = H5_checksum_metadata(block.data(), block.size() - 4, 0);
  std::memcpy(block.data() + block.size() - 4, &sum, 4);
}

void mend_checksums(std::vector<std::uint8_t>& bytes) {
  const std::size_t size = bytes.size();
  if (size >= 48) mend({bytes.data(), 48});
  for (std::size_t at = 48; at + 34 <= size; ++at) {
    if (std::memcmp(bytes.data() + at, "OHDR", 4) != 0) continue;
    const std::uint8_t flags = bytes[at + 5];
    const std::size_t width = std::size_t{1} << (flags & 3u);
    const std::size_t messages = at + 6 + ((flags & 0x20u) ? 16 : 0) + ((flags & 0x10u) ? 4 : 0);
    std::uint64_t length = 0;
    std::memcpy(&length, bytes.data() + messages, width);
    if (length < size && messages + width + length + 4 <= size)
      mend({bytes.data() + at, messages + width + length + 4 - at});
  }
}

void read_all(const std::string& path) {
  try {
    const mark::MarkFile file(path);
    const std::size_t cells = file.header().around.size() * file.header().axial.size();
    if (cells > std::size_t{1} << 22) return;
    std::vector<float> map(cells);
    for (int layer = 0; layer < mark::kLayers; ++layer) file.read(mark::Layer(layer), map.data());
  } catch (const quantity::FileError&) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::vector<std::uint8_t> bytes(data, data + size);
  if (size > 0 && bytes.back() % 2 == 0) mend_checksums(bytes);
  const int memory = ::memfd_create("mark", MFD_CLOEXEC);
  if (memory >= 0 && ::write(memory, bytes.data(), size) == ssize_t(size))
    read_all("/proc/self/fd/" + std::to_string(memory));
  if (memory >= 0) ::close(memory);
  if (H5Fget_obj_count(H5F_OBJ_ALL, H5F_OBJ_ALL) != 0) __builtin_trap();  // a handle of ours stayed open
  return 0;
}
