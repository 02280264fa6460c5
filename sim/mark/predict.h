// From a job to its mark map: the whole road.
#pragma once

#include <string>

#include "appearance/picture.h"
#include "mark/mark_file.h"
#include "mark/verdict.h"
#include "quantity/map.h"
#include "quantity/bands.h"

namespace circumfluence::mark {

struct Request {
  std::string file;      // where the file of record goes; empty: none is written
  bool compact = false;  // compress it, lossless
  bool keep = false;     // return the maps as arrays
  bool warming = true;   // count the heat that earlier lines left in the wall
  int threads = 0;       // 0: as many as the machine has
  quantity::Progress progress;
};

// The maps of a prediction, SI, [around][axial]; empty unless kept.
struct Maps {
  quantity::Map<float> fluence, changed, peak_temperature, margin;
  quantity::Map<std::uint8_t> outcome, wanted;

  Maps() = default;
  Maps(int around, int axial);
  void* row(Layer layer, int row) const;
};

struct MarkMap {
  Scene scene;
  workpiece::Surface surface;
  motion::Raster raster;
  appearance::Overview overview;
  Maps maps;
  Verdict verdict;
  WallMap wall;
  response::Factors mark_factors;  // at which the wanted cells are marked
  response::Factors over_factors;  // at which cells, wanted or not, over-burn
};

// Throws JobError, ValidityError, FileError, and Interrupted when progress says stop; then nothing is left
// behind.
MarkMap predict(const job::Job& job, const Request& request);
MarkMap predict(Scene scene, const Request& request);  // of a job made ready before

// How its pictures are framed, and what the surface's states look like. Throws ValidityError when a record
// has no colours.
appearance::Frame frame(const MarkMap& map);
appearance::Palette palette(const Scene& scene);

// The two pictures: what became of it, with a legend, and what the eye would see.
enum class PictureKind { outcome, view };
appearance::Pixels pixels(const MarkMap& map, PictureKind kind);
// With rulers and title, as a PNG. Throws FileError, and what palette() throws.
void write_picture(const MarkMap& map, PictureKind kind, const std::string& path);

// What the prediction says of itself in its file of record.
FileHeader file_header(const Scene& scene, const workpiece::Surface& surface, bool compact);
Summary summary(const Verdict& verdict);

}  // namespace circumfluence::mark
