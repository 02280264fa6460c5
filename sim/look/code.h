// Codes in the art, QR and Data Matrix: what the process and the curve leave of them, graded, and how large they must be.
//
// A code found in the art gives its grid of modules. The predicted surface, as a camera straight before the code sees it
// (parallel sight, foreshortened by the curve, light from everywhere), is read at the middle of every module through a
// round aperture of 0.8 module. By ISO/IEC 15415's definitions, R [1] reflectance at 660 nm taken as the red of sRGB:
//   symbol contrast   SC = R_max - R_min                                     A from 0.70, B 0.55, C 0.40, D 0.20
//   modulation        2 |R - GT| / SC, GT = (R_max + R_min) / 2, of the module at the limit that error correction leaves;
//                     A from 0.50, B 0.40, C 0.30, D 0.20
//   axial nonuniformity  |X - Y| / ((X + Y) / 2) of the mean module as seen; A to 0.06, B 0.08, C 0.10, D 0.12
// and of ISO/IEC 29158, for direct marking, cell contrast (L - D) / L: A from 0.30, B 0.25, C 0.20, D 0.15.
// Thresholds as quoted by makers of verifiers; a person must check the standards in force. Unused error correction and
// damage of fixed patterns are not graded; whether it reads is tried with a reader.
// The limit: a codeword is as good as its worst module, and as many of the worst as can be corrected (of QR 7, 15, 25 or
// 30 % by its level, of Data Matrix half of those for correction; over the whole symbol, not block by block) may be lost.
// Modules on the wrong side of GT have modulation 0.
// Marks lighter than their ground give an inverted code, which not every reader takes: said.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "artwork/image.h"
#include "artwork/warp.h"
#include "look/skin.h"
#include "look/swatch.h"
#include "quantity/bands.h"

namespace circumfluence::look {

enum class Symbology { qr, data_matrix };
inline constexpr const char* kSymbologyNames[] = {"QR code", "Data Matrix"};

// As it lies in a picture; corners [px] from its upper left one, clockwise as it is read.
struct Symbol {
  Symbology kind = Symbology::qr;
  std::string text = {};
  int columns = 0, rows = 0;  // modules
  std::array<artwork::PicturePoint, 4> corners{};
  std::vector<std::uint8_t> dark = {};  // [rows][columns] 1 where the picture's module is dark
  bool inverted = false;                // light on dark in the picture
  bool mirrored = false;                // its corners lie anticlockwise

