// A photograph or flat-bed scan of a burnt coupon, read: where its corner marks are, how light each patch is,
// what became of it and how wide its lines are.
//
// The sides of the four corner marks (coupon.h) give the perspective to a fraction of a pixel. Pixels count
// as sRGB and are worked on as amounts of light. Uneven light is a smooth surface through the ground between
// slots and labels, divided out; a tone t is then light over the ground's, channel by channel, and colour
// casts fall out with it. What the states should look like, L (the records' colours), is expected up to a
// veil phi of stray light and the brightness e^u of each burnt look, e^u lognormal by 0.2, both told by all
// tones together, the corner marks' (marked or over-burned, nobody knows) among them:
//   t = (L e^u + phi) / (L_ground + phi),   a patch is a share f of marked on ground, or q of over-burned on
//   marked; untouched below f = kSeen, under-marked to f = kFull, marked to q = kOver, over-burned above.
// These borders are estimates. Where the picture resolves a patch's lines, stripes tell f from an even tone
// between. What stays ambiguous keeps a low `sure`; below kSure it is left open, as is what a reflection
// covers. A single line's width is that of its profile at half depth, freed of the picture's blur (that of
// the marks' edges) by the box that would look so; below 1.5 px or the blur's own width at half depth none is
// given. A single line's class is told only where nothing is seen of it or where it is wide against the blur.
// Refused, JobError: marks not found or not as on this coupon, mirrored (a square coupon can't tell), blur
// beyond a third of a patch, ground too uneven, clipped or dark, no contrast, marks that look like no state
// of this material. Checked on rendered coupons (tests/calibration).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "appearance/colour.h"
#include "calibration/report.h"

namespace circumfluence::calibration {

// As the camera gave it: 8-bit sRGB as stored.
struct Photo {
  int width = 0, height = 0;                        // [px]
  std::vector<std::array<std::uint8_t, 3>> pixels;  // row-major, row 0 at the top
  std::string name;
};
Photo read_photo(const std::string& path);  // PNG or JPEG; throws FileError

// sRGB of the states, as the records say (mark::palette).
struct Looks {
  appearance::Colour ground, marked, over_burned;
};

struct PatchReading {
  int number;
  std::array<double, 3> tone{};  // [1] of the ground's, channel by channel, light evened out
  response::Outcome outcome = response::Outcome::untouched;
  double sure = 0;                  // [1] of that outcome, against the others
  double width = quantity::kUnset;  // [m] of a single line's mark; NaN: none measured
  double width_error = 0;           // [m] one standard deviation
};

struct Reading {
  std::array<std::array<double, 2>, 4>
      corners{};                      // [px] outer corners of the coupon, in the order of corner_mark()
  double scale = 0;                   // [m/px] in the middle
  double blur = 0;                    // [m] 1/e^2 radius of the picture's own
  std::vector<PatchReading> patches;  // by slot
  Photo straightened;                 // a map of the coupon, for write_reading
  std::vector<std::string> notes;

  Report report() const;  // of what is sure enough
};

inline constexpr double kSure = 0.8;                               // [1]
inline constexpr double kSeen = 0.05, kFull = 0.95, kOver = 0.25;  // [1]

// `radius` [m] of a part whose strip was photographed from straight above; NaN: flat.
Reading read_coupon_photo(const Photo& photo, const Coupon& coupon, const Looks& looks,
                          double radius = quantity::kUnset);

// ---- The steps, in their order ----

using Spot = std::array<double, 2>;

// A filled four-sided spot, dark on light or light on dark.
struct Square {
  std::array<Spot, 4> corners;  // [px] counter-clockwise as seen
  bool lighter;                 // than what is around it
  double hollow;                // [1] how much of its middle looks like what is around it
  double side;                  // [px] mean
};
// In the picture scaled down to `longest` pixels a side; channel 0 to 2, -1: luma.
std::vector<Square> find_squares(const Photo& photo, int longest, int channel);

// How the coupon lies in the picture.
struct Sighting {
  std::array<double, 9>
      pixel_from_plane{};  // homography, row-major, from metres of the coupon as seen from above
  double radius = quantity::kUnset, middle = 0;  // [m] of a strip, y of its middle

  double above(double y) const;  // [m] y as seen from above: middle + r sin((y - middle) / r)
  Spot pixel(double x, double y) const;
};
struct Match {
  Spot place, pixel;  // [m] on the coupon, [px]
  double weight = 1;
};
Sighting fit_sighting(const std::vector<Match>& matches, Sighting sighting);
Spot mark_corner(const Coupon& coupon, int mark,
                 int corner);  // [m] corners counter-clockwise from the lower left
Sighting find_coupon(const Photo& photo, const Coupon& coupon, double radius);  // throws JobError
Sighting refine(const Photo& photo, const Coupon& coupon,
                const Sighting& rough);  // by lines along the marks' sides

struct GroundSpot {
  double x, y;                  // [m]
  std::array<double, 3> light;  // of a small area; after even_light of the ground's
  double fall = 1;  // [1] light that falls there as fitted, of the median: the channel with the most
};
// The coupon, straightened, in amounts of light.
struct Flat {
  int width = 0, height = 0;
  double pixel = 0;                         // [m]
  double blur_x = 0, blur_y = 0;            // [m] standard deviations, of what it shows
  double blur_error = 0;                    // [1] of them
  std::vector<std::array<float, 3>> light;  // row-major, row 0 at the top; after even_light of the ground's
  std::vector<std::uint8_t> clipped;        // 1 where a channel was at its end
  std::vector<GroundSpot> ground;           // between slots, labels among it
  bool ink_lighter = false;                 // the corner marks, than the ground
  double contrast = 0;                      // [1] their tone less 1, without sign
  double scatter = 0;                       // [1] of the ground about the fitted light, over millimetres
  std::array<double, 3> trust = {1, 1, 1};  // [1] of channels: 0 where the ground is too dark to divide by
  std::array<double, 3> gain_error{};       // [1] by the ground's steps of 8 bits

  bool inside(int x, int y) const { return x >= 0 && y >= 0 && x < width && y < height; }
};
Flat straighten(const Photo& photo, const Coupon& coupon, const Sighting& sighting);
void measure_blur(Flat& flat, const Coupon& coupon);
void even_light(Flat& flat, const Coupon& coupon);  // throws JobError

// What a patch looks like.
struct Tone {
  std::array<double, 3> mean{}, error{};  // [1] of the ground's
  double stripes = 0, stripes_error = 0;  // [1] rms across its lines, beyond noise
  double clipped = 0;                     // [1] share of its area
  double uneven = 0;                      // [1] rms over its length and width, stripes left out
  bool known = false;                     // enough of it is seen
};
Tone tone_of(const Flat& flat, const Coupon& coupon, const Slot& slot);
Tone ink_tone(const Flat& flat, const Coupon& coupon);  // of the filled marks; throws JobError
// Widths of single lines into `reading`; of those wide enough, the tone of the middle.
void measure_lines(const Flat& flat, const Coupon& coupon, const Looks& looks, std::vector<Tone>& tones,
                   Reading& reading);
// Classes from tones, by slot. Throws JobError.
void tell_states(const Flat& flat, const Coupon& coupon, const Looks& looks, const std::vector<Tone>& tones,
                 Reading& reading);

}  // namespace circumfluence::calibration
