// Codes made with the library ZXing: by version, and as art.
#define ZX_USE_UTF8 1
#include <ZXing/BitMatrix.h>
#include <ZXing/MultiFormatWriter.h>

#include <algorithm>

#include "look/code.h"
#include "quantity/error.h"

namespace circumfluence::look {
namespace {

// Letters and digits without pattern, by a linear congruence.
std::string words(int length) {
  std::string out;
  unsigned state = 12345;
  for (int i = 0; i < length; ++i) {
    state = state * 1664525u + 1013904223u;
    out += char('a' + (state >> 16) % 26);
  }
  return out;
}

constexpr int kLevel = 3;  // of the library's nine: level M, 15 %

ZXing::BitMatrix matrix(const std::string& text) {
  ZXing::MultiFormatWriter writer(ZXing::BarcodeFormat::QRCode);
  writer.setMargin(0).setEccLevel(kLevel).setEncoding(ZXing::CharacterSet::ISO8859_1);
  return writer.encode(text, 0, 0);
}

}  // namespace

Symbol qr_code(int version) {
  if (version < 1 || version > 40)
    throw quantity::ValidityError("QR code: a version from 1 to 40 is expected");
  const int side = 17 + 4 * version;
  Symbol empty{.kind = Symbology::qr, .columns = side, .rows = side};
  empty.dark.assign(size_t(side) * size_t(side), 0);
  // Three fifths of the codewords are text, or nearly so.
  int length = std::max(1, int(0.6 * codewords(empty).count) - 3);
  ZXing::BitMatrix bits = matrix(words(length));
  for (int tries = 0; tries < 40 && bits.width() != side; ++tries) {
    length += (bits.width() < side ? 1 : -1) * std::max(1, length / 50);
    bits = matrix(words(length));
  }
  Symbol out{.kind = Symbology::qr, .text = words(length), .columns = bits.width(), .rows = bits.height()};
  if (out.columns != side) throw quantity::ValidityError("QR code: a code of that version could not be made");
  const double edge = side;
  out.corners = {{{0, 0}, {edge, 0}, {edge, edge}, {0, edge}}};
  for (int y = 0; y < side; ++y)
    for (int x = 0; x < side; ++x) out.dark.push_back(bits.get(x, y));
  return out;
}

artwork::Image drawn(const Symbol& symbol, int pixels) {
  if (pixels < 1 || symbol.dark.empty() || symbol.dark.size() != size_t(symbol.columns) * size_t(symbol.rows))
    throw quantity::ValidityError("drawing of a code: modules and a pixel each are expected");
  artwork::Image out{symbol.columns * pixels, symbol.rows * pixels, {}, {}};
  out.tone.reserve(size_t(out.width) * size_t(out.height));
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      const size_t module = size_t(y / pixels) * size_t(symbol.columns) + size_t(x / pixels);
      out.tone.push_back(symbol.black(module) ? 0 : 65535);
    }
  return out;
}

}  // namespace circumfluence::look
