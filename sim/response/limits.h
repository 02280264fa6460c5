// What counts as marked and as over-burned: section [outcome].
#pragma once

#include "quantity/field.h"

namespace circumfluence::response {

enum class RemovalLaw { steady, blow_off };
enum class OverBurn { solidus, liquidus };

struct Limits {
  RemovalLaw removal = RemovalLaw::steady;
  OverBurn over_burn =
      OverBurn::solidus;     // how much melting of the base is tolerated: none, or up to full melting
  double coat_left = 0.02;   // [1] share of the coat that may stay on a marked cell
  double char_depth = 5e-6;  // [m] of removal from which an organic surface counts as marked
  double oxide = 5e-9;       // [m] of oxide from which a bare metal counts as marked: a difference that is just seen
  double required = 0.95;    // [1] share of the wanted area that has to be marked
  double tolerated = 0.005;  // [1] area over-burned, in the art or beside it, against the wanted area
};

const quantity::Fields<Limits>& limits_fields();

}  // namespace circumfluence::response
