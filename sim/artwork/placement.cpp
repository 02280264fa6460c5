#include "artwork/placement.h"

#include <fmt/format.h>

#include <cmath>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::artwork {

const quantity::Fields<Placement>& placement_fields() {
  static const quantity::Fields<Placement> fields = {
      {"file", &Placement::file, "", 0, 0, "the picture, PNG or JPEG, relative to the job file"},
      {"size_axial", &Placement::size_axial, "mm", 1e-6, 3, "extent along the axis; one size is enough",
       false},
      {"size_around", &Placement::size_around, "mm", 1e-6, 6,
       "extent around the part, at the driven diameter", false},
      {"axial", &Placement::axial, "mm", -3, 3, "axial position of the picture's centre"},
      {"around", &Placement::around, "mm", -6, 6,
       "arc position of the picture's centre; 0 is top dead centre", false},
      {"turn", &Placement::turn, "deg", -6.3, 6.3, "quarter turns of the picture, anticlockwise", false},
      {"mirror", quantity::choice<&Placement::mirror>(), "", 0, 0,
       "directions along which the picture, once turned, is reversed", false, "none axial around both"},
      {"burns", quantity::choice<&Placement::burns>(), "", 0, 0, "which tone of the picture is marked", true,
       "dark light"},
      {"tone", quantity::choice<&Placement::tone>(), "", 0, 0,
       "on and off at a threshold, power in proportion to the tone, or dots on and off", false,
       "threshold grey halftone"},
      {"threshold", &Placement::threshold, "%", 0.001, 1, "wanted share from which a spot is burnt", false},
      {"screen", quantity::choice<&Placement::screen>(), "", 0, 0, "how the dots of a halftone are chosen", false,
       "bayer floyd_steinberg jarvis_judice_ninke stucki blue_noise"},
      {"dot", &Placement::dot, "mm", 1e-6, 0.1, "from dot to dot of a halftone; as far as the lines where it is not given",
       false},
  };
  return fields;
}

Mirror operator^(Mirror one, Mirror other) {
  return Mirror(int(one) ^ int(other));
}

void check(const Placement& placement) {
  if (std::isnan(placement.size_axial) && std::isnan(placement.size_around))
    throw quantity::JobError(
        "artwork.size_axial and artwork.size_around are missing (the picture's size on the part is not "
        "known). Give one of them");
  const double quarters = placement.turn / (quantity::kPi / 2);
  if (std::abs(quarters - std::round(quarters)) > 1e-9)
    throw quantity::JobError(fmt::format("artwork.turn = {} (expected a quarter turn: 0, 90, 180 or 270 deg)",
                                         quantity::format(placement.turn, "deg")));
}

}  // namespace circumfluence::artwork
