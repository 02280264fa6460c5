// A picture resampled through a mapping, true to area; the picture upright in its place, turned over,
// written.
//
// Every pixel of the new picture is the mean of the old one, piecewise constant, one value a pixel, over the
// quadrilateral that the mapping makes of it: clipped against the old pixels, so that areas are exact and an
// edge's pixels have just the tone of what it covers. The mapping counts as straight from corner to corner
// where its middle lies within 1/16 source pixel of where the corners put it; elsewhere (the step of a part,
// its rim) 16 x 16 places of the pixel are mapped by themselves, and an edge is good to 1/32 pixel.
// Checked against a picture copied, halved, turned by an angle and warped by closed forms, in
// tests/artwork/warp_test.cpp.
#pragma once

#include <functional>
#include <optional>

#include "artwork/image.h"
#include "artwork/placement.h"

namespace circumfluence::artwork {

struct Canvas {
  int width, height;  // [px]
};

struct PicturePoint {
  double column, row;  // [px] from the left and from the top edge of the picture
};

// Where a point of the canvas lies in the source, both as PicturePoint; nothing: nowhere. Called from several
// threads at once.
using Mapping = std::function<std::optional<PicturePoint>(PicturePoint)>;

// Outside the source, and where the mapping leads nowhere, the canvas is white. The source must be opaque.
// Throws ValidityError: no canvas, a canvas beyond the limits of a picture, a source that is not opaque.
Image warped(const Image& source, const Canvas& canvas, const Mapping& source_from_canvas, int threads = 0);

// What the art wants where it lies, opaque and black where it is burnt: columns along the axis, row 0 at the
// greatest arc. At most a pixel every `finest` [m], by exact area means.
Image upright(const Image& image, const Placement& placement, double finest);

Image turned_over(Image image, bool columns, bool rows);  // columns: left for right; rows: top for bottom
Image inverted(Image image);                              // black for white

}  // namespace circumfluence::artwork
