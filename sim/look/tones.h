// Tones: what greys come out as, how many can be told apart, and art corrected so that they come out as asked.
//
// The art's tone asks for a lightness between that of the untouched ground and that of the full mark,
//   L = L_ground + s (L_mark - L_ground),   s [1] share of the way (the darkness of art that burns dark)
// L: CIE 1976 lightness, since steps of it look alike; L_mark: as the job burns its full share. Burnt as it stands, a share
// given to the machine (as power, or as so many dots of a hundred) comes out as some lightness on the tone curve; its
// inverse says what to give for what is asked. Dots grow because the spot is wider than a dot and the film's law has a
// threshold: nothing is fitted.
// The curve is burnt on swatches of flat tone and measured away from their edges: by power over whole lines, with a
// run-in after which heat along a line is steady; by dots over a whole tile of 8 x 8, Bayer's, 32 x 32 of blue noise, or
// 24 x 24 where errors are diffused (fewer where dots are wide), whose share is the one counted there.
// It is made monotone by pooling adjacent violators (Ayer et al. 1955, Ann. Math. Stat. 26(4), 641-647) before it is
// inverted, and says by how much it was not.
// Checked: Murray-Davies in the limit of a spot far smaller than the dot; Yule-Nielsen's n that the physics amounts to is told.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "appearance/chart.h"
#include "look/swatch.h"
#include "quantity/bands.h"

namespace circumfluence::look {

struct ToneRequest {
  std::optional<artwork::Screen> screen = artwork::Screen::blue_noise;  // none: power in proportion to the tone
  double dot = 0;                                                      // [m]; 0: the job's, else as far as its lines
  int count = 17;  // tones, 3 to 257, evenly from nothing to all; up to as many again where lightness changes fast
  quantity::Progress progress = {};
};

struct Tone {
  double share;             // [1] given to the machine; of dots, those burnt where it was measured
  appearance::Lab lab;      // as seen in diffuse light
  double reflectance;       // [1] Y / 100
  double marked;            // [1] of its area, with what is over-burned
  double over = 0;          // [1] over-burned
};

struct ToneCurve {
  std::optional<artwork::Screen> screen;
  double dot;                // [m]
  std::vector<Tone> tones;   // shares rising from 0 to 1
  std::vector<double> given;  // [1] inverse: for ways s = i / (n - 1), the share to give
  int steps;                 // greys that stay apart, by one CIEDE2000, among the shares that can be given: 256, Bayer's 65
  double gain;               // [1] apparent area at a share of one half, less one half
  double apparent_n;         // [1] Yule-Nielsen's n at one half; NaN where none fits
  double unsteady;           // [1] greatest lightness by which the curve turned back, over its range
  double start, full;        // [1] shares up to which nothing is seen, and from which nothing is added (1 CIEDE2000)
  std::vector<std::string> notes;  // when line art does better, and why; guesses of the finish
};

// Throws ValidityError: a dot finer than the cells can hold, a count out of bounds.
ToneCurve tone_curve(const Swatches& swatches, const Finish& finish, const ToneRequest& request = {});

// What a series of tones amounts to: all of the above but screen and dot. Shares rise from 0 to 1; two tones at least.
// Shares are given in so many even steps; 255: art of 8 bits.
ToneCurve curve_of(std::vector<Tone> tones, int levels = 255);
// [1] to give for a way s that is asked; straight between.
double given_for(const ToneCurve& curve, double way);
// Art whose tones come out as those of `art` ask: black burns. `burns` says which tone of the art asks for the mark.
// Opaque, of the art's size; white where nothing is asked. Not yet dots.
artwork::Image corrected(const artwork::Image& art, artwork::Burns burns, const ToneCurve& curve);

// The smallest that comes out: lone dots, and gaps in a full area, of the job's process, wherever they lie between lines.
struct Smallest {
  // [m] edge of the square that within itself leaves a mark (a gap) of half of what a full area has marked there, at least;
  // infinity: none up to 16 spots. To 2 %, or half a cell. Where not even a full area marks, no dot, and any gap.
  double dot, gap;
};
Smallest smallest(const Swatches& swatches);

// Tone curves side by side: given share against lightness, the corrected ones dashed.
appearance::Chart tone_chart(const std::vector<ToneCurve>& curves);
const char* name_of(const std::optional<artwork::Screen>& screen);  // "power", "blue noise", ...

}  // namespace circumfluence::look
