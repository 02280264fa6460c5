// A small piece of art burnt in the mind: where the job set its focus, with its laser, lines and materials, on a cold wall.
//
// The same road as a whole prediction, over a few millimetres: what becomes of dots, strokes and greys is what the map
// of the job would show there, cell by cell. Lines run as the job's, centred on the art, and at their full speed: ramps at
// their ends are left out. The art lands as drawn, its width along the axis and its top at the greatest arc, centred at
// the job's focus (further in, where the part's end would cut it). The steps that do not depend on the art (heat beside a
// line, the echo of power) are made once for the heights and speeds that the spot has; art of another size makes them
// again only on a part that stands or is not straight. Exact as the map is, at its cell. May be used from several threads.
#pragma once

#include <memory>

#include "artwork/image.h"
#include "look/finish.h"
#include "mark/predict.h"

namespace circumfluence::look {

// What was burnt: outcome and changed thickness [around][axial], and how the art lay over it.
struct Swatch {
  quantity::Map<std::uint8_t> outcome;
  quantity::Map<float> changed;     // [m]
  double cell = 0;                  // [m]
  double axial = 0, around = 0;     // [m] from the first cell's edge to the art's centre
};

// A rectangle about the art's centre [m].
struct Pane {
  double axial_from, axial_to, around_from, around_to;
};

class Swatches {
 public:
  static constexpr int kPhases = 8;
  // `cell` [m]; 0: about a quarter of the least of spot radius, line spacing and the job's dot (a 16th of the radius at
  // least), a little off, so that kPhases lines in a row lie in as many ways on the cells and shares of area are not
  // rounded to whole cells. Throws ValidityError for a tool path, whose lines are its own.
  explicit Swatches(const mark::Scene& scene, double cell = 0);
  ~Swatches();

  // The art: `pixel` [m] a pixel, black where burnt; on and off at one half, in proportion to the grey, or, halftone, as
  // dots by the job's screen and dot. Around the art lies untouched ground, as wide as three spots. Throws ValidityError:
  // no pixels, more than 4 million cells, larger than the part.
  Swatch burn(const artwork::Image& art, double pixel, artwork::ToneUse use) const;

  const mark::Scene& scene() const;  // without its picture
  const response::Model& model() const;
  double cell() const;     // [m]
  double spacing() const;  // [m] between the job's lines
  double spot() const;     // [m] mean of the 1/e^2 diameters where the focus was set
  double memory() const;   // [m] along a line after which its heat is as that of a steady one

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// A lone rectangle in clean ground, or a gap of its size in a full area, burnt as line art. Its middle lies on a line, or
// midway between two. Ground, or the full area, reaches three spots beyond it.
struct Figure {
  double axial, around;  // [m]
  bool gap = false, between = false;
};
Swatch burn(const Swatches& swatches, const Figure& figure);
// All burnt, as the job does it, and a pane of it that whole lines fill, far from its edges.
struct FullArea {
  Swatch swatch;
  Pane pane;
};
FullArea full_area(const Swatches& swatches);
// [1] share of a full area that is marked: less than 1 where lines leave ribs between them.
double full_share(const Swatches& swatches);

// Of a full area against its ground.
Contrast contrast(const Swatches& swatches, const Finish& finish);

// Mean shade over a pane, by area: diffuse and mirrored light, and the squares of slopes. Cells that its edges cut count
// with what lies inside; what lies beyond the swatch does not count. Throws ValidityError where nothing is left.
Shade mean_shade(const Swatch& swatch, const Pane& pane, const Finish& finish);
// [1] share of a pane that is marked or over-burned; that is over-burned.
double marked_share(const Swatch& swatch, const Pane& pane);
double over_share(const Swatch& swatch, const Pane& pane);

}  // namespace circumfluence::look
