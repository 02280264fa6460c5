// The file of record: one HDF5 file a prediction, a valid netCDF-4 / CF file at the same time.
//
// Maps over dimension scales `around` [m] and `axial` [m], an auxiliary coordinate `angle` [degree] over
// around, groups /summary and /record (job text, material records, versions). Written to a temporary name in
// the same folder and renamed when complete; a writer that is destroyed before finish() leaves nothing
// behind.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "mark/contents.h"

namespace circumfluence::mark {

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
