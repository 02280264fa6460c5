// A second reader of codes, zbar, by which the first and the predictions are judged.
#pragma once

#include <zbar.h>

#include <algorithm>
#include <string>
#include <vector>

#include "appearance/picture.h"

namespace circumfluence::look {

// Texts of the QR codes that it reads in a picture, as it is or with light and dark exchanged.
inline std::vector<std::string> read_otherwise(const appearance::Pixels& picture) {
  std::vector<std::string> out;
  for (const bool exchanged : {false, true}) {
    std::vector<std::uint8_t> grey;
    for (const appearance::Colour& c : picture.rgb) {
      const int level = (54 * c[0] + 183 * c[1] + 19 * c[2]) / 256;
      grey.push_back(std::uint8_t(exchanged ? 255 - level : level));
    }
    const auto [least, most] = std::minmax_element(grey.begin(), grey.end());
    const int low = *least, span = std::max(1, *most - low);
    for (std::uint8_t& level : grey) level = std::uint8_t((level - low) * 255 / span);
    zbar::ImageScanner scanner;
    scanner.set_config(zbar::ZBAR_NONE, zbar::ZBAR_CFG_ENABLE, 0);
    scanner.set_config(zbar::ZBAR_QRCODE, zbar::ZBAR_CFG_ENABLE, 1);
    zbar::Image image(unsigned(picture.width), unsigned(picture.height), "Y800", grey.data(), grey.size());
    scanner.scan(image);
    for (auto symbol = image.symbol_begin(); symbol != image.symbol_end(); ++symbol)
      out.push_back(symbol->get_data());
  }
  return out;
}

// Means over squares of so many pixels: from farther away.
inline appearance::Pixels thinned(const appearance::Pixels& from, int by) {
  appearance::Pixels out{from.width / by, from.height / by, {}};
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      appearance::Linear light{};
      for (int i = 0; i < by * by; ++i) {
        const size_t at = size_t(y * by + i / by) * size_t(from.width) + size_t(x * by + i % by);
        const appearance::Linear part = appearance::linear_from_srgb(from.rgb[at]);
        for (size_t c = 0; c < 3; ++c) light[c] += part[c] / (by * by);
      }
      out.rgb.push_back(appearance::srgb_from_linear(light));
    }
  return out;
}

// Held at three distances.
inline bool reads_otherwise(const appearance::Pixels& picture, const std::string& text) {
  for (const int by : {1, 2, 3}) {
    const std::vector<std::string> all = read_otherwise(thinned(picture, by));
    if (std::find(all.begin(), all.end(), text) != all.end()) return true;
  }
  return false;
}

}  // namespace circumfluence::look
