// What stands in a file of record, in tables, and the page of documentation made from them. Writer, reader and Python
// walk the same tables, so the page cannot say something else than the file.
#pragma once

#include <array>
#include <cstddef>
#include <string>

namespace circumfluence::mark {

// The maps.
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

// Axes and coordinates, 1-D datasets of float64; the first two are the dimension scales.
enum class Axis { around, axial, angle, radius };
struct AxisInfo {
  const char* name;    // dataset name
  const char* unit;    // as stored
  const char* over;    // the dimension it runs along
  const char* letter;  // CF attribute `axis`, "" for a coordinate that is no axis
  const char* long_name;
};
const std::array<AxisInfo, 4>& axes();

// Single values kept as attributes of the root or of a group.
enum class Entry { conventions, title, source, format, format_version, version, created, job, materials };
struct EntryInfo {
  const char* group;  // "/" or "/record"
  const char* name;   // attribute name
  const char* type;   // "text" or "int32"
  const char* meaning;
};
const std::array<EntryInfo, 9>& entries();

inline constexpr int kChunkColumns = 256;  // of a compact map; its chunks are MarkWriter::kStripe high
inline constexpr const char* kSummaryGroup = "summary";
inline constexpr const char* kRecordGroup = "record";

// Markdown: every group, dataset, type, shape and unit of a file of record.
std::string mark_format_page();

}  // namespace circumfluence::mark
