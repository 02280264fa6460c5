// What a place on the part looks like, by what became of it and how much it was changed.
//
// Two ways in which a surface sends light on are kept apart, as amounts of linear red, green and blue: evenly into all
// directions (diffuse), and like a mirror that is as rough as its slope says. In light from everywhere both add up, which
// is what records mean by a surface's colour; at a glossy angle the mirrored lamp decides.
//   metals      mirror all they reflect; other bodies 4 % at their face (index 1.5), or all that a darker record leaves
//   coat        what is left of it, thickness t, over the base, a layer that absorbs and scatters (Kubelka, Munk 1931):
//               R = ((R_b - R_c) q + R_c (1 - R_c R_b)) / (1 - R_c R_b + R_c (R_b - R_c) q),  q = exp(-2 t / depth),
//               R_b of the base, R_c of a thick coat, by channel; depth of the record's optics nearest to 550 nm, within a
//               factor of 2 (else 4 depths a coat are taken), in proportion to the wavelength in coats that absorb (fine
//               carbon black), the same for all in those that scatter (Y > 0.5). Its face counts by 1 - q; what the base
//               mirrors comes through by q^((1 + R_c^2) / (1 - R_c^2)), the share that is not scattered.
//   bare metal  interference in its oxide, native and grown, averaged over its unevenness. Metals without both spectra,
//               and glass: the colours of the record, by state, half-way where under-marked; the ground still follows
//               from a metal's own spectrum
//   dyed layer  densities add: ln R = (1 - s) ln R_ground + s ln R_marked, s the share bleached
//   organic     likewise, s the changed depth over that asked for a mark, at most 1
// Over-burned places take the record's over_colour. Residue: loose soot until the part is wiped, of `residue` times the
// mass removed from coats and organic bodies; it dims by exp(-2 m a), m [kg/m^2], a = 7 m^2/g 550 nm / lambda (soot, from
// memory). Colours that a screen can not show are clipped. Colours without a spectrum are the record's; notes() says
// which, and what else is a guess.
// Checked: exact for the record's colours; monotone; heat tints' order of hues (tests/look/finish_test.cpp).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "appearance/colour.h"
#include "mark/scene.h"
#include "response/outcome.h"

namespace circumfluence::look {

enum class Wipe { before, after };

// [1] amounts of red, green, blue light for a white one's 1.
struct Shade {
  appearance::Linear diffuse, mirror;
  double slope;  // [1] rms, of the mirror's roughness
};

appearance::Linear in_diffuse_light(const Shade& shade);  // the sum
double luminance(const appearance::Linear& light);        // [1] Y / 100
// In a lamp's light, light and eye `incidence` [rad] off the normal, the eye `off` [rad] from the mirror's angle: the
// facets that mirror it lean by half of `off` (Beckmann, 1963). A white diffuser would be 1; exceeds 1. The lamp is small.
appearance::Linear at_gloss(const Shade& shade, double off, double incidence);

class Finish {
 public:
  // Throws ValidityError when a record has no colours.
  Finish(const mark::Scene& scene, const response::Model& model, Wipe wipe = Wipe::after);

  // The shades that places may have: kSteps by the changed thickness, from untouched on, and the over-burned one.
  static constexpr int kSteps = 512;
  const std::array<Shade, kSteps + 1>& shades() const { return shades_; }
  int entry(std::uint8_t outcome, float changed) const {
    if (outcome == std::uint8_t(response::Outcome::over_burned)) return kSteps;
    if (by_state_) return int(outcome) * (kSteps - 1) / 2;
    const float at = changed * per_step_;
    return at < 0.5f ? 0 : at < kSteps - 1.5f ? int(at + 0.5f) : kSteps - 1;
  }
  const Shade& of(std::uint8_t outcome, float changed) const { return shades_[size_t(entry(outcome, changed))]; }
  const Shade& ground() const { return shades_[0]; }
  const Shade& marked() const { return shades_[size_t(marked_)]; }  // just marked, evenly
  double most() const { return most_; }  // [m] changed thickness of the last step; infinity where the state decides alone
  const std::vector<std::string>& notes() const { return notes_; }

 private:
  std::array<Shade, kSteps + 1> shades_;
  double most_;
  float per_step_;  // [1/m]
  bool by_state_ = false;
  int marked_ = kSteps - 1;
  std::vector<std::string> notes_;
};

// CIEDE2000 of the mark against its ground.
struct Contrast {
  double diffuse;  // in light from everywhere
  double gloss;    // greatest and least, lamp and eye 30 degrees off the normal, up to 20 degrees off the mirror's angle;
  double gloss_least;  // glare: the eye adapts to the brighter of the two
  bool lighter;    // the mark, in diffuse light
};
Contrast contrast(const Shade& ground, const Shade& mark);

}  // namespace circumfluence::look
