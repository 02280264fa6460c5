#include <fmt/format.h>
#include <turbojpeg.h>

#include <memory>
#include <new>

#include "artwork/image.h"
#include "artwork/png.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

void check(const PngSource& source, int quality) {
  if (source.data == nullptr || source.width < 1 || source.height < 1 || source.width > kMostPixelsASide ||
      source.height > kMostPixelsASide)
    throw quantity::ValidityError(fmt::format("JPEG picture: size = {} x {} (expected 1 to {} pixels a side)",
                                              source.width, source.height, kMostPixelsASide));
  if (quality < 1 || quality > 100)
    throw quantity::ValidityError(fmt::format("JPEG picture: quality = {} (expected 1 to 100)", quality));
}

int format_of(Samples samples) {
  return samples == Samples::rgb ? TJPF_RGB : samples == Samples::padded ? TJPF_BGRX : TJPF_GRAY;
}

}  // namespace

std::vector<std::uint8_t> encode_jpeg(const PngSource& source, int quality) {
  check(source, quality);
  const std::unique_ptr<void, int (*)(tjhandle)> coder(tjInitCompress(), tjDestroy);
  if (!coder) throw std::bad_alloc();
  const int colours = source.samples == Samples::grey ? TJSAMP_GRAY : TJSAMP_420;
  std::vector<std::uint8_t> out(tjBufSize(source.width, source.height, colours));
  unsigned char* at = out.data();
  unsigned long bytes = out.size();
  if (tjCompress2(coder.get(), source.data, source.width, int(source.stride), source.height,
                  format_of(source.samples), &at, &bytes, colours, quality,
                  TJFLAG_NOREALLOC | TJFLAG_ACCURATEDCT) != 0)
    throw quantity::ValidityError(
        fmt::format("JPEG picture: cannot be packed ({})", tjGetErrorStr2(coder.get())));
  out.resize(bytes);
  return out;
}

}  // namespace circumfluence::artwork