  bool black(size_t module) const { return (dark[module] != 0) != inverted; }  // as the code means it
};

// All that read in a picture, also inverted ones, and mirrored ones where no other reads; at most 16. Never throws for want
// of codes. Beyond 4 Mpx it is read at the greatest whole fraction of its size below that. A code without an even grid has
// no modules. A camera's exposure is set first: the lightest hundredth of `picture` counts as white, the darkest as black.
std::vector<Symbol> find_symbols(const artwork::Image& art);
std::vector<Symbol> read_symbols(const appearance::Pixels& picture);

// Where a code was surely meant (corner patterns of a QR code, upright or nearly) though it may not read: said before
// blaming the mark.
bool looks_like_symbol(const artwork::Image& art);

enum class Letter { a, b, c, d, f };
inline constexpr const char* kLetters = "ABCDF";

struct CodeGrade {
  Symbol symbol;                     // in the art
  double module_axial, module_around;  // [m] on the part
  double spots;                      // [1] modules' edge over the spot's 1/e^2 diameter, the lesser
  double growth_axial, growth_around;  // [1] print growth: by how much a burnt module is wider than nominal, over a module; 0: unseen
  double symbol_contrast, modulation, nonuniformity, cell_contrast;
  Letter by_contrast, by_modulation, by_nonuniformity, overall;  // the worst of the three
  Letter by_cell;                    // of ISO/IEC 29158
  int flipped;                       // modules on the wrong side of the threshold
  double turned;                     // [rad] how far the code's edge lies round the curve from its middle
  bool reads, reads_inverted;        // by a reader, as seen; only with light and dark exchanged
  std::vector<std::string> notes;
};

// Wants blocks of an eighth of a module or less; throws ValidityError where the map's cells would allow them, else a note says
// so. Art in which a code was meant but none reads gives one entry without modules whose note says so.
std::vector<CodeGrade> grade_codes(const mark::MarkMap& map, const Skin& skin);
// [m] block that grade_codes wants for this art; nothing where it holds no code and none was meant.
std::optional<double> finest_for_codes(const mark::Scene& scene);
// As the camera sees that code and four modules around it: axial to the right, row 0 at the greatest arc; to 2000 px. Of a
// code without modules: all the art. A pixel of ground where the beam misses the part.
appearance::Pixels code_view(const mark::MarkMap& map, const Skin& skin, const Symbol& symbol);

// What would scan on this part with these settings, at the job's focus, on half the part at most: a code's dark modules
// burnt, looked at from straight before it (the least module flat; a standing part as it stands), from three distances.
struct CodeRoom {
  double least_module;      // [m] whole lines; QR of version 2 reads from this on; infinity: none up to 16 spots
  int most_modules;         // a side of the largest QR code of that module that reads around this diameter, to version 40
  double widest;            // [m] its edge on the surface
  bool inverted;            // light marks on dark ground
};
CodeRoom code_room(const Swatches& swatches, const Finish& finish, const quantity::Progress& progress = {});

// What they are made of.

Letter by_contrast(double contrast), by_modulation(double modulation);
Letter by_nonuniformity(double nonuniformity), by_cell(double contrast);
double nonuniformity(double one, double other);  // |X - Y| / ((X + Y) / 2)

// [rows][columns] the codeword that a module belongs to; -1: fixed patterns, format, and what is left over.
struct Codewords {
  std::vector<int> of;
  int count = 0, correctable = 0;
};
Codewords codewords(const Symbol& symbol);
// What modules of fixed patterns have to be, 1 black, -1 where data may stand. Nothing for sizes that do not exist.
std::optional<std::vector<std::int8_t>> fixed_patterns(Symbology kind, int columns, int rows);
artwork::PicturePoint in_picture(const Symbol& symbol, double column, double row);  // [modules] from its upper left corner
// Finds the grid of a symbol of which kind, text, corners, inverted and mirrored are known; false where none fits.
bool find_grid(const artwork::Image& art, Symbol& symbol);

// Where a place of the art lands on the part: [m] along the axis, [rad]. Nothing where the beam misses the part.
struct Spot {
  double axial, azimuth;
};
class Landed {
 public:
  explicit Landed(const mark::Scene& scene);
  std::optional<Spot> at(const artwork::PicturePoint& point) const;

 private:
  const mark::Scene& scene_;
  artwork::Placement placement_;
  artwork::Extent extent_;
};
// How a code lies on the part and before the camera.
struct Seat {
  std::array<Spot, 4> corners;
  double azimuth, turned;              // [rad] of its middle; of its edges from there
  double module_axial, module_around;  // [m] on the surface
  double spots;                        // [1] their edge over the spot's 1/e^2 diameter, the lesser
  double seen_columns, seen_rows;      // [m] mean edge of a module along rows, along columns as the camera sees it
  bool columns_axial, mirrored;        // its rows run along the axis; it lands mirrored
};
std::optional<Seat> seat(const mark::Scene& scene, const Symbol& symbol);
// The surface in parallel sight along the radius at `azimuth`, in light from everywhere.
struct Camera {
  const workpiece::Profile& profile;
  const Skin& skin;
  double azimuth;  // [rad]

  std::array<float, 3> at(double axial, double across) const;  // across [m] = r sin of the angle from its sight
  std::array<float, 3> on(const Spot& spot) const;             // head on, between the middles of blocks
};

Symbol qr_code(int version);  // 1 to 40, full of text or nearly, correcting 15 %; corners count in modules
artwork::Image drawn(const Symbol& symbol, int pixels);  // black on white, so many pixels a module, no quiet zone

}  // namespace circumfluence::look
