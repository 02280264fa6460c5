// The maps of a prediction, listed once: writer, reader, Python and the page of the file format read this
// table.
#pragma once

#include <array>
#include <cstddef>

namespace circumfluence::mark {

enum class Layer { fluence, changed, peak_temperature, margin, outcome, wanted };
inline constexpr int kLayers = 6;

struct LayerInfo {
  const char* name;  // dataset name
  const char* unit;  // UDUNITS and pint spelling
  const char* long_name;
  bool flags;            // uint8 classes; otherwise float32
  const char* meanings;  // of the flag values, separated by spaces
};

// fluence [J/m^2] etc. are stored in SI. In the order of Layer.
const std::array<LayerInfo, kLayers>& layers();

constexpr size_t bytes_a_cell(bool flags) {
  return flags ? 1 : 4;
}

}  // namespace circumfluence::mark
