// A coupon on paper, as artwork, and as a path that a controller can run.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "calibration/coupon.h"
#include "calibration/photo.h"
#include "job/job.h"

namespace circumfluence::calibration {

// A stroke of a label: corners [m] in the coupon's plane, joined by straight lines.
using Trace = std::vector<std::array<double, 2>>;
// Labels in single strokes, by slot, where label_place() says; none where coupon.letters is 0. Digits, letters of the
// alphabet and + - . , / : % and blanks; any other byte is a box.
std::vector<std::vector<Trace>> lettering(const Coupon& coupon);

// What the coupon will look like, each patch divided by the chances of what becomes of it, with numbers, settings, rulers
// in mm and a legend. PNG; throws FileError.
struct Shading {
  std::vector<std::array<double, 4>> chances;  // by slot, in the order of Outcome; empty: plain
};
void write_picture(const std::string& path, const Coupon& coupon, const Shading& shading = {});

// The coupon as art: black burns, `pixel` [m] a pixel each way; patches, single lines, corner marks and labels. A single
// line is one pixel thick: it is one line where lines are `pixel` apart. To be burnt by hand, each patch with the
// settings of the table. PNG with its physical size; throws FileError, and ValidityError for a pixel that makes no
// picture of it.
void write_art(const std::string& path, const Coupon& coupon, double pixel = 25e-6);

// Where a coupon lies on the plane of a job's path words.
struct Lie {
  char along = 'X', around = 'Y';    // words of x and of y
  double axial = 0, arc = 0;         // [m] from the words' zero to the coupon's lower left corner as fed
  double unit = 1e-3;                // [m] around, of that word's 1
  double flip_x = 0, flip_y = 0;     // [m] what a coordinate is taken from where it is fed mirrored; 0: it is not
  bool turns = false;                // the part does, under steps around

  bool degrees() const { return around == 'A'; }
  double along_word(double x) const { return 1e3 * (axial + (flip_x > 0 ? flip_x - x : x)); }
  double around_word(double y) const { return (arc + (flip_y > 0 ? flip_y - y : y)) / unit; }
};
// Throws JobError where it leaves the part, and what reading the job's art throws.
Lie lie_of(const Coupon& coupon, const job::Job& job);
// What write_path asks of the job. Throws JobError.
void check_burnable(const Coupon& coupon, const job::Job& job);

// The coupon as RS-274 words: millimetres, absolute, feed a minute (G21 G90 G94), each patch's power as S and speed as F,
// beam off (M5) on every move between lines, S0 over the run-up of each. Corner marks and labels come first, by the ink.
// A patch's lines are those that the job would plan over art of its slot's size; lengths around are as fed.
//
// `job` tells the words: path.full_power_word; the rated power; M4 or M3, whichever makes power do as scan.power_habit
// has it; lines one- or two-way. A run-up is scan.run_up, or what the axis needs to gain the patch's speed if that is
// longer.
// Z is the focus above where the job set it, scan.focus_offset, and moves only where patches differ from it.
// On flat ground the lower left corner is X0 Y0. On a strip words are the job's ([path]), the corner lies where the job's
// art begins, or without art at the path's zero; that is the corner itself where path.axial is not given. Where the feed
// runs against the surface the coupon is fed mirrored, so that it can be read. On a turning part a line that lies back is
// begun from further back, so that no slack is in it; the strokes of letters turn both ways.
// Read back by motion/tool_path.h it burns these patches within 0.1 um (tested). Written whole or not at all. Throws
// FileError, and JobError where the job lacks what the words need, or cannot burn a patch.
void write_path(const std::string& path, const Coupon& coupon, const job::Job& job);
std::string path_text(const Coupon& coupon, const job::Job& job);

// What was read of a photograph, to be corrected by hand: the picture straightened, slots outlined and named by what they
// were taken for. PNG; throws FileError.
void write_reading(const std::string& path, const Coupon& coupon, const Reading& reading);

}  // namespace circumfluence::calibration
