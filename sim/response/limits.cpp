#include "response/limits.h"

namespace circumfluence::response {

const quantity::Fields<Limits>& limits_fields() {
  static const quantity::Fields<Limits> fields = {
      {"removal", quantity::choice<&Limits::removal>(), "", 0, 0, "law of coat removal", false,
       "steady blow_off"},
      {"over_burn", quantity::choice<&Limits::over_burn>(), "", 0, 0,
       "temperature of the base that counts as over-burned", false, "solidus liquidus"},
      {"coat_left", &Limits::coat_left, "%", 0, 0.5, "share of the coat that may stay on a marked cell",
       false},
      {"char_depth", &Limits::char_depth, "um", 1e-9, 1e-2,
       "depth from which an organic surface counts as marked", false},
      {"oxide", &Limits::oxide, "nm", 1e-10, 1e-6, "thickness of oxide from which a bare metal counts as marked",
       false},
      {"required", &Limits::required, "%", 0.01, 1, "share of the wanted area that has to be marked", false},
      {"tolerated", &Limits::tolerated, "%", 0, 0.5, "area that may be over-burned, against the wanted area",
       false},
  };
  return fields;
}

}  // namespace circumfluence::response
