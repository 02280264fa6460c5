// Any bytes are a picture or a FileError. Chunk checksums of a PNG are put right first, so that mutations get
// past them; an odd last byte leaves them as they are.
#include <zlib.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>
#include <vector>

#include "artwork/image.h"
#include "quantity/error.h"

namespace {

void mend_checksums(std::vector<std::uint8_t>& bytes) {
  for (std::size_t at = 8; at + 12 <= bytes.size();) {
    std::size_t length = 0;
    for (int i = 0; i < 4; ++i) length = length << 8 | bytes[at + i];
    if (length > bytes.size() - at - 12) return;
    const auto crc = crc32(0, bytes.data() + at + 4, static_cast<uInt>(length + 4));
    for (int i = 0; i < 4; ++i) bytes[at + 8 + length + i] = static_cast<std::uint8_t>(crc >> (24 - 8 * i));
    at += 12 + length;
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace circumfluence;
  std::vector<std::uint8_t> bytes(data, data + size);
  if (size > 8 && bytes[0] == 0x89 && bytes.back() % 2 == 0) mend_checksums(bytes);
  try {
    const artwork::Image image = artwork::decode_image(bytes, "fuzz");
    const auto pixels = static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height);
    if (pixels == 0 || image.tone.size() != pixels) std::abort();
    if (!image.opacity.empty() && image.opacity.size() != pixels) std::abort();
  } catch (const quantity::FileError&) {
  }
  return 0;
}
