// PNG and JPEG files made on the spot, in memory, for the tests of this room.
#pragma once

#include <png.h>
#include <turbojpeg.h>

#include <cstdint>
#include <random>
#include <stdexcept>
#include <vector>

namespace circumfluence::artwork::made {

using Bytes = std::vector<std::uint8_t>;

// Numbers from 0 to `most`, the same for the same seed.
inline std::vector<int> noise(std::size_t count, int most, unsigned seed = 1) {
  std::mt19937 random(seed);
  std::vector<int> out(count);
  for (int& value : out) value = static_cast<int>(random() % (static_cast<unsigned>(most) + 1));
  return out;
}

// Samples of one pixel as the file stores them, `channels` a pixel, each 0 to 2^depth - 1.
struct PngRecipe {
  int width = 1, height = 1;
  int depth = 8;
  int colour = PNG_COLOR_TYPE_GRAY;
  bool interlaced = false;
  std::vector<png_color> palette = {};
  std::vector<std::uint8_t> palette_opacity = {};
  int transparent = -1;  // the grey level, or the level of all of R, G, B, that tRNS makes transparent
};

inline int channels(int colour) {
  return (colour & PNG_COLOR_MASK_PALETTE ? 1
          : colour & PNG_COLOR_MASK_COLOR ? 3
                                          : 1) +
         (colour & PNG_COLOR_MASK_ALPHA ? 1 : 0);
}

// Rows of packed bytes from one number a sample, most significant bits and bytes first.
inline std::vector<Bytes> packed(const PngRecipe& recipe, const std::vector<int>& samples) {
  const int row_samples = recipe.width * channels(recipe.colour);
  std::vector<Bytes> rows(recipe.height);
  for (int y = 0; y < recipe.height; ++y) {
    int bit = 0;
    for (int i = 0; i < row_samples; ++i, bit += recipe.depth) {
      const int value = samples.at(y * row_samples + i);
      rows[y].resize((bit + recipe.depth + 7) / 8);
      if (recipe.depth == 16) {
        rows[y][bit / 8] = static_cast<std::uint8_t>(value >> 8);
        rows[y][bit / 8 + 1] = static_cast<std::uint8_t>(value);
      } else {
        rows[y][bit / 8] =
            static_cast<std::uint8_t>(rows[y][bit / 8] | value << (8 - recipe.depth - bit % 8));
      }
    }
  }
  return rows;
}

inline Bytes png(const PngRecipe& recipe, const std::vector<int>& samples) {
  Bytes out;
  png_structp file = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(file);
  png_set_write_fn(
      file, &out,
      [](png_structp p, png_bytep data, std::size_t size) {
        auto& to = *static_cast<Bytes*>(png_get_io_ptr(p));
        to.insert(to.end(), data, data + size);
      },
      nullptr);
  png_set_IHDR(file, info, recipe.width, recipe.height, recipe.depth, recipe.colour,
               recipe.interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  if (!recipe.palette.empty())
    png_set_PLTE(file, info, recipe.palette.data(), static_cast<int>(recipe.palette.size()));
  if (!recipe.palette_opacity.empty())
    png_set_tRNS(file, info, recipe.palette_opacity.data(), static_cast<int>(recipe.palette_opacity.size()),
                 nullptr);
  if (recipe.transparent >= 0) {
    const auto level = static_cast<png_uint_16>(recipe.transparent);
    const png_color_16 key = {0, level, level, level, level};
    png_set_tRNS(file, info, nullptr, 0, &key);
  }
  std::vector<Bytes> rows = packed(recipe, samples);
  std::vector<png_bytep> pointers;
  for (Bytes& row : rows) pointers.push_back(row.data());
  png_set_rows(file, info, pointers.data());
  png_write_png(file, info, PNG_TRANSFORM_IDENTITY, nullptr);
  png_destroy_write_struct(&file, &info);
  return out;
}

struct JpegRecipe {
  int width = 8, height = 8;
  int format = TJPF_GRAY;
  int subsampling = TJSAMP_GRAY;
  int flags = 0;
};

inline Bytes jpeg(const JpegRecipe& recipe, const Bytes& pixels) {
  tjhandle handle = tjInitCompress();
  unsigned char* data = nullptr;
  unsigned long size = 0;
  const int status = tjCompress2(handle, pixels.data(), recipe.width, 0, recipe.height, recipe.format, &data,
                                 &size, recipe.subsampling, 100, recipe.flags);
  if (status != 0) throw std::runtime_error(tjGetErrorStr2(handle));
  Bytes out(data, data + size);
  tjFree(data);
  tjDestroy(handle);
  return out;
}

}  // namespace circumfluence::artwork::made
