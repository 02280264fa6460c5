// A coupon: a small grid of trial patches on a spare piece, on the underside, or on a strip of the part itself.
//
// Places are of the coupon's own plane, x along the part's axis and y around (or across a flat piece), from the lower left
// corner of the rectangle that its four corner marks span, y upward. Each slot is a rectangle that one patch fills, with
// its settings written beside it. A patch whose spacing is 0 is a single line through the middle of its slot, along x
// where its lines run along the axis, else along y.
//
// The table is CSV (RFC 4180, a header row with units, lines that start with # are remarks): a row a corner mark, a row
// the lettering and a row a slot, with columns left empty in which a person writes what came out (report.h). Numbers in it
// are exact to 1e-9 of themselves. docs/formats/coupon.md.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "motion/raster.h"
#include "quantity/error.h"
#include "quantity/figure.h"

namespace circumfluence::calibration {

struct Patch {
  double power = quantity::kUnset;    // [W] set at the source
  double speed = quantity::kUnset;    // [m/s] along the lines
  double spacing = quantity::kUnset;  // [m] between lines on the surface; 0: a single line
  int passes = 1;
  double focus_offset = 0.0;          // [m] as scan.focus_offset
  motion::Direction direction = motion::Direction::axial;

  bool is_line() const { return spacing == 0; }
};

struct Rectangle {
  double x, y, width, height;  // [m] of its lower left corner, and its size
};

struct Slot {
  int number;  // as written beside it and in the table; from 1, distinct
  Patch patch;
  Rectangle place;
};

// flat: a spare piece, or an underside, on the bed; strip: on the part, which turns as in the job.
enum class Ground { flat, strip };
inline constexpr const char* kGroundNames[2] = {"flat", "strip"};

struct Coupon {
  Ground ground = Ground::flat;
  double width = 0, height = 0;  // [m] of the whole: x, y
  // The corner marks: squares of this side in the four corners, filled; that at the lower left has a blank middle of a
  // third of its side, which tells the way up.
  double corner = 3e-3;          // [m]
  Patch ink = {};                // what corner marks and labels are burnt with: it must be seen, not be beautiful
  double letters = 1.8e-3;       // [m] height of a label's capitals; 0: without labels
  std::vector<Slot> slots = {};
};

inline constexpr size_t kMostSlots = 10'000;
inline constexpr int kMostPasses = 100;  // as a job's

Rectangle corner_mark(const Coupon& coupon, int which);  // 0 lower left, then counter-clockwise
// Below each slot, in lines parted by '\n': "3: 7.5 W", "2500 mm/min" and, where the coupon's slots differ in them,
// "0.1 mm" (not of a single line) and "2x +1 mm". Of digits, W m i n x + - . / : and blanks.
std::string label(const Coupon& coupon, const Slot& slot);
std::vector<std::string> labels(const Coupon& coupon);  // the same by slot, for many
// Its room: from the slot's left edge, 0.4 letters below it; letters advance by 5/6, lines by 4/3 of their height.
Rectangle label_place(const Coupon& coupon, const Slot& slot);
Rectangle label_place(const Coupon& coupon, const Slot& slot, const std::string& label);
inline constexpr double kLetterAdvance = 5.0 / 6, kLineAdvance = 4.0 / 3, kLabelGap = 0.4;  // [1] of Coupon::letters

// [s] of burning and travelling, rest between patches left out: every line at its speed, with the job's ramps and run-ups
// long enough for them, labels and corner marks included (letters by a mean length of strokes). Within 3 % of the path
// (coupon_drawing.h) planned move by move. Throws ValidityError where scan lacks an acceleration.
double duration(const Coupon& coupon, const motion::Scan& scan);

// Throws ValidityError: no slots, more than kMostSlots, slots that overlap each other or a corner mark or leave the
// rectangle, numbers twice, settings that are not finite or not above zero.
void check(const Coupon& coupon);

std::string table(const Coupon& coupon);
void write_table(const std::string& path, const Coupon& coupon);  // whole or not at all; throws FileError
// Throws FileError, and JobError with line and column.
Coupon read_coupon(const std::string& path);
Coupon parse_coupon(std::string_view text, const std::string& name);

// A table of text, as spreadsheets write it: RFC 4180, separated by commas, semicolons or tabs, whichever the header row
// has most of; with semicolons and tabs a comma is a decimal point; a byte-order mark, either line end and rows cut short
// or empty are taken. Remarks are left out. Columns are known by the name before their unit, in any order.
struct Cells {
  struct Cell {
    std::string text;  // without blanks at its ends
    int line, column;  // in the file, from 1
  };
  struct Title {
    std::string name, unit;  // "speed [mm/min]": "speed", "mm/min"; the name in small letters
  };
  std::string file;
  bool comma_is_point = false;
  std::vector<Title> titles;
  std::vector<std::vector<Cell>> rows;  // each as long as `titles`

  std::optional<size_t> find(std::string_view name) const;
  // [SI]; NaN of an empty cell. The unit is the title's or the cell's own ("82 um"); `like` as quantity::parse_quantity.
  double number(size_t row, size_t column, std::string_view like) const;
  quantity::Place place(size_t row, size_t column) const;
};
inline constexpr size_t kMostColumns = 64;
// Throws JobError with line and column: more than 4 MiB, no header, not UTF-8, quotes that don't end, too many cells.
Cells read_cells(std::string_view text, const std::string& name);
// What a table does as a cell: quoted where it has to be.
std::string cell(std::string_view text);

}  // namespace circumfluence::calibration
