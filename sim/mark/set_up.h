// What a person needs at the machine before the beam goes on.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "artwork/warp.h"
#include "mark/scene.h"
#include "motion/feed.h"
#include "motion/rotary.h"

namespace circumfluence::mark {

// The set-up sheet: every figure that is set, read or put back for a job. SI; NaN or nothing where the job
// does not state what it takes, and `lacking` names the key that would. Signs and frames are those of
// motion/.

struct Lacking {
  std::string key, gives;  // "rotary.axle_height", "how high the head has to stand"
};

// Of a turning part. Art that goes nearly all round has a seam: its fed length counts as a full turn.
struct Turning {
  double driven = 0, here = 0;  // [m] diameters: at which arcs come out as drawn; where the focus is set
  double jogged = 0;  // [m] that whose circumference turns the part once, slip left out, with the right steps
  std::optional<motion::Steps> steps = {};  // that make arcs there come out as drawn
  std::optional<motion::Closure> seam = {};
  std::optional<motion::Seat> seat = {};  // on rollers
};

// From the bed upward, where the focus is set:
//   raise = axis + radius + focus_distance + focus_offset - head
struct Stack {
  double axis = quantity::kUnset;       // [m] of the part above the bed
  double radius = 0;                    // [m] from there to the surface under the beam
  double focus = quantity::kUnset;      // [m] from there to the head's lower edge
  double head = quantity::kUnset;       // [m] of that edge above the bed, as the machine stands
  double clearance = quantity::kUnset;  // [m] the least above what it passes of the part, once it is right

  double surface() const { return axis + radius; }           // [m] above the bed
  double raise() const { return surface() + focus - head; }  // [m] of the head; negative: of the part
};

// Where the beam is when the job begins, and what the head sweeps; positions on the part. A feed that runs
// against the surface frame begins at the other end.
struct Start {
  double axial = 0, around = 0;       // [m] of the first line's run-up
  double head_from = 0, head_to = 0;  // [m] axial, swept by the head, run-up included
};

struct Polarity {
  double ground, marked;  // [1] CIE L* of the surface before and after
  double difference;      // CIEDE2000
  bool inverts;           // dark places of the picture come out lighter than the others
};

// The same art burnt on a tube of card with settings of its own, predicted by an even fill to mark but not to
// burn through: the least power that does so, times 3 or half way (by factors) to the power that burns
// through, whichever is less, with the heat that earlier lines leave counted. Speeds are tried from the job's
// own outward.
struct TubeTrial {
  std::optional<job::Job> job = {};  // nothing: see why
  double diameter = 0, wall = 0;     // [m]
  double power = 0, speed = 0, duration = 0;  // [W] at the source, [m/s], [s]
  double marks = 0, burns = 0;       // [1] on power: marks from, burns through from; infinity: never
  std::string why = {};
};
TubeTrial tube_trial(const Scene& scene, double wall = 1e-3);

struct SetUp {
  job::Job job;
  std::string base = {}, coat = {};  // what they are called
  double focus_at = 0, power = 0, duration = 0;  // [m] axial; [W] at the source; [s]
  artwork::Extent art = {};          // as fed
  std::optional<Turning> turning = {};
  double edge_stretch = 1;  // [1] of art's outer edges on a standing part
  std::vector<motion::Band> bands = {};  // of a turning part's art
  Stack stack = {};
  std::optional<Start> start = {};  // this and the next: not of a tool path
  std::optional<motion::Raster> raster = {};
  motion::Landing landing = {};
  std::optional<Polarity> polarity = {};
  std::vector<std::string> looks = {};   // of a tool path: what the machine would do badly
  std::vector<std::string> checks = {};  // in order, from switching off to putting back
  TubeTrial trial = {};
  std::vector<std::string> cautions = {};
  std::vector<Lacking> lacking = {};
};
SetUp set_up(const Scene& scene, double tube_wall = 1e-3);

// The sheet as a page for paper (HTML, one A4 upright, by itself), as text, and in SI for a script.
std::string sheet_html(const SetUp& sheet);
std::string sheet_text(const SetUp& sheet);
std::string sheet_json(const SetUp& sheet);

// What they are made of: figures in words, and drawings (SVG) in true proportion, which state their scale:
// the part from its mouth, from its side, and the letter F as it lands.
struct Block {
  std::string title;
  std::vector<std::pair<std::string, std::string>> rows;  // what it is, what it comes to
};
std::vector<Block> blocks(const SetUp& sheet);
Block height_block(const SetUp& sheet);
Block start_block(const SetUp& sheet);
// "42 mm from the base"; "axial 42 mm" where no mouth is stated
std::string place(const SetUp& sheet, double axial);
std::vector<std::string> power_up_checks(const SetUp& sheet);
bool set_wrong(const SetUp& sheet);  // whether the steps now set are others than those for this part
std::string end_view(const SetUp& sheet);
std::string side_view(const SetUp& sheet);
std::string letter_view(const SetUp& sheet);

// Pre-distorted art: the picture as it has to be fed so that it lands as it was meant.
//
// In a job whose art is *meant*, artwork.size_axial and size_around are lengths on the part's own surface,
// along its profile and around; axial and around place the middle as ever. motion/feed.h says what "true"
// means on a part that is no cylinder. The art is fed in whole pixels: it is rounded outward to them, so that
// edges lie where they belong and not where a pixel ends; the pixel is made to divide a turn that the art
// closes. A picture with tones keeps them.

struct FeedWish {
  motion::Truth truth = motion::Truth::level;
  double pixel = quantity::kUnset;  // [m]; NaN: the line spacing or a third of the spot, whichever is less,
                                    // or coarser where that makes too many
  std::optional<artwork::Mirror> flip = {};  // what the machine does to it, undone beforehand; none given:
                                             // what section [mount] says of its feed
  bool invert = true;  // burnt is written black, whatever the job's art has; else its own sense is kept
  int threads = 0;     // 0: as many as the machine has
};

struct FedArt {
  artwork::Image image;             // opaque, as it is to be written
  artwork::Extent extent;           // [m] that it covers of the fed plane
  double pixel;                     // [m], each way
  artwork::Burns burns;             // which tone of it is burnt
  std::vector<motion::Band> bands;  // what it takes to be true: turning parts
  std::string words;                // lines that say so
};

// Throws JobError: art that does not lie on the part so (motion/feed.h), more pixels than a picture may have,
// a job that burns a tool path. 10 Mpx a second and core of line art.
FedArt pre_distort(const Scene& meant, const FeedWish& wish);

// The job that feeds it from `file`, written with artwork::write_image: its mark is the art as meant. Focus
// and driven diameter stay those of the job as meant.
job::Job fed_job(const Scene& meant, const FedArt& art, const std::string& file);

}  // namespace circumfluence::mark
