#include "artwork/image.h"

#include <fmt/format.h>
#include <png.h>
#include <turbojpeg.h>

#include <algorithm>
#include <array>
#include <csetjmp>
#include <cstring>
#include <memory>

#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using quantity::FileError;
using Bytes = std::span<const std::uint8_t>;

void check_size(long width, long height, const std::string& name) {
  if (width < 1 || height < 1)
    throw FileError(name, fmt::format("the picture has no pixels ({} x {})", width, height));
  if (width > kMostPixelsASide || height > kMostPixelsASide || width * height > kMostPixels)
    throw FileError(name, fmt::format("{} x {} pixels (too large; expected at most {} a side and {} million "
                                      "in all). Scale the picture down",
                                      width, height, kMostPixelsASide, kMostPixels / 1'000'000));
}

// Rec. ITU-R BT.709-6, item 3.2: 0.2126, 0.7152, 0.0722, as shares of 65536 that sum to it, so that a grey
// pixel keeps its value exactly.
std::uint16_t luma(std::uint32_t red, std::uint32_t green, std::uint32_t blue) {
  return static_cast<std::uint16_t>((13933u * red + 46871u * green + 4732u * blue + 32768u) >> 16);
}

// How the samples of one pixel lie in a row of bytes; 16-bit samples come high byte first.
struct Layout {
  int channels = 1;  // grey, grey + alpha, RGB, RGBA
  int depth = 8;
  bool has_alpha() const { return channels % 2 == 0; }
};

// Where the pixels of a row go: every `step`-th place.
struct Target {
  std::uint16_t* tone;  // or, where that is null,
  Colour* colour;
  std::uint16_t* opacity;  // null when the layout has no alpha, and for colours
  std::size_t step;
};

// What a picture is decoded to: tones, or colours.
struct Picture {
  bool in_colour = false;
  Image image;
  Colours colours;

  void allocate(int width, int height, bool has_alpha) {
    const std::size_t pixels = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
    image.width = colours.width = width;
    image.height = colours.height = height;
    if (in_colour) return colours.pixels.resize(pixels);
    image.tone.resize(pixels);
    if (has_alpha) image.opacity.resize(pixels);
  }
  Target target(std::size_t from, std::size_t step) {
    if (in_colour) return {nullptr, colours.pixels.data() + from, nullptr, step};
    return {image.tone.data() + from, nullptr, image.opacity.empty() ? nullptr : image.opacity.data() + from,
            step};
  }
};

template <int Bytes>
std::uint32_t sample(const std::uint8_t* at) {
  if constexpr (Bytes == 2) return static_cast<std::uint32_t>(at[0]) << 8 | at[1];
  return at[0] * 257u;
}

template <int Bytes>
void convert(const std::uint8_t* row, int count, Layout layout, Target target) {
  const int pixel = layout.channels * Bytes;
  for (int i = 0; i < count; ++i, row += pixel, target.tone += target.step) {
    const std::uint32_t first = sample<Bytes>(row);
    *target.tone = layout.channels < 3
                       ? static_cast<std::uint16_t>(first)
                       : luma(first, sample<Bytes>(row + Bytes), sample<Bytes>(row + 2 * Bytes));
    if (target.opacity) {
      *target.opacity = static_cast<std::uint16_t>(sample<Bytes>(row + pixel - Bytes));
      target.opacity += target.step;
    }
  }
}

// Seen on white, as far as it is transparent.
template <int Bytes>
void convert_colour(const std::uint8_t* row, int count, Layout layout, Target target) {
  const int pixel = layout.channels * Bytes;
  for (int i = 0; i < count; ++i, row += pixel, target.colour += target.step) {
    const std::uint64_t opacity = layout.has_alpha() ? sample<Bytes>(row + pixel - Bytes) : 65535;
    for (int channel = 0; channel < 3; ++channel) {
      const std::uint64_t value = sample<Bytes>(layout.channels < 3 ? row : row + channel * Bytes);
      const std::uint64_t seen = (value * opacity + 65535 * (65535 - opacity) + 32767) / 65535;
      (*target.colour)[channel] = static_cast<std::uint8_t>((seen + 128) / 257);
    }
  }
}

void convert(const std::uint8_t* row, int count, Layout layout, Target target) {
  const bool deep = layout.depth == 16;
  if (target.tone == nullptr)
    deep ? convert_colour<2>(row, count, layout, target) : convert_colour<1>(row, count, layout, target);
  else
    deep ? convert<2>(row, count, layout, target) : convert<1>(row, count, layout, target);
}

