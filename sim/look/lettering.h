// How small letters may be: the thinnest strokes and gaps that come out, and the height of letters made of them.
//
// Bars are burnt along and across the lines, alone in clean ground and as gaps in a full area, with their middle on a line
// and midway between two; the worse of both counts. A stroke comes out when what is marked of it is within a third of its
// width, in every piece of it one line spacing long; a gap likewise, by what is left clean. Marked is counted against what
// a full area has marked, since where lines leave ribs a stroke is as solid as the area. A letter needs five of the wider of
// stroke and gap in its height (three bars of an E and two gaps: the figure of Snellen's letters, 1862), and, to be read at
// arm's length, an angle: 5 minutes of arc are just made out, twice that is read with ease (common practice, no source),
// 0.5 m away. Contrast counts: below CIEDE2000 = 20 against the ground, letters are to be larger in proportion (estimate).
#pragma once

#include <string>
#include <vector>

#include "look/swatch.h"
#include "quantity/bands.h"

namespace circumfluence::look {

// [m], drawn width from which it comes out, to 2 % or half a cell; infinity: none up to 16 spots. `marked`: how wide it then is.
struct Finest {
  double drawn, marked;
};

struct Lettering {
  Finest stroke_along, stroke_across;  // along the lines, across them
  Finest gap_along, gap_across;
  double growth;       // [m] by which strokes come out wider than drawn (less: thinner), mean of along and across, at 4 spots,
                       // between the edges at which half as much is marked as in a full area
  double made;         // [m] height of capitals that the process can make, of strokes a fifth of it
  double read;         // [m] height of capitals that the eye reads 0.5 m away
  double height;       // [m] the greater
  std::vector<std::string> notes;
};

// Throws what burning swatches throws, and Interrupted.
Lettering lettering(const Swatches& swatches, const Finish& finish, const quantity::Progress& progress = {});

// A line of words in black on white, `height` [m] its capitals, a pixel `pixel` [m], for samples and tests; with room for
// accents and descenders. Throws ValidityError: no words, capitals below 4 pixels, or more than 16 million pixels.
artwork::Image words(const std::string& text, double height, double pixel);

}  // namespace circumfluence::look
