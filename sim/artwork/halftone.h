// Greys as dots: each dot burnt or left, so that over a few dots the share asked for is burnt.
//
//   ordered (bayer, blue_noise)   a dot is burnt where the share asked exceeds a threshold of a tiled matrix
//   error diffusion               a dot is burnt where its share, with the errors handed on to it, exceeds 1/2;
//                                 what it gets too much or too little goes on to neighbours not yet decided
//
// A dot that asks for exactly none or all gets just that. Thresholds of a matrix of n places are (i + 1/2) / n,
// so that the mean over whole tiles is the share asked, to 1 / (2 n). Rows are taken alternately from left and
// right by error diffusion, which breaks up worms. What it would hand on beyond a side goes to the dots below,
// so that only what the last rows hand down is lost: the mean over a flat patch is the share asked to half a
// dot in its height. Checked in tests/artwork/halftone_test.cpp; figures are in docs/theory/halftone.md.
//
// Shares of error diffusion (the dot lies before the first, above the middle; sums are 1):
//   Floyd, Steinberg 1976, Proc. SID 17(2), 75-77            7/16; 3 5 1
//   Jarvis, Judice, Ninke 1976, Comput. Graph. Image Process. 5(1), 13-40   7 5 /48; 3 5 7 5 3; 1 3 5 3 1
//   Stucki 1981, IBM Research Report RZ1060                  8 4 /42; 2 4 8 4 2; 1 2 4 2 1
// Bayer 1973, IEEE Int. Conf. Commun. 1, 26-11: the recursive matrix, 8 x 8. Blue noise: void-and-cluster,
// 64 x 64, Ulichney 1993, Proc. SPIE 1913, 332-343, with a Gaussian of 1.5 dots wrapped around the edges; made
// once a process. Shares and the 1.5 dots agree with published programs; volumes and pages are from memory.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "artwork/image.h"
#include "artwork/placement.h"

namespace circumfluence::artwork {

inline constexpr int kBayerSide = 8, kBlueNoiseSide = 64;

// Ranks 0 .. side^2 - 1, row-major: in which order the places of a tile are burnt as tone deepens. Empty for
// error diffusion.
std::span<const std::uint16_t> ranks(Screen screen);

// A pixel a dot: black where it is burnt, white elsewhere; `asked` black for full, white for none.
// Measured: see docs/performance.md. Throws ValidityError: no pixels, or not opaque.
Image halftone(const Image& asked, Screen screen);

// What halftone() is made of: the ranks of void-and-cluster, made anew; error diffusion by one of its three
// screens into a picture of the same size.
std::vector<std::uint16_t> void_and_cluster();
void diffuse(const Image& asked, Screen screen, Image& dots);

// The art as the dots that are burnt in its place, and where they lie: as many whole dots of `dot` [m] as fit
// in, about the art's centre; a rim of less than half a dot is left out. What is asked of each is the exact
// mean of the art over it. The dots lie as the art did (its turn and mirror; black or white is burnt as
// there) and are on or off (threshold one half). Throws JobError: a dot that is none, or larger than the art;
// more dots than a picture may have pixels.
struct Screened {
  Image image;
  Placement placement;
};
Screened screened(const Image& image, const Placement& placement, double dot);

}  // namespace circumfluence::artwork