// libpng reports errors by longjmp, which runs no destructor. So everything that owns memory lives in this
// struct, outside of the jump, and the steps that call libpng have trivial locals only.
struct Png {
  Png(Bytes file, Picture& into) : bytes(file), picture(into) {
    png =
        png_create_read_struct(PNG_LIBPNG_VER_STRING, this, &Png::fail, [](png_structp, png_const_charp) {});
    if (png) info = png_create_info_struct(png);
    if (!info) {
      png_destroy_read_struct(&png, nullptr, nullptr);
      throw std::bad_alloc();
    }
  }
  ~Png() { png_destroy_read_struct(&png, &info, nullptr); }
  Png(const Png&) = delete;
  Png& operator=(const Png&) = delete;

  [[noreturn]] static void fail(png_structp p, png_const_charp message) {
    auto& self = *static_cast<Png*>(png_get_error_ptr(p));
    std::strncpy(self.problem.data(), message, self.problem.size() - 1);
    png_longjmp(p, 1);
  }

  static void feed(png_structp p, png_bytep to, std::size_t count) {
    auto& self = *static_cast<Png*>(png_get_io_ptr(p));
    if (count > self.bytes.size() - self.at) png_error(p, "the file ends too early");
    std::memcpy(to, self.bytes.data() + self.at, count);
    self.at += count;
  }

  // False when libpng gave up; `problem` says why.
  bool attempt(void (*step)(Png&)) {
    if (setjmp(png_jmpbuf(png))) return false;
    step(*this);
    return true;
  }

  png_structp png = nullptr;
  png_infop info = nullptr;
  Bytes bytes;
  std::size_t at = 0;
  std::array<char, 160> problem{};
  Layout layout;
  std::vector<std::uint8_t> row;
  Picture& picture;
};

void read_header(Png& file) {
  // Ancillary chunks that could be large or slow and do not change the pixels; tRNS is kept.
  static constexpr char kSkipped[] =
      "bKGD\0cHRM\0eXIf\0gAMA\0hIST\0iCCP\0iTXt\0oFFs\0pCAL\0pHYs\0sBIT\0sCAL\0sPLT\0sRGB\0tEXt\0tIME\0zTXt";
  png_set_keep_unknown_chunks(file.png, PNG_HANDLE_CHUNK_NEVER, reinterpret_cast<png_const_bytep>(kSkipped),
                              sizeof(kSkipped) / 5);
  png_set_crc_action(file.png, PNG_CRC_ERROR_QUIT, PNG_CRC_ERROR_QUIT);
  png_set_benign_errors(file.png, 0);
  png_set_user_limits(file.png, PNG_UINT_31_MAX, PNG_UINT_31_MAX);  // check_size speaks more clearly
  png_set_read_fn(file.png, &file, &Png::feed);
  png_read_info(file.png, file.info);
}

void choose_layout(Png& file) {
  png_set_expand(file.png);
  png_read_update_info(file.png, file.info);
  file.layout = {png_get_channels(file.png, file.info), png_get_bit_depth(file.png, file.info)};
}

// Adam7 passes are placed by hand: a row at a time, so that no second copy of the picture is needed.
void read_rows(Png& file) {
  const bool interlaced = png_get_interlace_type(file.png, file.info) != PNG_INTERLACE_NONE;
  const auto width = static_cast<std::uint32_t>(file.picture.image.width);
  const auto height = static_cast<std::uint32_t>(file.picture.image.height);
  for (int pass = 0; pass < (interlaced ? PNG_INTERLACE_ADAM7_PASSES : 1); ++pass) {
    const std::uint32_t columns = interlaced ? PNG_PASS_COLS(width, pass) : width;
    const std::uint32_t rows = columns == 0 ? 0 : interlaced ? PNG_PASS_ROWS(height, pass) : height;
    for (std::uint32_t i = 0; i < rows; ++i) {
      png_read_row(file.png, file.row.data(), nullptr);
      const std::size_t y = interlaced ? PNG_ROW_FROM_PASS_ROW(i, pass) : i;
      const std::size_t to = y * width + (interlaced ? PNG_PASS_START_COL(pass) : 0);
      convert(file.row.data(), static_cast<int>(columns), file.layout,
              file.picture.target(to, interlaced ? std::size_t{1} << PNG_PASS_COL_SHIFT(pass) : 1));
    }
  }
  png_read_end(file.png, nullptr);
}

