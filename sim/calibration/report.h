// What came out of a coupon: by patch what became of it, and a width or depth where someone measured.
//
// As CSV it is the coupon's own table with its last columns filled in: outcome, width [um], depth [um], remark; or any
// table with a column number and some of these. Rows in which nothing is told are left out. Remarks before the header row
// may say "# date = 2026-05-02", and likewise width_error, depth_error and resolution. As TOML:
//   date = "2026-05-02"
//   [[patch]]
//   number = 3
//   outcome = "marked"        # untouched, under-marked, marked, over-burned
//   width = "82 um"           # of a single line's mark
//   depth = "12 um"           # of what is gone, mean over the patch
//   remark = "edge chipped"
// Files are not trusted. docs/formats/report.md.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "calibration/coupon.h"
#include "quantity/field.h"
#include "response/outcome.h"

namespace circumfluence::calibration {

struct Result {
  int number = 0;                            // of the slot
  std::optional<response::Outcome> outcome;  // none: not told
  double width = quantity::kUnset;           // [m]; NaN: not measured; 0: no mark
  double depth = quantity::kUnset;           // [m]
  std::string remark;

  bool told() const;      // anything at all
  bool measured() const;  // something that a fit can use: more than a remark
};

struct Report {
  std::vector<Result> results;     // in the order of the coupon's slots, only those told
  double width_error = 0.05;       // [1] lognormal, of a measured width, beside the resolution
  double depth_error = 0.15;       // [1]
  double resolution = 3e-6;        // [m] of widths and depths: finer ones say no more than that they are small
  std::string date, origin;        // as it should stand in a record's source: "2026-05-02", "coupon.csv"
};

const quantity::Fields<Result>& result_fields();  // of [[patch]]
const quantity::Fields<Report>& report_fields();  // of what is said of the whole

// Results against their coupon. Throws JobError: a number that the coupon lacks or that comes twice, a width of a patch
// that is no single line, a width wider than the slot, lengths that are not finite or below 0, nothing measured at all.
void check(const Report& report, const Coupon& coupon);
void check(const Result& result, const Coupon& coupon);

// By the name's end .toml or .csv. Throws FileError, and JobError with line and column.
Report read_report(const std::string& path, const Coupon& coupon);
Report parse_report_csv(std::string_view text, const std::string& name, const Coupon& coupon);
Report parse_report_toml(std::string_view text, const std::string& name, const Coupon& coupon);
// The coupon's table with the results in it; read again it is the same report, but for its origin.
std::string filled_table(const Coupon& coupon, const Report& report);

// Where results contradict each other, in sentences: a patch that came out weaker, or a mark narrower or shallower by
// kClearly errors, than another's with no more of anything (power, passes) and no less speed or spacing at the same
// focus; an outcome and a width or depth that exclude each other; all patches alike; a single one; widths and depths
// below the resolution. Of each kind the first kMostNamed are named and the others counted.
inline constexpr double kClearly = 3;
inline constexpr int kMostNamed = 5;
std::vector<std::string> doubts(const Coupon& coupon, const Report& report);

}  // namespace circumfluence::calibration
