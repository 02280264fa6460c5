// Any bytes as a file of record: MarkFile either reads it or throws FileError.
//
// HDF5 itself is a library as the distribution built it, without instrumentation; what it does inside itself
// on a hostile file shows here only when it is fatal.
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "mark/mark_file.h"
#include "quantity/error.h"

using namespace circumfluence;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const int memory = ::memfd_create("mark", MFD_CLOEXEC);
  if (memory < 0 || ::write(memory, data, size) != ssize_t(size)) return 0;
  try {
    const mark::MarkFile file("/proc/self/fd/" + std::to_string(memory));
    const std::size_t cells = file.header().around.size() * file.header().axial.size();
    if (cells <= std::size_t{1} << 22) {
      std::vector<float> map(cells);
      for (int layer = 0; layer < mark::kLayers; ++layer) file.read(mark::Layer(layer), map.data());
    }
  } catch (const quantity::FileError&) {
  }
  ::close(memory);
  return 0;
}
