// Which way up a camera held its picture: the orientation tag of a JPEG's EXIF block.
#include <algorithm>
#include <array>
#include <utility>

#include "artwork/image.h"

namespace circumfluence::artwork {
namespace {

using Bytes = std::span<const std::uint8_t>;

constexpr unsigned kOrientation = 274, kShort = 3;  // tag, and kind of its value

// A TIFF block's numbers lie either way round.
struct Tiff {
  Bytes bytes;
  bool little = false;

  std::uint32_t number(std::size_t at, int size) const {
    std::uint32_t out = 0;
    for (int i = 0; i < size; ++i) out = out << 8 | bytes[at + (little ? size - 1 - i : i)];
    return out;
  }
};

// 0 where the block says nothing that makes sense.
int orientation_of(Bytes block) {
  if (block.size() < 14) return 0;
  const Tiff tiff{block, block[0] == 'I'};
  if (block[0] != block[1] || (block[0] != 'I' && block[0] != 'M') || tiff.number(2, 2) != 42) return 0;
  const std::size_t table = tiff.number(4, 4);
  if (table > block.size() - 2) return 0;
  const std::size_t entries = std::min<std::size_t>(tiff.number(table, 2), (block.size() - table - 2) / 12);
  for (std::size_t i = 0; i < entries; ++i) {
    const std::size_t entry = table + 2 + 12 * i;
    if (tiff.number(entry, 2) != kOrientation) continue;
    const std::uint32_t value = tiff.number(entry + 8, 2);
    return tiff.number(entry + 2, 2) == kShort && value >= 1 && value <= 8 ? int(value) : 0;
  }
  return 0;
}

// A picture's pixels, moved to where they are seen. From 5 on, rows are seen as columns.
template <class T>
std::vector<T> turned(const std::vector<T>& stored, int width, int height, int orientation) {
  if (stored.empty()) return {};
  const bool swapped = orientation >= 5;
  const bool left = orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8;
  const bool up = orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7;
  const int across = swapped ? height : width, down = swapped ? width : height;
  std::vector<T> out(stored.size());
  T* to = out.data();
  for (int y = 0; y < down; ++y)
    for (int x = 0; x < across; ++x) {
      const int column = swapped ? y : x, row = swapped ? x : y;
      *to++ = stored[std::size_t(up ? height - 1 - row : row) * width + (left ? width - 1 - column : column)];
    }
  return out;
}

}  // namespace

int stored_orientation(Bytes jpeg) {
  static constexpr std::array<std::uint8_t, 6> kExif = {'E', 'x', 'i', 'f', 0, 0};
  for (std::size_t at = 2; at + 4 <= jpeg.size() && jpeg[at] == 0xff;) {
    const std::uint8_t code = jpeg[at + 1];
    if (code == 0xff) {  // a fill byte
      ++at;
      continue;
    }
    if (code == 0xda || code == 0xd9) break;  // the picture itself
    const std::size_t length = std::size_t{jpeg[at + 2]} << 8 | jpeg[at + 3];
    if (length < 2 || length > jpeg.size() - at - 2) break;
    const Bytes segment = jpeg.subspan(at + 4, length - 2);
    if (code == 0xe1 && segment.size() > kExif.size() &&
        std::equal(kExif.begin(), kExif.end(), segment.begin()))
      if (const int found = orientation_of(segment.subspan(kExif.size()))) return found;
    at += 2 + length;
  }
  return 1;
}

void upright(Image& image, int orientation) {
  if (orientation == 1) return;
  image.tone = turned(image.tone, image.width, image.height, orientation);
  image.opacity = turned(image.opacity, image.width, image.height, orientation);
  if (orientation >= 5) std::swap(image.width, image.height);
}

void upright(Colours& colours, int orientation) {
  if (orientation == 1) return;
  colours.pixels = turned(colours.pixels, colours.width, colours.height, orientation);
  if (orientation >= 5) std::swap(colours.width, colours.height);
}

}  // namespace circumfluence::artwork
