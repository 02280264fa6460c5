// Any picture is searched for codes without a crash or a hang. Bytes: width, height, then a bit a pixel, the highest
// first, 1 dark; what is missing is light.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "look/code.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace circumfluence;
  if (size < 2 || data[0] == 0 || data[1] == 0) return 0;
  artwork::Image art{data[0], data[1], {}, {}};
  for (std::size_t i = 0; i < std::size_t(art.width) * std::size_t(art.height); ++i) {
    const std::size_t at = 2 + i / 8;
    art.tone.push_back(at < size && (data[at] >> (7 - i % 8) & 1) != 0 ? 0 : 65535);
  }
  for (const look::Symbol& symbol : look::find_symbols(art))
    if (symbol.dark.size() != std::size_t(symbol.columns) * std::size_t(symbol.rows)) std::abort();
  look::looks_like_symbol(art);
  return 0;
}
