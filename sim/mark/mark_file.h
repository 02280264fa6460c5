// The file of record: one HDF5 file a prediction, a valid netCDF-4 / CF file at the same time.
//
// Maps over dimension scales `around` [m] and `axial` [m], an auxiliary coordinate `angle` [degree] over
// around, groups /summary and /record (job text, material records, versions). Written to a temporary name in
// the same folder and renamed when complete; a writer that is destroyed before finish() leaves nothing
// behind.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace circumfluence::mark {

// What stands in a file of record, in tables, and the page of documentation made from them. Writer, reader and Python
// walk the same tables, so the page cannot say something else than the file.

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

inline constexpr int kFormatVersion = 2;  // 1: no wall; "changed" was "removed", of coats and organic bodies alone
inline constexpr const char* kWallGroup = "wall";
inline constexpr const char* kFormatName = "circumfluence mark map";

struct FileHeader {
  std::vector<double> around;  // [m] cell centres, n rows
  std::vector<double> axial;   // [m] cell centres, n columns
  std::vector<double> angle;   // [rad] azimuth of each row
  std::vector<double> radius;  // [m] of each column
  std::string title;           // one line
  std::string job_text;        // TOML
  std::string materials;       // TOML of the records used
  bool compact = false;        // chunked, shuffled and deflated by the threads that hand in rows
};

// Named figures of the verdict, SI, stored as scalar datasets of /summary with their units; words as its
// attributes. Names have letters, digits and _ only.
struct SummaryEntry {
  std::string name, unit;
  double value;
};
struct Summary {
  std::vector<SummaryEntry> figures;
  std::vector<std::pair<std::string, std::string>> words;  // name, text
};

// The wall's own temperature when the beam came, the highest of each coarse cell; that before the job elsewhere.
struct WallMap {
  std::vector<double> around, axial;  // [m] centres of its cells
  std::vector<float> temperature;     // [K] [around][axial]
};

class MarkWriter {
 public:
  static constexpr int kStripe = 64;  // rows a stripe: also the chunk height when compact

  // Throws FileError (folder missing, not writable, disk full as soon as it is known).
  MarkWriter(const std::string& path, FileHeader header);
  ~MarkWriter();
  MarkWriter(const MarkWriter&) = delete;
  MarkWriter& operator=(const MarkWriter&) = delete;

  // Hands in `rows` whole rows of one layer from row `first`, a multiple of kStripe; all stripes but the last
  // have kStripe rows. Safe to call from several threads for different stripes.
  void write_rows(Layer layer, int first, int rows, const void* cells);

  // Writes the summary and the wall, and renames into place.
  void finish(const Summary& summary, const WallMap& wall = {});

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// A file of record read back; maps are read when asked for.
class MarkFile {
 public:
  explicit MarkFile(const std::string& path);  // FileError: not HDF5, not ours, a newer version, damaged
  ~MarkFile();
  const FileHeader& header() const;
  const Summary& summary() const;
  const WallMap& wall() const;  // empty in files of format 1
  // cells: around.size() * axial.size() floats or bytes by the layer's type.
  void read(Layer layer, void* cells) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace circumfluence::mark
