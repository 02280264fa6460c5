// What stands in a file of record besides the maps, in tables, and the page of documentation made from them.
// Writer and reader walk the same tables, so the page cannot say something else than the file.
#pragma once

#include <array>
#include <string>

namespace circumfluence::mark {

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
