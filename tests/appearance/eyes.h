// What colour-blind eyes see: Machado, Oliveira, Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15(6),
// 1291-1298, matrices for severity 1.0, on linear light.
#pragma once

#include "appearance/colour.h"

namespace circumfluence::appearance {

inline constexpr int kEyes = 4;  // normal, protan, deutan, tritan

inline Lab seen_by(int eye, const Colour& colour) {
  constexpr double eyes[kEyes][3][3] = {
      {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
      {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
      {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
      {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}}};
  const Linear light = linear_from_srgb(colour);
  Linear out{};
  for (int r = 0; r < 3; ++r)
    for (int c = 0; c < 3; ++c) out[r] += eyes[eye][r][c] * light[c];
  return lab_from_srgb(srgb_from_linear(out));
}

}  // namespace circumfluence::appearance
