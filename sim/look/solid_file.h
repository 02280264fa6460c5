// The maps on the true surface, as a file that general-purpose visualisation programs open: VTKHDF 1.0, an unstructured
// grid of quadrilaterals (Kitware, VTK file formats: the open specification), best named *.hdf.
//
// Points lie on the part [mm]: axis along x, the nearest line to the laser (azimuth 0) at +z, azimuth toward +y. Point data: fluence,
// changed, peak_temperature, margin (means over the cells around a point; of the margin, of those that are finite), outcome,
// wanted (the commonest), colour (uint8 x 3, sRGB in diffuse light). Thinned to at most `most` points by whole numbers of cells.
#pragma once

#include <string>

#include "look/skin.h"
#include "mark/predict.h"

namespace circumfluence::look {

// Throws FileError (written whole or not at all), ValidityError when the maps were not kept or `most` is below 4.
void write_solid(const std::string& path, const mark::MarkMap& map, long most = 1'000'000);

}  // namespace circumfluence::look
