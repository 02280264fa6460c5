// What a material is, as far as a laser is concerned: section [material.NAME] of a material file or a job.
//
// Every figure carries its source and its lognormal spread. A figure that nobody knows stays unset, and
// asking for it is an error that says what is missing; there are no defaults.
#pragma once

#include <string>
#include <vector>

#include "quantity/field.h"

namespace circumfluence::workpiece {

enum class Kind { metal, glass, organic, coat };

// How light of one wavelength meets the surface.
struct Optics {
  quantity::Figure wavelength;    // [m] a nominal value; used within 3 % of it
  quantity::Figure absorptivity;  // [1] share absorbed at normal incidence by the surface as delivered
  quantity::Figure n;             // [1] complex refractive index n + ik, for the dependence on angle
  quantity::Figure k;
  quantity::Figure depth;  // [m] depth in which 1 - 1/e is absorbed; unset: at the surface
};

// Complex refractive index n + ik over the visible: section [material.NAME.spectrum], lists of equal length.
struct Spectrum {
  std::vector<double> wavelengths;  // [m] rising
  std::vector<double> n, k;         // [1]
  std::string source;

  bool known() const { return !wavelengths.empty(); }
};

// What one fit settled together, in the order in which correlations are told. Named as in window/unknown.h:
// "club_black.threshold", or a job's "laser.spot". An entry counts where record and job still hold that value and spread:
// with another laser, or after a figure was altered by hand, only the others stand.
struct Settled {
  std::string name;
  std::string value, spread;         // with units, as the fit wrote them: "81.3 um", "2.1 %"
  std::vector<double> correlations;  // [1] of standard deviates, with each entry before it
};

struct Material {
  std::string name;   // how a job calls it, such as "aisi_304"
  std::string title;  // "stainless steel AISI 304"
  Kind kind = Kind::metal;
  quantity::Figure density;              // [kg/m^3]
  quantity::Figure heat_capacity;        // [J/(kg K)]
  quantity::Figure conductivity;         // [W/(m K)] at 20 degC
  quantity::Figure conductivity_slope;   // [W/(m K^2)] k(T) = conductivity + slope (T - 20 degC)
  quantity::Figure solidus;              // [K] melting begins
  quantity::Figure liquidus;             // [K] wholly molten
  quantity::Figure marking_onset;        // [K] peak temperature from which a bare surface is seen to change
  quantity::Figure removal_temperature;  // [K] of the surface while a coat or organic body is removed
  quantity::Figure removal_energy;       // [J/m^3] specific, rho (c (T - T0) + H)
  quantity::Figure removal_depth;        // [m] optical depth of the blow-off law
  quantity::Figure threshold;  // [J/m^2] measured absorbed fluence that starts removal, in place of the one
                               // from conduction
  quantity::Figure threshold_dwell;  // [s] w/v of that measurement
  // Thickness x of the oxide on a bare metal: d(x^2)/dt = oxide_rate exp(-oxide_activation / T). All doubt
  // sits on the rate: the two are correlated, and drawing both would blow it up.
  quantity::Figure oxide_rate;        // [m^2/s]
  quantity::Figure oxide_activation;  // [K] E/R
  quantity::Figure oxide_native;      // [m] film before the job
  quantity::Figure oxide_from;        // [K] temperatures between which the law rests on measurements
  quantity::Figure oxide_to;          // [K]
  // Share c left of a dye in an anodic layer: dc/dt = -bleach_rate exp(-bleach_activation / T) c.
  quantity::Figure bleach_rate;        // [1/s]
  quantity::Figure bleach_activation;  // [K] E/R
  // Share a charred of an organic body: da/dt = char_rate exp(-char_activation / T) (1 - a).
  quantity::Figure char_rate;        // [1/s]
  quantity::Figure char_activation;  // [K] E/R
  // Peak temperatures from which a coat that should stay is changed, for seconds to minutes of a warm wall.
  quantity::Figure softening;     // [K] it sticks and takes prints
  quantity::Figure discolouring;  // [K] its colour changes
  quantity::Figure latent_heat;   // [J/kg] of melting
  quantity::Figure emissivity;    // [1] total, of the outside near 300 K
  std::vector<Optics> optics;     // by wavelength
  Spectrum spectrum;              // of the bare metal in the visible
  Spectrum oxide_spectrum;        // of the oxide that heat grows on it
  quantity::Figure oxide_uneven;  // [1] standard deviation of the oxide's thickness within a dot, over its mean
  quantity::Figure roughness;     // [1] rms slope of the untouched surface: how wide it spreads a mirror image
  quantity::Figure marked_roughness;  // [1] the same, burnt or laid bare
  quantity::Figure residue;       // [1] share of what is removed that lies loose on the mark until it is wiped off
  std::vector<Settled> settled;   // empty: every figure is known by itself
  std::string ground_colour;      // "#rrggbb" sRGB, untouched, under diffuse light
  std::string marked_colour;  // "#rrggbb" after marking (bare base under a coat: the base's ground colour)
  std::string over_colour;    // "#rrggbb" when over-burned
  std::string cautions;       // what a person must know before burning it; sentences
  std::string origin;         // the file the record comes from
};

const quantity::Fields<Material>& material_fields();
const quantity::Fields<Optics>& optics_fields();

// The optics at a wavelength. Throws ValidityError naming material, wavelength and the ones on record.
const Optics& optics_at(const Material& material, double wavelength);

// The figure's value. Throws ValidityError: "material aisi_304 has no liquidus (needed for ...)".
double value_of(const Material& material, quantity::Figure Material::*figure, const char* needed_for);

}  // namespace circumfluence::workpiece
