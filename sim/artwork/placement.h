// The picture and where it goes: section [artwork].
#pragma once

#include <string>

#include "quantity/field.h"

namespace circumfluence::artwork {

enum class Burns { dark, light };        // which tone of the picture is to be marked
enum class ToneUse { threshold, grey, halftone };  // on/off, power in proportion to the tone, or dots on and off
enum class Screen { bayer, floyd_steinberg, jarvis_judice_ninke, stucki, blue_noise };  // how dots are chosen: halftone.h
enum class Mirror { none, axial, around, both };  // along which directions the placed picture is reversed

// At turn 0 the picture's width lies along the axis and its top points to growing `around`. It is turned, then mirrored
// about its centre.
struct Placement {
  std::string file = {};                  // PNG or JPEG, relative to the job file
  double size_axial = quantity::kUnset;   // [m] extent along the axis; NaN: from the other and the aspect
  double size_around = quantity::kUnset;  // [m] extent around the part, at the driven diameter
  double axial = quantity::kUnset;        // [m] axial position of the picture's centre
  double around = 0.0;                    // [m] arc position of the picture's centre, 0 is top dead centre
  double turn = 0.0;                      // [rad] 0, 90, 180 or 270 deg, anticlockwise
  Mirror mirror = Mirror::none;
  Burns burns = Burns::dark;
  ToneUse tone = ToneUse::threshold;
  double threshold = 0.5;  // [1] wanted share from which a spot is burnt
  Screen screen = Screen::blue_noise;  // of a halftone
  double dot = quantity::kUnset;       // [m] from dot to dot of a halftone, both ways; NaN: as far as its lines
};

const quantity::Fields<Placement>& placement_fields();

// The two one after the other.
Mirror operator^(Mirror one, Mirror other);

// Throws JobError: no size at all, or a turn that is not a quarter.
void check(const Placement& placement);

}  // namespace circumfluence::artwork