void decode_png(Bytes bytes, const std::string& name, Picture& picture) {
  Png file(bytes, picture);
  const auto attempt = [&](void (*step)(Png&)) {
    if (!file.attempt(step))
      throw FileError(name, fmt::format("damaged or truncated PNG ({})", file.problem.data()));
  };
  attempt(read_header);
  const long width = png_get_image_width(file.png, file.info);
  const long height = png_get_image_height(file.png, file.info);
  check_size(width, height, name);
  // Deflate cannot shrink more than 1032 times: a file too short for its pixels is refused unallocated.
  const auto packed = static_cast<long>(png_get_rowbytes(file.png, file.info));
  if (packed * height / 1032 > static_cast<long>(bytes.size()))
    throw FileError(name, fmt::format("damaged or truncated PNG ({} bytes cannot hold {} x {} pixels)",
                                      bytes.size(), width, height));
  attempt(choose_layout);
  picture.allocate(static_cast<int>(width), static_cast<int>(height), file.layout.has_alpha());
  file.row.resize(png_get_rowbytes(file.png, file.info));
  attempt(read_rows);
  if (std::ranges::all_of(picture.image.opacity, [](std::uint16_t o) { return o == 65535; }))
    std::vector<std::uint16_t>().swap(picture.image.opacity);
}

// Scans in the file, found by walking its marker segments. Coded data hold no marker but restarts.
int count_scans(Bytes bytes) {
  int scans = 0;
  std::size_t at = 2;
  while (at + 4 <= bytes.size()) {
    const std::uint8_t code = bytes[at + 1];
    if (bytes[at] != 0xff || code == 0x00 || code == 0xff || (code >= 0xd0 && code <= 0xd8) || code == 0x01) {
      ++at;  // inside coded data, fill bytes, or a marker without a length
      continue;
    }
    if (code == 0xd9) break;
    scans += code == 0xda;
    at += 2 + (std::size_t{bytes[at + 2]} << 8 | bytes[at + 3]);
  }
  return scans;
}

void decode_jpeg(Bytes bytes, const std::string& name, Picture& picture) {
  const std::unique_ptr<void, int (*)(tjhandle)> jpeg(tjInitDecompress(), &tjDestroy);
  if (!jpeg) throw std::bad_alloc();
  const auto attempt = [&](int status) {
    if (status != 0)
      throw FileError(name,
                      fmt::format("damaged, truncated or unusual JPEG ({})", tjGetErrorStr2(jpeg.get())));
  };
  int width = 0, height = 0, subsampling = 0, colours = 0;
  attempt(
      tjDecompressHeader3(jpeg.get(), bytes.data(), bytes.size(), &width, &height, &subsampling, &colours));
  check_size(width, height, name);
  if (colours == TJCS_CMYK || colours == TJCS_YCCK)
    throw FileError(name, "a CMYK JPEG (expected grey or RGB). Save it as RGB");
  if (const int scans = count_scans(bytes); scans > kMostScans)
    throw FileError(name, fmt::format("a JPEG of {} scans (expected at most {}). Save it again as a baseline "
                                      "JPEG",
                                      scans, kMostScans));
  const Layout layout = {colours == TJCS_GRAY ? 1 : 3, 8};
  const std::size_t pixels = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  const auto raw = std::make_unique_for_overwrite<std::uint8_t[]>(pixels * layout.channels);
  attempt(tjDecompress2(jpeg.get(), bytes.data(), bytes.size(), raw.get(), width, 0, height,
                        layout.channels == 1 ? TJPF_GRAY : TJPF_RGB,
                        TJFLAG_STOPONWARNING | TJFLAG_LIMITSCANS | TJFLAG_ACCURATEDCT));
  picture.allocate(width, height, false);
  convert(raw.get(), static_cast<int>(pixels), layout, picture.target(0, 1));
}

Picture decode(Bytes bytes, const std::string& name, bool in_colour) {
  Picture picture{in_colour, {}, {}};
  if (kind_of(bytes, name) == FileKind::png) {
    decode_png(bytes, name, picture);
    return picture;
  }
  decode_jpeg(bytes, name, picture);
  const int orientation = stored_orientation(bytes);
  in_colour ? upright(picture.colours, orientation) : upright(picture.image, orientation);
  return picture;
}

}  // namespace

Image decode_image(Bytes bytes, const std::string& name) {
  return decode(bytes, name, false).image;
}

Colours decode_colours(Bytes bytes, const std::string& name) {
  return decode(bytes, name, true).colours;
}

}  // namespace circumfluence::artwork
